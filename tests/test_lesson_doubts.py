"""What was heard but not believed: another child's string, two at once, a jump that no turn explains."""

from dataclasses import replace

import pytest

from device.config.settings import Settings, Size
from device.events import Plucked, Tick
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.monitored import advance
from device.lesson.state import Mark, Phase
from dsp import Cents, Hz, Seconds
from tests.coaching import off, read_as, sounded
from tests.test_lesson import CHILD, GROWN_UP, PEG, SCREW, Played

FULL_A = Settings(size=Size.FULL, cores=GROWN_UP.cores, pegs_by_grown_up=False)


def test_a_string_that_was_let_down_by_a_hair_and_sounds_right_at_once_is_plucked_again():
    lesson = Played(FULL_A, A4=205.0).survey().until_turn()
    assert (lesson.advice.turn, lesson.advice.string, lesson.advice.direction) == (
        PEG,
        "A4",
        Direction.LOOSEN,
    )
    lesson.moved("A4", -203.0)
    assert (lesson.advice.say, lesson.mark("A4")) == (Say.PLUCK_AGAIN, Mark.TO_DO)
    lesson.pluck("A4")
    assert (lesson.coach.phase, lesson.mark("A4")) == (Phase.RIGHT, Mark.RIGHT)


def test_a_string_that_a_turn_may_have_taken_there_is_believed_at_once():
    lesson = Played(FULL_A, A4=-40.0).survey()
    assert lesson.advice.turn is SCREW
    assert lesson.moved("A4", 40.0).coach.phase is Phase.RIGHT


def test_after_another_string_was_heard_in_its_place_a_right_one_is_heard_twice():
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.pluck("D4")
    assert lesson.advice.say is Say.OTHER_STRING
    lesson.moved("A4", 20.0)
    assert lesson.advice.say is Say.PLUCK_AGAIN
    assert lesson.pluck("A4").coach.phase is Phase.RIGHT


def test_a_right_pitch_that_cut_into_another_sounding_is_heard_again():
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), CHILD)
    lesson.coach = sounded(lesson.coach, CHILD, off(CHILD, "A4", 0.0), 50.3, 901)
    assert lesson.advice.say is Say.PLUCK_AGAIN
    lesson.coach = sounded(lesson.coach, CHILD, off(CHILD, "A4", 0.0), 53.3, 902)
    assert lesson.coach.phase is Phase.RIGHT


def wavering(lesson: Played, *heights: float) -> Played:
    """One sounding of the A whose readings stand so many cents off."""
    coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), lesson.chosen)
    for count, cents in enumerate(heights, start=1):
        hz = off(lesson.chosen, "A4", cents)
        unsure = {} if count == len(heights) else {"std_error_cents": 30.0}
        coach = advance(coach, read_as(hz, 50.0, 900, 0.26 * count, **unsure), lesson.chosen)
    lesson.coach = coach
    return lesson


def test_a_sounding_whose_readings_jump_teaches_nothing_and_asks_for_another_pluck():
    lesson = Played(CHILD, A4=-20.0).survey()
    known = lesson.coach.memory.lesson.of("A4").hz
    wavering(lesson, -20.0, -520.0, -1.0, -1.0)
    assert (lesson.advice.say, lesson.advice.turn) == (Say.PLUCK_AGAIN, TuningPart.NONE)
    assert lesson.coach.memory.lesson.of("A4").hz == known
    glides = wavering(Played(CHILD, A4=-20.0).survey(), 30.0, 12.0, 4.0, 0.0)
    assert glides.coach.phase is Phase.RIGHT


def test_what_was_said_before_the_readings_jumped_stands():
    lesson = Played(CHILD, A4=-13.0).survey()
    coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), CHILD)
    coach = advance(coach, read_as(off(CHILD, "A4", -10.0), 50.0, 900, 0.65), CHILD)
    said = coach.advice
    assert said.turn is SCREW
    for since in (0.75, 0.85, 0.95):
        coach = advance(coach, read_as(off(CHILD, "A4", 702.0), 50.0, 900, since), CHILD)
        assert coach.advice == said


def test_another_string_that_was_named_stays_named_when_the_readings_jump():
    lesson = Played(CHILD, A4=-13.0).survey()
    coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), CHILD)
    for since in (0.4, 0.8, 1.0):
        coach = advance(coach, read_as(off(CHILD, "D4", 0.0), 50.0, 900, since), CHILD)
    assert coach.advice.say is Say.OTHER_STRING
    for since in (1.1, 1.2):
        coach = advance(coach, read_as(off(CHILD, "A4", -250.0), 50.0, 900, since), CHILD)
    assert coach.advice.say is Say.OTHER_STRING


@pytest.mark.parametrize("heard", ["D4", "G3"])
def test_the_same_wrong_string_three_times_running_calls_all_of_them(heard):
    lesson = Played(CHILD, A4=-20.0).survey()
    said = [lesson.pluck(heard).advice.say for _ in range(3)]
    assert said == [Say.OTHER_STRING, Say.OTHER_STRING, Say.PLUCK_ALL]


def test_two_strings_that_sound_alike_are_told_apart_by_one_climb_from_the_lowest():
    lesson = Played(GROWN_UP, G3=-700.0)
    for _ in range(12):
        if lesson.advice.turn is PEG:
            break
        lesson.pluck()
    assert lesson.advice.string == "G3"
    lesson = Played(GROWN_UP, D4=-1200.0)
    for _ in range(12):
        if lesson.advice.turn is PEG:
            break
        lesson.pluck()
    assert lesson.advice.string == "D4"
    lesson.offs["D4"] = -670.0  # near the G
    said = []
    for _ in range(8):
        lesson.pluck()
        said.append((lesson.advice.say, lesson.asked))
    assert (Say.PLUCK_ALL, "G3") in said
    assert all(advice is not Say.RIGHT for advice, name in said if name == "D4")


def test_a_rise_too_fast_for_one_turn_is_answered_with_slowly():
    lesson = Played(replace(GROWN_UP), A4=-140.0).survey().until_turn()
    assert lesson.advice.turn is PEG
    lesson.moved("A4", 260.0)
    assert lesson.advice.warning is Alarm.SLOWLY


def test_a_late_reading_that_says_the_same_changes_nothing():
    lesson = Played(CHILD, A4=-20.0).survey().moved("A4", 20.0)
    before = lesson.coach
    again = read_as(off(CHILD, "A4", -0.2), lesson.at, lesson.count, 1.2)
    after = advance(before, again, CHILD)
    assert (after.advice, after.cents, after.strings) == (before.advice, before.cents, before.strings)
    assert after.watch.of("A4").pluck == lesson.count
    shifts = advance(before, replace(again, frequency_hz=Hz(again.frequency_hz * 1.006)), CHILD)
    assert shifts.cents != before.cents


def test_the_pupil_gets_a_moment_before_the_next_string_by_time_alone():
    lesson = Played(CHILD, A4=-20.0).survey().moved("A4", 20.0)
    assert lesson.event(Tick, 1.2).coach.phase is Phase.RIGHT
    assert lesson.event(Tick, 1.6).coach.phase is not Phase.RIGHT


@pytest.mark.parametrize(("quiet_s", "answered"), [(0.25, False), (0.35, True)])
def test_what_is_unsure_is_answered_once_when_no_more_is_heard_of_it(quiet_s, answered):
    """A string damped early is asked for again after three tenths of a second, not while it sounds."""
    lesson = Played(CHILD, A4=-20.0).survey()
    coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), CHILD)
    for since in (0.3, 0.7):
        hz = off(CHILD, "A4", -7.0)
        coach = advance(coach, read_as(hz, 50.0, 900, since, std_error_cents=Cents(4.0)), CHILD)
        assert coach.phase is Phase.LISTENING
    coach = advance(coach, Tick(Seconds(50.7 + quiet_s)), CHILD)
    assert (coach.advice.say is Say.PLUCK_AGAIN) is answered
