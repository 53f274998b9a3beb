"""The lesson's table: every event in every phase."""

from dataclasses import replace
from itertools import product
from typing import get_args

import pytest
from device.coach.table import TABLE, advance, start

from device.config.settings import Settings
from device.events import Heard, LessonEvent, NextString, Plucked, PreviousString, Tick
from device.lesson.advice import Say
from device.lesson.state import Phase
from dsp import Cents, Hz, Seconds, shifted

SETTINGS = Settings()


def heard(string: str, off: float, at: float, pluck: int, **changes) -> Heard:
    reading = Heard(
        Seconds(at), pluck, shifted(SETTINGS.targets[string], Cents(off)), Cents(0.3), 0.01, 0.0, -20.0, 0.5
    )
    return replace(reading, **changes)


def plucked(coach, string: str, off: float, at: float, pluck: int):
    """A pluck and its readings over one second."""
    coach = advance(coach, Plucked(Seconds(at), pluck, -20.0), SETTINGS)
    for i in range(2, 11):
        reading = heard(string, off, at + i / 10, pluck, since_pluck_s=Seconds(i / 10))
        coach = advance(coach, reading, SETTINGS)
    return coach


def test_every_event_has_an_answer_in_every_phase():
    assert set(TABLE) == set(product(Phase, get_args(LessonEvent)))


def test_the_high_string_of_a_violin_comes_first():
    assert start(SETTINGS, Seconds(0.0)).string == "E5"


def test_a_string_in_tune_is_right_and_the_next_is_asked_for():
    coach = plucked(start(SETTINGS, Seconds(0.0)), "E5", 0.5, 1.0, 1)
    assert coach.phase is Phase.RIGHT
    coach = advance(coach, Tick(Seconds(4.0)), SETTINGS)
    assert (coach.phase, coach.string) == (Phase.WAITING, "A4")


def test_a_pluck_that_began_before_the_string_was_asked_for_says_nothing_of_it():
    coach = plucked(start(SETTINGS, Seconds(0.0)), "E5", 0.5, 1.0, 1)
    coach = advance(coach, NextString(Seconds(2.1)), SETTINGS)
    again = advance(coach, heard("A4", 0.0, 2.2, 1), SETTINGS)
    assert (again.phase, again.cents) == (Phase.WAITING, None)


def test_before_the_first_string_there_is_none():
    coach = advance(start(SETTINGS, Seconds(0.0)), PreviousString(Seconds(1.0)), SETTINGS)
    assert coach.string == "E5"


def test_far_off_draws_no_turn():
    coach = plucked(start(SETTINGS, Seconds(0.0)), "E5", -60.0, 1.0, 1)
    assert coach.advice.turn.value == "none"
    assert coach.advice.say is not Say.RIGHT


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), float("-inf"), 0.0, -3.0])
def test_a_reading_that_is_no_number_changes_nothing(wrong):
    coach = advance(start(SETTINGS, Seconds(0.0)), Plucked(Seconds(1.0), 1, -20.0), SETTINGS)
    assert advance(coach, heard("E5", 0.0, 1.5, 1, frequency_hz=Hz(wrong)), SETTINGS) == coach
