"""The end of a lesson that needed a peg: what the box was not told is said to the teacher beside it."""

from dataclasses import replace

import pytest
from PIL import ImageChops

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
        (VIOLIN, "set size, cores"),
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


def test_a_child_that_did_it_all_sees_that_first_and_the_teacher_reads_the_words_three_seconds_later():
    unset, told = (
        [draw(ended(box, TONE_FLAT, Say.ALL_RIGHT).scene, Seconds(0.5 + i)).tobytes() for i in range(12)]
        for box in (VIOLIN, TOLD)
    )
    assert told == told[:1] * 12
    assert [one == told[0] for one in unset] == [True, True, True, False, False, False] * 2
    near = [draw(ended(VIOLIN, NEAR, Say.ALL_RIGHT).scene, Seconds(0.5 + i)).tobytes() for i in range(12)]
    assert near == near[:1] * 12


@pytest.mark.parametrize("say", [Say.STAYS_OFF, Say.ALL_RIGHT])
@pytest.mark.parametrize("box", [VIOLIN, FIVE])
def test_the_words_stand_clear_of_the_strings_above_them_of_the_edge_and_of_the_key(box, say):
    picture = draw(ended(box, TONE_FLAT, say).scene, Seconds(4.0))
    if say is Say.ALL_RIGHT:
        picture = ImageChops.invert(picture)
    assert picture.crop((0, TOP - 1, WIDTH - 34, TOP)).getbbox() is None
    assert picture.crop((0, TOP, 2, HEIGHT)).getbbox() is None
    assert picture.crop((WIDTH - 35, TOP, WIDTH - 34, HEIGHT)).getbbox() is None  # the key begins there
