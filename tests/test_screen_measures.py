"""What a child must see from two metres, measured on the pictures themselves.

A seven-year-old reads about 20 minutes of arc without effort (common practice; the design's figure),
12 mm or 27 pixels of a 2.4-inch panel at two metres. Nothing here asks the drawing code where it put
a thing: shapes are found again in the picture as patches of touching lit pixels.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import pairwise, product

import pytest
from PIL import Image

from device.coach.state import Advice, Amount, Direction, Phase, Rotation, Say, Turn
from device.coach.ways import away_of, rotation_of
from device.screen import draw
from device.settings import Settings
from dsp import OPEN_STRINGS, Instrument, Seconds
from tests.scenes import BASS, CELLO, FIVE, LEFT_HANDED, PICTURES, SCORDATURA, VIOLIN, Shown, lesson, turn

LETTER = (0, 0, 29, 52)  # the letter's corner of the panel, in pixels
FIELD = (30, 0, 128, 52)
LETTER_HIGH, ARROW_HIGH, TURNED_HIGH = 40, 40, 27  # pixels
VIOLA = Settings(instrument=Instrument.VIOLA)
LEFT_CELLO = Settings(instrument=Instrument.CELLO, left_handed=True)


def named(value: object) -> str:
    """A box by what is not usual about it."""
    if not isinstance(value, Settings):
        return str(value)
    strings = "".join(string.letter for string in value.strings)
    return f"{value.instrument.value}-{strings}{'-left-handed' if value.left_handed else ''}"


BOTH_WAYS = list(product((Direction.TIGHTEN, Direction.LOOSEN), Amount))
ends = pytest.mark.parametrize("direction", [Direction.TIGHTEN, Direction.LOOSEN])


@dataclass(frozen=True)
class Patch:
    """Lit pixels that touch by their sides."""

    pixels: frozenset[tuple[int, int]]

    @property
    def box(self) -> tuple[int, int, int, int]:
        xs, ys = zip(*self.pixels, strict=True)
        return min(xs), min(ys), max(xs) + 1, max(ys) + 1

    @property
    def size(self) -> tuple[int, int]:
        left, top, right, bottom = self.box
        return right - left, bottom - top

    @cached_property
    def inside(self) -> int:
        """How many pixels have lit ones on all four sides: none in a thin line."""
        around = ((1, 0), (-1, 0), (0, 1), (0, -1))
        return sum(all((x + dx, y + dy) in self.pixels for dx, dy in around) for x, y in self.pixels)

    @property
    def middle(self) -> tuple[float, float]:
        left, top, right, bottom = self.box
        return (left + right) / 2.0, (top + bottom) / 2.0


def patches(picture: Image.Image, area: tuple[int, int, int, int]) -> list[Patch]:
    """All patches in an area, the biggest first."""
    return list(_patches(picture.tobytes(), area))


@lru_cache(maxsize=1000)
def _patches(rows: bytes, area: tuple[int, int, int, int]) -> tuple[Patch, ...]:
    left, top, right, bottom = area
    row_bytes = 128 // 8
    lit = {
        (x, y)
        for y in range(top, bottom)
        for x in range(left, right)
        if rows[y * row_bytes + x // 8] >> (7 - x % 8) & 1
    }
    found = []
    while lit:
        patch, edge = set(), [lit.pop()]
        while edge:
            x, y = edge.pop()
            patch.add((x, y))
            for touching in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
                if touching in lit:
                    lit.remove(touching)
                    edge.append(touching)
        found.append(Patch(frozenset(patch)))
    return tuple(sorted(found, key=lambda patch: -len(patch.pixels)))


def picture_of(shown: Shown) -> Image.Image:
    return draw(shown.scene, shown.at)


def screw_and_arrow(picture: Image.Image) -> tuple[Patch, Patch]:
    """The two that are not mere lines: the round head, more solid in its box, and the arrow."""
    thick = sorted(patches(picture, (42, 0, 128, 52)), key=lambda patch: -patch.inside)[:2]
    screw, arrow = sorted(thick, key=lambda p: -len(p.pixels) / (p.size[0] * p.size[1]))
    return screw, arrow


def head_and_arrows(picture: Image.Image) -> tuple[Patch, list[Patch]]:
    """The thumb piece of a peg and the two arrows, one above the other, beside the pegbox."""
    box = pegbox(picture)
    beside = (30, box.box[0]) if box.middle[0] > 79 else (box.box[2], 128)
    column = [p for p in patches(picture, FIELD) if beside[0] <= p.box[0] and p.box[2] <= beside[1]]
    three = sorted((p for p in column[:4] if _is_about_the_head(p)), key=lambda p: p.middle[1])
    assert len(three) == 3, [p.box for p in column]
    return three[1], [three[0], three[2]]


def _is_about_the_head(patch: Patch) -> bool:
    return len(patch.pixels) > 60 and not _is_block_arrow(patch)


def _is_block_arrow(patch: Patch) -> bool:
    """The push arrow: narrower than anything that turns."""
    return patch.size[0] <= 12


def pegbox(picture: Image.Image) -> Patch:
    """The pegbox with its four pegs is one patch, the widest that is as high as the field."""
    return max(patches(picture, FIELD), key=lambda patch: patch.size[1])


def sense(arrow: Patch, centre: tuple[float, float]) -> Rotation:
    """Which way an arrow goes round: a head is broadest at its base and narrows towards its tip."""
    broad: dict[int, list[float]] = {}
    for x, y in arrow.pixels:
        dx, dy = x + 0.5 - centre[0], y + 0.5 - centre[1]
        broad.setdefault(round(math.degrees(math.atan2(dx, -dy)) / 4.0), []).append(math.hypot(dx, dy))
    width = {step: max(radii) - min(radii) for step, radii in broad.items()}
    base = max(width, key=lambda step: width[step])

    def beside(sign: int) -> float:
        return sum(width.get((base + sign * i + 45) % 90 - 45, 0.0) for i in (3, 4, 5))

    return Rotation.CLOCKWISE if beside(1) > beside(-1) else Rotation.COUNTER_CLOCKWISE


# --- sizes -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [n for n, s in PICTURES.items() if n.startswith(("say-", "flat", "sharp", "peg", "bass", "retuned"))],
)
def test_the_letter_is_40_pixels_high(name):
    corner = picture_of(PICTURES[name]).crop(LETTER)
    if corner.getpixel((0, 0)) and corner.getpixel((28, 51)):  # turned over: the wrong peg's letter
        corner = corner.point(lambda ink: 0 if ink else 255, "1")
    box = corner.getbbox()
    assert box is not None
    assert box[3] - box[1] >= LETTER_HIGH


@pytest.mark.parametrize("box", [VIOLIN, VIOLA, CELLO, FIVE, SCORDATURA, LEFT_HANDED], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_fine_tuner_is_27_and_its_arrow_40_pixels_high(box, direction, amount):
    for string in box.targets:
        screw, arrow = screw_and_arrow(
            picture_of(turn(string, Turn.FINE_TUNER, direction, amount, -20.0, settings=box))
        )
        assert screw.size[1] >= TURNED_HIGH
        assert arrow.size[1] >= ARROW_HIGH, f"{string} {direction} {amount}: {arrow.size}"


@pytest.mark.parametrize("box", [VIOLIN, CELLO], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_pegbox_is_27_and_its_arrows_together_40_pixels_high(box, direction, amount):
    for string in box.targets:
        picture = picture_of(turn(string, Turn.PEG, direction, amount, -120.0, settings=box))
        _, arrows = head_and_arrows(picture)
        assert pegbox(picture).size[1] >= TURNED_HIGH
        assert arrows[1].box[3] - arrows[0].box[1] >= ARROW_HIGH


@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_machine_head_has_an_arrow_40_pixels_high_that_points_up_to_tighten(direction, amount):
    picture = picture_of(turn("A1", Turn.PEG, direction, amount, -20.0, settings=BASS))
    arrow = max(patches(picture, (80, 0, 128, 52)), key=lambda patch: patch.size[1])
    assert arrow.size[1] >= ARROW_HIGH
    tip_rows = {y: sum(1 for x, row in arrow.pixels if row == y) for y in (arrow.box[1], arrow.box[3] - 1)}
    assert (tip_rows[arrow.box[1]] < tip_rows[arrow.box[3] - 1]) is (direction is Direction.TIGHTEN)


@pytest.mark.parametrize("what", [Turn.FINE_TUNER, Turn.PEG])
@ends
def test_more_is_a_longer_arrow_than_a_little_and_that_than_a_hair(what, direction):
    sizes = []
    for amount in (Amount.A_HAIR, Amount.A_LITTLE, Amount.MORE):
        picture = picture_of(turn("A4", what, direction, amount, -20.0))
        arrows = head_and_arrows(picture)[1] if what is Turn.PEG else [screw_and_arrow(picture)[1]]
        sizes.append(sum(len(arrow.pixels) for arrow in arrows))
    assert sizes[0] * 1.25 < sizes[1] < sizes[2] / 1.25


# --- which way ---------------------------------------------------------------------------------


@pytest.mark.parametrize("box", [VIOLIN, VIOLA, CELLO, FIVE, LEFT_HANDED], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_fine_tuners_arrow_goes_clockwise_to_tighten(box, direction, amount):
    """Clockwise raises the pitch: common practice, on every instrument and either hand."""
    for string in box.targets:
        screw, arrow = screw_and_arrow(
            picture_of(turn(string, Turn.FINE_TUNER, direction, amount, -20.0, settings=box))
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
        picture = picture_of(turn(string, Turn.PEG, direction, amount, -120.0, settings=box))
        head, arrows = head_and_arrows(picture)
        left = head.middle[0] < pegbox(picture).middle[0]
        wanted = by_geometry(left, box.instrument is Instrument.CELLO, direction)
        assert {sense(arrow, head.middle) for arrow in arrows} == {wanted}, string


@pytest.mark.parametrize("box", [VIOLIN, CELLO], ids=named)
@ends
def test_the_near_side_of_a_peg_goes_up_when_it_turns_away(box, direction):
    """Near is the pegbox's side of the head for whoever sits before it: up in front, over the top, away."""
    for string in box.targets:
        picture = picture_of(turn(string, Turn.PEG, direction, Amount.MORE, -120.0, settings=box))
        head, arrows = head_and_arrows(picture)
        box_is_right = head.middle[0] < pegbox(picture).middle[0]
        up_on_the_right = sense(arrows[0], head.middle) is Rotation.COUNTER_CLOCKWISE
        assert (up_on_the_right is box_is_right) is away_of(Turn.PEG, direction, box)


def test_the_measure_of_rotation_can_fail():
    mirrored = picture_of(turn("A4", Turn.FINE_TUNER, Direction.TIGHTEN, Amount.A_LITTLE, -20.0))
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
            filled_peg(picture_of(turn(s, Turn.PEG, Direction.TIGHTEN, Amount.MORE, -120.0, settings=box)))
            for s in box.targets
        ]
        assert seen == [(True, False), (True, True), (False, True), (False, False)]


def test_a_cellist_and_a_left_handed_player_see_the_pegs_the_other_way_round():
    for box in (CELLO, LEFT_HANDED):
        seen = [
            filled_peg(picture_of(turn(s, Turn.PEG, Direction.TIGHTEN, Amount.MORE, -120.0, settings=box)))
            for s in box.targets
        ]
        assert seen == [(False, False), (False, True), (True, True), (True, False)]
    picture = picture_of(turn("C2", Turn.PEG, Direction.TIGHTEN, Amount.MORE, -120.0, settings=LEFT_CELLO))
    assert filled_peg(picture) == (True, False)


@pytest.mark.parametrize(
    ("box", "low_left"), [(VIOLIN, True), (CELLO, False), (LEFT_HANDED, False), (FIVE, True)], ids=str
)
def test_the_big_screw_stands_where_its_string_does(box, low_left):
    at = []
    for string in box.targets:
        picture = picture_of(
            turn(string, Turn.FINE_TUNER, Direction.TIGHTEN, Amount.A_LITTLE, -20.0, settings=box)
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
    back = turn("D4", Turn.PEG, Direction.LOOSEN, Amount.A_LITTLE, 60.0, say=Say.LOOSEN_BACK, asked="A4")
    plain = turn("D4", Turn.PEG, Direction.LOOSEN, Amount.A_LITTLE, 60.0)
    inverse = picture_of(back).crop(LETTER).point(lambda ink: 0 if ink else 255, "1")
    assert inverse.tobytes() == picture_of(plain).crop(LETTER).tobytes()
    assert filled_peg(picture_of(back)) == (True, True)


def test_a_machine_head_has_no_round_arrow_and_says_its_word():
    assert rotation_of("A1", Turn.PEG, Direction.TIGHTEN, BASS) is None
    tighten = picture_of(turn("A1", Turn.PEG, Direction.TIGHTEN, Amount.MORE, -20.0, settings=BASS))
    loosen = picture_of(turn("A1", Turn.PEG, Direction.LOOSEN, Amount.MORE, -20.0, settings=BASS))
    word = (80, 0, 128, 11)
    assert tighten.crop(word).getbbox() is not None
    assert tighten.crop(word).tobytes() != loosen.crop(word).tobytes()


def test_a_wooden_peg_shows_the_push_and_a_geared_one_does_not():
    shown = turn("G3", Turn.PEG, Direction.TIGHTEN, Amount.A_LITTLE, -120.0)
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
