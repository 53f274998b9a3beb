"""The pictures: kept pixel for pixel, one for everything that can be said, steady, calm and cheap."""

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from device.coach.state import (
    Advice,
    Amount,
    Coach,
    Direction,
    Mark,
    Phase,
    Rotation,
    Say,
    StringState,
    Turn,
)
from device.coach.state import Warning as Alarm
from device.drawing import heads, lettering, pegs, tailpiece
from device.drawing.bottom import shown_cents
from device.drawing.plate import Plate
from device.drawing.track import track
from device.scene import Fault, MenuView, Scene
from device.screen import HEIGHT, WIDTH, draw
from device.settings import Settings
from dsp import Cents, Instrument, Seconds
from tests import pictures
from tests.scenes import BASS, CELLO, FIVE, PICTURES, SCORDATURA, VIOLIN, Shown, lesson, turn

BEGIN = Seconds(0.0)
names = pytest.mark.parametrize("name", PICTURES)
LIT = [name for name in PICTURES if name in {"right", "all-right"}]


def lit_share(picture: Image.Image) -> float:
    return sum(picture.histogram()[1:]) / (WIDTH * HEIGHT)


def drawn(shown: Shown, at: float | None = None) -> bytes:
    return draw(shown.scene, shown.at if at is None else Seconds(at)).tobytes()


@names
def test_a_picture_is_the_one_that_is_kept(name):
    assert pictures.same(pictures.kept(f"{name}.png"), draw(PICTURES[name].scene, PICTURES[name].at)), (
        f"{name} is not as kept under {pictures.FOLDER}: run `python -m tests.pictures`, look at it"
    )


def test_what_the_readme_shows_is_what_is_drawn():
    stale = [
        name for name, sheet in pictures.sheets().items() if not pictures.same(pictures.kept(name), sheet)
    ]
    assert not stale, "run `python -m tests.pictures`, look at them"


def test_no_picture_is_kept_that_is_no_longer_drawn():
    wanted = set(pictures.true_size()) | set(pictures.sheets())
    assert {path.name for path in pictures.FOLDER.iterdir()} == wanted


def test_a_picture_that_differs_by_one_pixel_is_not_the_same():
    picture = draw(PICTURES["waiting"].scene, BEGIN)
    spoilt = picture.copy()
    spoilt.putpixel((100, 50), 0 if spoilt.getpixel((100, 50)) else 255)
    assert pictures.same(picture, picture.copy())
    assert not pictures.same(picture, spoilt)
    assert not pictures.same(None, picture)


def test_redrawing_says_that_something_changed(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(pictures, "FOLDER", tmp_path)
    (tmp_path / "of-another-year.png").write_bytes(b"")
    assert pictures.main() == 1
    assert "removed of-another-year.png" in capsys.readouterr().out
    assert pictures.main() == 0


@names
def test_a_picture_is_one_bit_deep_and_of_the_panels_size(name):
    picture = draw(PICTURES[name].scene, PICTURES[name].at)
    assert (picture.mode, picture.size) == ("1", (128, 64))


@names
def test_nothing_is_drawn_over_an_edge(name, monkeypatch):
    """Every mask that brings light lies, with all its ink, inside what it is laid on."""
    over, paste = [], Image.Image.paste

    def checked(self, ink, box=None, mask=None):
        lit = mask.getbbox() if mask is not None and ink else None
        if lit is not None and box is not None:
            left, top = box[0] + lit[0], box[1] + lit[1]
            right, bottom = box[0] + lit[2], box[1] + lit[3]
            if left < 0 or top < 0 or right > self.width or bottom > self.height:
                over.append((left, top, right, bottom, self.size))
        return paste(self, ink, box, mask)

    lettering.letter.cache_clear()
    for make in (tailpiece.tailpiece, pegs.peg, heads.machine_head):
        make.cache_clear()  # kept fields are laid out anew under the eye of the test
    monkeypatch.setattr(Image.Image, "paste", checked)
    for i in range(12):
        draw(PICTURES[name].scene, Seconds(0.5 * i))
    assert over == []


@names
def test_an_unchanged_scene_is_the_same_picture_and_cuts_no_new_shapes(name, monkeypatch):
    first = drawn(PICTURES[name])
    monkeypatch.setattr(Plate, "mask", lambda _plate: pytest.fail("a shape was cut twice"))
    assert drawn(PICTURES[name]) == first


def test_no_picture_leaves_a_trace_in_another():
    forwards = [drawn(shown) for shown in PICTURES.values()]
    backwards = [drawn(shown) for shown in reversed(PICTURES.values())]
    assert backwards[::-1] == forwards


@names
def test_nothing_blinks_faster_than_twice_a_second(name):
    step_s, seen_s = 0.05, 6.0
    frames = [drawn(PICTURES[name], step_s * i) for i in range(round(seen_s / step_s))]
    changes = [i for i, (one, two) in enumerate(pairwise(frames)) if one != two]
    in_a_second = [sum(i <= j < i + round(1.0 / step_s) for j in changes) for i in changes]
    assert max(in_a_second, default=0) <= 4  # two periods, each a change to and a change back


@names
def test_in_tune_is_lit_and_nothing_else_is(name):
    assert (lit_share(draw(PICTURES[name].scene, PICTURES[name].at)) > 0.5) is (name in LIT)


@pytest.mark.parametrize("alarm", Alarm)
@pytest.mark.parametrize("phase", Phase)
@pytest.mark.parametrize("say", [Say.RIGHT, Say.ALL_RIGHT, Say.TURN])
def test_a_warning_takes_the_whole_panel_and_never_a_lit_one(alarm, phase, say):
    plain = lesson("A4", Advice(Say.WAIT, warning=alarm))
    loud = lesson("A4", Advice(say, warning=alarm), 1.0, phase=phase, marks=(Mark.RIGHT,) * 4)
    fault = Shown(replace(loud.scene, fault=Fault.TOO_LOUD, menu=MENU, resting=True, sounding="A4"))
    for at in (0.0, 0.25, 0.5, 0.75):
        assert drawn(loud, at) == drawn(plain, at) == drawn(fault, at)
        assert lit_share(draw(loud.scene, Seconds(at))) < 0.4


MENU = MenuView("Order", "A first", 2, 21, ("next", "before", "change"))
ADVICE = {
    say: Advice(say, heard="D4" if say is Say.OTHER_STRING else None)
    for say in Say
    if say not in {Say.TURN, Say.COME_UP, Say.PUSH_IN, Say.LOOSEN_BACK, Say.BACK_OUT, Say.TURN_ON}
}


def all_different(pictures_: dict[str, set[bytes]]) -> None:
    for (one, seen), (other, also) in combinations(pictures_.items(), 2):
        assert seen.isdisjoint(also), f"{one} and {other} look alike"


def over_time(shown: Shown) -> set[bytes]:
    return {drawn(shown, 0.1 * i) for i in range(60)}


def test_everything_that_can_be_said_looks_different():
    told = {say.value: over_time(lesson("A4", advice)) for say, advice in ADVICE.items()}
    turns = {
        say.value: over_time(turn("A4", Turn.PEG, Direction.LOOSEN, Amount.A_LITTLE, 40.0, say=say))
        for say in Say
        if say not in ADVICE
    }
    alarms = {alarm.value: over_time(lesson("A4", Advice(warning=alarm))) for alarm in Alarm}
    plain = lesson("A4", phase=Phase.WAITING).scene
    faults = {fault.value: over_time(Shown(replace(plain, fault=fault))) for fault in Fault}
    others = {
        "waiting": over_time(Shown(plain)),
        "listening": over_time(lesson("A4", phase=Phase.LISTENING)),
        "menu": over_time(Shown(replace(plain, menu=MENU))),
        "resting": over_time(Shown(replace(plain, resting=True))),
        "sounding": over_time(Shown(replace(plain, sounding="A4"))),
        "by ear": over_time(Shown(replace(plain, by_ear=True))),
        "not followed": over_time(Shown(replace(plain, unfollowed=True))),
    }
    assert len(told) + len(turns) == len(Say)
    all_different(told | turns | alarms | faults | others)


def test_every_mark_and_place_in_the_strip_looks_different():
    boxes = {}
    for mark in Mark:
        for now in ("G3", "E5"):
            picture = draw(lesson(now, marks=(mark, *(Mark.TO_DO,) * 3)).scene, BEGIN)
            boxes[f"{mark.value} {now}"] = {picture.crop((0, 53, 15, 64)).tobytes()}
    all_different(boxes)


def test_half_filled_is_half_filled():
    def filled(mark: Mark) -> int:
        picture = draw(lesson("E5", marks=(mark, *(Mark.TO_DO,) * 3)).scene, BEGIN)
        return sum(picture.crop((3, 56, 10, 61)).histogram()[1:])

    assert filled(Mark.TO_DO) == 0 < filled(Mark.DRIFTED) < filled(Mark.RIGHT) == 35
    assert 0.4 < filled(Mark.DRIFTED) / filled(Mark.RIGHT) < 0.7


@pytest.mark.parametrize("amount", list(Amount))
def test_cents_that_are_not_known_are_not_shown_as_a_number(amount):
    known = turn("A4", Turn.FINE_TUNER, Direction.TIGHTEN, amount, 0.0)
    coach = replace(known.scene.coach, cents=None, std_error_cents=None)
    unknown = draw(replace(known.scene, coach=coach), BEGIN)
    figures = (62, 53, 128, 64)
    assert unknown.crop(figures).getbbox() is None
    assert draw(known.scene, BEGIN).crop(figures).getbbox() is not None
    assert shown_cents(None, Cents(0.1)) is None


@given(st.floats(-300.0, 300.0), st.floats(1.01, 50.0))
def test_an_unsure_reading_never_claims_zero(cents, error):
    assert shown_cents(Cents(cents), Cents(error)) != "+0"


def test_the_number_is_as_fine_as_the_reading_is_sure():
    seen = [shown_cents(Cents(-12.6), Cents(error)) for error in (9.0, 3.0, 0.4)]
    assert seen == ["-10", "-15", "-13"]


@given(st.floats(-200.0, 200.0), st.floats(-200.0, 200.0))
def test_the_sharper_the_string_the_higher_the_bead(one, other):
    def top(cents: float) -> int:
        lines = track(Cents(cents), Cents(0.3), Cents(8.0)).crop((2, 0, 4, 52)).getbbox()
        return 52 if lines is None else lines[1]

    flat, sharp = sorted((one, other))
    assert top(sharp) <= top(flat) or (abs(sharp) + abs(flat) < 400.0 and top(sharp) - top(flat) <= 20)


def test_an_unsure_bead_is_taller_and_settles():
    def ink(error: float) -> int:
        return sum(track(Cents(-40.0), Cents(error), Cents(8.0)).histogram()[1:])

    sizes = [ink(error) for error in (8.0, 4.0, 2.0, 0.5)]
    assert sizes == sorted(sizes, reverse=True)
    assert len(set(sizes)) > 2


def test_what_is_not_as_in_the_file_is_turned_over_while_waiting():
    usual = lesson("A4", phase=Phase.WAITING).scene
    for key, columns in (("instrument", (66, 106)), ("reference_hz", (108, 128))):
        odd = draw(replace(usual, unusual=frozenset({key})), BEGIN).crop((columns[0], 53, columns[1], 64))
        plain = draw(usual, BEGIN).crop((columns[0], 53, columns[1], 64))
        assert sum(odd.histogram()[1:]) > 1.5 * sum(plain.histogram()[1:])


def test_a_resting_panel_is_dark_and_no_pixel_is_lit_for_long():
    rest = replace(lesson("A4").scene, resting=True)
    frames = [draw(rest, Seconds(20.0 * i)) for i in range(24)]
    assert max(lit_share(frame) for frame in frames) < 0.04
    lit = [sum(frame.getpixel((x, y)) > 0 for frame in frames) for x in range(WIDTH) for y in range(HEIGHT)]
    assert max(lit) <= 12  # half of the time at most, and that at no more than a few places


COACHES = st.builds(
    Coach,
    phase=st.sampled_from(Phase),
    string=st.sampled_from(["A4", "G3", "C2", "Bb3", "F#4"]),
    since=st.just(BEGIN),
    strings=st.lists(
        st.builds(
            StringState,
            name=st.sampled_from(["G3", "D4", "A4", "E5", "C2", "Bb3"]),
            mark=st.sampled_from(Mark),
            first_cents=st.none() | st.floats(-2000.0, 2000.0),
            last_cents=st.none() | st.floats(-2000.0, 2000.0),
        ),
        max_size=6,
    ).map(tuple),
    cents=st.none() | st.floats(-3000.0, 3000.0),
    std_error_cents=st.none() | st.floats(0.0, 100.0),
    advice=st.builds(
        Advice,
        say=st.sampled_from(Say),
        turn=st.sampled_from(Turn),
        string=st.none() | st.sampled_from(["A4", "E5", "C2"]),
        direction=st.sampled_from(Direction),
        rotation=st.none() | st.sampled_from(Rotation),
        amount=st.none() | st.sampled_from(Amount),
        push_in=st.booleans(),
        heard=st.none() | st.sampled_from(["D4", "E1"]),
        warning=st.none() | st.sampled_from(Alarm),
    ),
)


@settings(deadline=None, max_examples=300)
@given(
    COACHES,
    st.sampled_from([VIOLIN, CELLO, BASS, FIVE, SCORDATURA, Settings(Instrument.VIOLA, left_handed=True)]),
    st.floats(0.0, 1e6),
)
def test_any_lesson_can_be_drawn(coach, box, at):
    picture = draw(Scene(box, coach), Seconds(at))
    assert (picture.mode, picture.size) == ("1", (128, 64))
