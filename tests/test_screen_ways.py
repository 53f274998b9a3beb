"""Which one to turn and which way, measured on the pictures and held against geometry and the trade."""

from dataclasses import replace
from itertools import pairwise, product

import pytest
from PIL import Image

from device.config.settings import Settings
from device.instrument.rotation import away_of, rotation_of
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.state import Phase
from device.panel.screen import draw
from dsp import OPEN_STRINGS, Instrument, Seconds
from tests.patches import (
    BOTH_WAYS,
    FIELD,
    LETTER,
    Patch,
    head_and_arrows,
    named,
    patches,
    pegbox,
    picture_of,
    screw_and_arrow,
    sense,
)
from tests.scenes import BASS, CELLO, FIVE, LEFT_CELLO, LEFT_HANDED, VIOLA, VIOLIN, lesson, turn

TURNED_HIGH = 27  # pixels


ends = pytest.mark.parametrize("direction", [Direction.TIGHTEN, Direction.LOOSEN])


@pytest.mark.parametrize("box", [VIOLIN, VIOLA, CELLO, FIVE, LEFT_HANDED], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_fine_tuners_arrow_goes_clockwise_to_tighten(box, direction, amount):
    """Clockwise raises the pitch: common practice, on every instrument and either hand."""
    for string in box.targets:
        screw, arrow = screw_and_arrow(
            picture_of(turn(string, TuningPart.FINE_TUNER, direction, amount, -20.0, settings=box))
        )
        wanted = Rotation.CLOCKWISE if direction is Direction.TIGHTEN else Rotation.COUNTER_CLOCKWISE
        assert sense(arrow, screw.middle) is wanted


def by_geometry(on_the_players_left: bool, from_behind: bool, direction: Direction) -> Rotation:
    """The rotation of a peg from vectors: x to the player's right, y to the scroll, z to the player.

    Raising moves the side of the shaft that the strings are on towards the scroll. Turning about an
    axis w moves a point r by w x r. Whoever faces the head sees it counter-clockwise when w points
    from the pegbox to them.
    """
    strings_side = (0.0, 0.0, -1.0 if from_behind else 1.0)
    up = 1.0 if direction is Direction.TIGHTEN else -1.0
    axis_x = next(w for w in (1.0, -1.0) if _cross((w, 0.0, 0.0), strings_side)[1] * up > 0.0)
    to_the_observer = -1.0 if on_the_players_left else 1.0
    return Rotation.COUNTER_CLOCKWISE if axis_x * to_the_observer > 0.0 else Rotation.CLOCKWISE


def _cross(a: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float, float]:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@pytest.mark.parametrize("box", [VIOLIN, VIOLA, CELLO, LEFT_HANDED, LEFT_CELLO], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_pegs_arrows_turn_as_geometry_says_for_the_side_they_are_drawn_on(box, direction, amount):
    for string in box.targets:
        picture = picture_of(turn(string, TuningPart.PEG, direction, amount, -120.0, settings=box))
        head, arrows = head_and_arrows(picture)
        left = head.middle[0] < pegbox(picture).middle[0]
        wanted = by_geometry(left, box.instrument is Instrument.CELLO, direction)
        assert {sense(arrow, head.middle) for arrow in arrows} == {wanted}, string


@pytest.mark.parametrize("box", [VIOLIN, CELLO], ids=named)
@ends
def test_the_near_side_of_a_peg_goes_up_when_it_turns_away(box, direction):
    """Near is the pegbox's side of the head for whoever sits before it: up in front, over the top, away."""
    for string in box.targets:
        picture = picture_of(turn(string, TuningPart.PEG, direction, Amount.MORE, -120.0, settings=box))
        head, arrows = head_and_arrows(picture)
        box_is_right = head.middle[0] < pegbox(picture).middle[0]
        up_on_the_right = sense(arrows[0], head.middle) is Rotation.COUNTER_CLOCKWISE
        assert (up_on_the_right is box_is_right) is away_of(TuningPart.PEG, direction, box)


def test_the_measure_of_rotation_can_fail():
    mirrored = picture_of(turn("A4", TuningPart.FINE_TUNER, Direction.TIGHTEN, Amount.A_LITTLE, -20.0))
    screw, arrow = screw_and_arrow(mirrored)
    flipped = Patch(frozenset((-x, y) for x, y in arrow.pixels))
    assert sense(arrow, screw.middle) is Rotation.CLOCKWISE
    assert sense(flipped, (-screw.middle[0] + 1, screw.middle[1])) is Rotation.COUNTER_CLOCKWISE


# --- which one ---------------------------------------------------------------------------------


def filled_peg(picture: Image.Image) -> tuple[bool, bool]:
    """(left, upper) of the only peg with a filled head."""
    box = pegbox(picture)
    left, _, right, _ = box.box
    solid = {
        (on_left, upper): all((x + dx, y + dy) in box.pixels for dx in (-1, 0, 1) for dy in (-2, 0, 2))
        for on_left, x in ((True, left + 4), (False, right - 5))
        for upper, y in ((True, 14), (False, 38))
    }
    found = [place for place, is_solid in solid.items() if is_solid]
    assert len(found) == 1, solid
    return found[0]


def test_the_low_strings_pegs_are_on_the_players_left_of_a_violin_and_a_viola():
    """Low two left, high two right; the outer two nearer the nut: common practice."""
    for box in (VIOLIN, VIOLA):
        seen = [
            filled_peg(
                picture_of(turn(s, TuningPart.PEG, Direction.TIGHTEN, Amount.MORE, -120.0, settings=box))
            )
            for s in box.targets
        ]
        assert seen == [(True, False), (True, True), (False, True), (False, False)]


def test_a_cellist_and_a_left_handed_player_see_the_pegs_the_other_way_round():
    for box in (CELLO, LEFT_HANDED):
        seen = [
            filled_peg(
                picture_of(turn(s, TuningPart.PEG, Direction.TIGHTEN, Amount.MORE, -120.0, settings=box))
            )
            for s in box.targets
        ]
        assert seen == [(False, False), (False, True), (True, True), (True, False)]
    picture = picture_of(
        turn("C2", TuningPart.PEG, Direction.TIGHTEN, Amount.MORE, -120.0, settings=LEFT_CELLO)
    )
    assert filled_peg(picture) == (True, False)


@pytest.mark.parametrize(
    ("box", "low_left"), [(VIOLIN, True), (CELLO, False), (LEFT_HANDED, False), (FIVE, True)], ids=str
)
def test_the_big_screw_stands_where_its_string_does(box, low_left):
    at = []
    for string in box.targets:
        picture = picture_of(
            turn(string, TuningPart.FINE_TUNER, Direction.TIGHTEN, Amount.A_LITTLE, -20.0, settings=box)
        )
        at.append(screw_and_arrow(picture)[0].middle[0])
    assert at == sorted(at, reverse=not low_left)
    assert min(abs(a - b) for a, b in pairwise(at)) >= 7


@pytest.mark.parametrize("instrument", Instrument)
def test_the_finger_is_at_another_place_for_every_string(instrument):
    box = Settings(instrument=instrument)
    frames = [
        picture_of(lesson(string.name, phase=Phase.WAITING, settings=box)).crop(FIELD).tobytes()
        for string in OPEN_STRINGS[instrument]
    ]
    assert len(set(frames)) == len(frames)


def test_the_wrong_pegs_letter_is_shown_when_it_is_to_be_loosened_back():
    back = turn(
        "D4", TuningPart.PEG, Direction.LOOSEN, Amount.A_LITTLE, 60.0, say=Say.LOOSEN_BACK, asked="A4"
    )
    plain = turn("D4", TuningPart.PEG, Direction.LOOSEN, Amount.A_LITTLE, 60.0)
    inverse = picture_of(back).crop(LETTER).point(lambda ink: 0 if ink else 255, "1")
    assert inverse.tobytes() == picture_of(plain).crop(LETTER).tobytes()
    assert filled_peg(picture_of(back)) == (True, True)


def test_a_machine_head_has_no_round_arrow_and_says_its_word():
    assert rotation_of("A1", TuningPart.PEG, Direction.TIGHTEN, BASS) is None
    tighten = picture_of(turn("A1", TuningPart.PEG, Direction.TIGHTEN, Amount.MORE, -20.0, settings=BASS))
    loosen = picture_of(turn("A1", TuningPart.PEG, Direction.LOOSEN, Amount.MORE, -20.0, settings=BASS))
    word = (80, 0, 128, 11)
    assert tighten.crop(word).getbbox() is not None
    assert tighten.crop(word).tobytes() != loosen.crop(word).tobytes()


def test_a_wooden_peg_shows_the_push_and_a_geared_one_does_not():
    shown = turn("G3", TuningPart.PEG, Direction.TIGHTEN, Amount.A_LITTLE, -120.0)
    coach = shown.scene.coach

    def with_push(push_in: bool) -> Image.Image:
        advice = replace(coach.advice, push_in=push_in)
        return draw(replace(shown.scene, coach=replace(coach, advice=advice)), Seconds(0.0))

    pushed = [p for p in patches(with_push(True), FIELD) if p not in patches(with_push(False), FIELD)]
    assert len(pushed) == 1
    left, _, right, _ = pushed[0].box
    high = {x: sum(1 for at, _ in pushed[0].pixels if at == x) for x in (left, right - 1)}
    assert high[right - 1] < high[left]  # it points to the right, into the pegbox
    assert right <= pegbox(with_push(True)).box[2]


@pytest.mark.parametrize(("heard", "asked"), [("D4", "A4"), ("E5", "D4"), ("G3", "E5")])
def test_another_string_is_named_over_a_cross_and_rings_where_it_lies(heard, asked):
    picture = picture_of(lesson(asked, Advice(Say.OTHER_STRING, heard=heard)))
    named_, crossed = sorted(patches(picture, (31, 0, 56, 52))[:2], key=lambda patch: patch.middle[1])
    assert named_.size[1] >= TURNED_HIGH
    assert min(crossed.size) >= 20
    still = picture_of(lesson(asked, Advice(Say.OTHER_STRING)))
    swung = [
        (x - 63) / 7  # strings lie 7 pixels apart here
        for x, y in product(range(58, 128), range(24))
        if picture.getpixel((x, y)) != still.getpixel((x, y))
    ]
    assert round((min(swung) + max(swung)) / 2) == list(VIOLIN.targets).index(heard)


@pytest.mark.parametrize("box", [VIOLIN, CELLO, FIVE], ids=named)
def test_only_the_screw_to_turn_is_filled(box):
    """The arrow, the rim and the middle of the big head are thick; all the rest are thin lines."""
    for string in box.targets:
        picture = picture_of(
            turn(string, TuningPart.FINE_TUNER, Direction.TIGHTEN, Amount.A_LITTLE, -20.0, settings=box)
        )
        beside = patches(picture, (42, 0, 128, 52))
        thick = sorted((patch.inside for patch in beside), reverse=True)
        assert thick[2] > 60
        assert sum(thick[3:]) < 30, thick  # pixels where lines meet; small filled heads make 45 and more
