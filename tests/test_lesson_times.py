"""How long a lesson shows a thing and waits for a pupil, each from both sides."""

from dataclasses import replace

import pytest

from device.events import Plucked, PreviousString, TeacherHere, Tick
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Say
from device.lesson.monitored import advance
from device.lesson.state import Phase
from dsp import Seconds
from tests.test_lesson import CHILD, Played


def ticked(coach, at, settings=CHILD):
    return advance(coach, Tick(Seconds(at)), settings)


@pytest.mark.parametrize(("after_s", "gone"), [(59.9, False), (60.1, True)])
def test_a_pupil_who_is_silent_for_a_minute_is_gone(after_s, gone):
    lesson = Played(CHILD).pluck()
    assert lesson.coach.phase is not Phase.LISTENING
    coach = ticked(lesson.coach, lesson.at + 1.5)
    since = max(coach.memory.sounded_at, coach.since)
    after = ticked(coach, since + after_s)
    assert (after.advice.string or after.string) == ("E5" if gone else "A4")


@pytest.mark.parametrize(("after_s", "again"), [(19.9, False), (20.1, True)])
def test_the_end_is_shown_for_twenty_seconds(after_s, again):
    lesson = Played(CHILD).survey()
    assert lesson.coach.phase is Phase.FINISHED
    after = ticked(lesson.coach, lesson.coach.since + after_s)
    assert (after.phase is not Phase.FINISHED) is again


@pytest.mark.parametrize(("after_s", "goes_on"), [(1.4, False), (1.6, True)])
def test_right_is_shown_for_a_second_and_a_half(after_s, goes_on):
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey()
    lesson.moved("A4", 19.0)
    assert lesson.coach.phase is Phase.RIGHT
    after = ticked(lesson.coach, lesson.coach.since + after_s)
    assert (after.phase is not Phase.RIGHT) is goes_on


@pytest.mark.parametrize(("after_s", "goes_on"), [(1.7, False), (1.9, True)])
def test_what_is_left_for_a_grown_up_is_shown_long_enough_to_be_read(after_s, goes_on):
    lesson = Played(CHILD, A4=-90.0, D4=-20.0).survey()
    assert lesson.advice.say is Say.GROWN_UP
    after = ticked(lesson.coach, lesson.coach.since + after_s)
    assert (after.advice.say is not Say.GROWN_UP) is goes_on


def test_a_grown_up_who_came_is_taken_to_stay_for_five_minutes():
    lesson = Played(CHILD, A4=-90.0).survey()
    at = lesson.at + 10.0
    came = advance(lesson.coach, TeacherHere(Seconds(at)), CHILD)
    assert came.memory.lesson.teacher == ("A4",)
    assert came.memory.lesson.teacher_until == at + 300.0
    early = advance(Played(CHILD).pluck().coach, TeacherHere(Seconds(5.0)), CHILD)
    assert early.memory.lesson.teacher == early.memory.lesson.live
    assert early.memory.lesson.teacher_until == 305.0


def test_a_grown_up_strikes_off_the_string_asked_for_only_after_three_plucks_without_a_pitch():
    """A child's pluck or two that missed is no reason to leave a string out."""
    coach = Played(CHILD).pluck().coach
    assert coach.string == "A4"

    def struck(unclear):
        lesson = replace(coach.memory.lesson, unclear=unclear)
        asked = replace(coach, memory=replace(coach.memory, lesson=lesson))
        after = advance(asked, TeacherHere(Seconds(9.0)), CHILD)
        return [known.name for known in after.memory.lesson.known if known.struck]

    assert struck(0) == struck(2) == []
    assert struck(3) == ["A4"]


@pytest.mark.parametrize("off", [-3.0, -40.0, 40.0])
def test_a_string_is_tightened_when_flat_and_let_down_when_sharp(off):
    lesson = Played(replace(CHILD, pegs_by_grown_up=False), A4=off).survey().until_turn()
    if abs(off) < 8.0:  # within a beginner's tolerance nothing is turned
        assert lesson.advice.turn is TuningPart.NONE
        return
    assert lesson.advice.string == "A4"
    assert lesson.advice.tightens is (off < 0.0)


def test_the_button_goes_back_by_one_string():
    lesson = Played(CHILD).pluck().pluck()
    assert lesson.coach.string == "D4"
    assert advance(lesson.coach, PreviousString(Seconds(lesson.at + 1.5)), CHILD).string == "A4"


@pytest.mark.parametrize(("after_s", "string"), [(0.4, "A4"), (0.6, "D4")])
def test_a_pluck_within_half_a_second_of_right_is_still_of_the_same_string(after_s, string):
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey().moved("A4", 20.0)
    assert lesson.coach.phase is Phase.RIGHT
    plucked = Plucked(Seconds(lesson.coach.since + after_s), 900, -20.0)
    assert advance(lesson.coach, plucked, CHILD).string == string


def test_a_grown_up_who_comes_when_all_is_right_changes_nothing():
    lesson = Played(CHILD).survey()
    assert lesson.advice.say is Say.ALL_RIGHT
    assert advance(lesson.coach, TeacherHere(Seconds(lesson.at + 2.0)), CHILD).advice == lesson.advice
