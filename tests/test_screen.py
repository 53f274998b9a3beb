"""The pictures: kept pixel for pixel, steady, calm, dark but for what is right."""

from dataclasses import replace
from itertools import pairwise

import pytest
from PIL import Image

from device.lesson.advice import Advice, Alarm, Say
from device.lesson.state import Mark, Phase
from device.panel.drawing import heads, lettering, pegs, tailpiece
from device.panel.drawing.plate import Plate
from device.panel.scene import Fault
from device.panel.screen import HEIGHT, WIDTH, draw
from dsp import Seconds
from tests import pictures, practice_scenes
from tests.scenes import PICTURES, Shown, lesson
from tests.showing import BEGIN, MENU, drawn, lit_share

names = pytest.mark.parametrize("name", PICTURES)


LIT = [name for name in PICTURES if name in {"right", "all-right"} | practice_scenes.LIT]


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


def test_a_resting_panel_is_dark_and_no_pixel_is_lit_for_long():
    rest = replace(lesson("A4").scene, resting=True)
    frames = [draw(rest, Seconds(20.0 * i)) for i in range(24)]
    assert max(lit_share(frame) for frame in frames) < 0.04
    lit = [sum(frame.getpixel((x, y)) > 0 for frame in frames) for x in range(WIDTH) for y in range(HEIGHT)]
    assert max(lit) <= 12  # half of the time at most, and that at no more than a few places
