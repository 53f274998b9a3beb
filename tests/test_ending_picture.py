"""The end of a lesson that is handed over: what the box was not told is said to the teacher beside it."""

from dataclasses import replace

import pytest

from device.config.settings import Cores, Settings, Size
from device.lesson.advice import Advice, Say
from device.lesson.state import Mark, Phase
from device.panel.drawing.ending import to_set
from device.panel.drawing.string_strip import TOP
from device.panel.screen import HEIGHT, WIDTH, draw
from dsp import Seconds
from tests.scenes import FIVE, VIOLIN, lesson

TOLD = Settings(size=Size.HALF, cores=Cores.STEEL)
TONE_FLAT = (-31.0, -214.0, None, 2.0)
NEAR = (-31.0, 45.0, None, 2.0)


def ended(settings, starts, say=Say.STAYS_OFF):
    marks = (Mark.RIGHT, Mark.GROWN_UP, Mark.DRIFTED, Mark.RIGHT)
    return lesson("G3", Advice(say), settings=settings, phase=Phase.FINISHED, marks=marks, starts=starts)


def beside(settings, starts, say=Say.STAYS_OFF):
    """Whether anything is written along the bottom of the end picture."""
    return draw(ended(settings, starts, say).scene, Seconds(0.0)).crop((0, TOP, WIDTH, HEIGHT)).getbbox()


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        (VIOLIN, "set size and cores"),
        (replace(TOLD, cores=Cores.UNKNOWN), "set cores"),
        (replace(TOLD, size=Size.UNKNOWN), "set size"),
        (TOLD, ""),
    ],
)
def test_where_a_peg_was_needed_the_words_name_what_is_not_set(settings, words):
    assert to_set(settings, ended(settings, TONE_FLAT).scene.coach) == words
    assert (beside(settings, TONE_FLAT) is not None) is (words != "")


def test_nothing_is_asked_for_where_the_screws_would_have_done():
    assert to_set(VIOLIN, ended(VIOLIN, NEAR).scene.coach) == ""
    assert to_set(VIOLIN, ended(VIOLIN, (-50.0,) * 4).scene.coach) == ""
    assert to_set(VIOLIN, ended(VIOLIN, (50.1,) * 4).scene.coach) != ""
    assert beside(VIOLIN, NEAR) is None


def test_a_child_that_did_it_all_gets_the_same_picture_whatever_is_set():
    pictures = [draw(ended(box, TONE_FLAT, Say.ALL_RIGHT).scene, Seconds(0.0)) for box in (VIOLIN, TOLD)]
    assert pictures[0].tobytes() == pictures[1].tobytes()


@pytest.mark.parametrize("box", [VIOLIN, FIVE])
def test_the_words_stand_clear_of_the_strings_above_them_and_of_the_edges(box):
    picture = draw(ended(box, TONE_FLAT).scene, Seconds(0.0))
    assert picture.crop((0, TOP - 1, WIDTH - 34, TOP)).getbbox() is None
    assert picture.crop((0, TOP, 2, HEIGHT)).getbbox() is None
    assert picture.crop((WIDTH - 2, TOP, WIDTH, HEIGHT)).getbbox() is None
