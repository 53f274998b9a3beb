"""The lesson's edges: how often in a row, how sure, and how many strings, each from both sides."""

import pytest

from device.events import Plucked, TeacherHere, Tick
from device.instrument.frozen import replace
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.evidence import renewed
from device.lesson.monitored import advance
from device.lesson.showing import now_of
from device.lesson.turns import turn_for
from device.safety.monitor import in_danger
from dsp import Cents, Seconds, cents
from tests.coaching import off, read_as, turn_advice
from tests.each import each
from tests.test_lesson import CHILD, GROWN_UP, HIGH_TO_LOW, SCREW, Played
from tests.test_lesson_endings import silent

QUICK_S = 0.55


def stale(lesson: Played) -> set[str]:
    """The strings that a turn may have moved since they were heard."""
    return {known.name for known in lesson.coach.memory.lesson.known if known.stale}


def struck_off(lesson: Played, *names: str) -> Played:
    """Each plucked three times in vain, and the teacher says so."""
    for name in each(names):
        assert lesson.asked == name
        silent(lesson, 3)
        lesson.event(TeacherHere)
    return lesson


def test_the_very_first_three_plucks_without_a_pitch_get_their_picture_at_the_third():
    assert silent(Played(CHILD), 3) == [Say.PLUCK_AGAIN, Say.PLUCK_AGAIN, Say.NO_PITCH]


def test_after_a_clear_sounding_three_plucks_that_came_too_fast_are_told_so_and_not_a_fourth():
    """Within 0.6 s of the one before; the one that cuts off a clear sounding is forgiven."""
    lesson = Played(CHILD, A4=-20.0).survey()
    at, said = lesson.at + 3.0, []
    coach = advance(lesson.coach, Plucked(Seconds(at), 900, -20.0), CHILD)
    for since in each((0.2, 0.3, 0.4, 0.5)):
        coach = advance(coach, read_as(off(CHILD, "A4", -20.0), at, 900, since), CHILD)
    for number in each(range(1, 5)):
        plucked = Plucked(Seconds(at + number * QUICK_S), 900 + number, -20.0)
        coach = advance(coach, plucked, CHILD)
        said.append(coach.advice.say is Say.TOO_FAST)
    assert said == [False, False, False, True]


@pytest.mark.parametrize(("away", "first", "second"), [(-5.5, 1.5, 3.0), (-5.0, 2.0, 4.0)])
def test_a_string_that_seems_right_but_not_surely_is_plucked_once_more_and_then_turned(away, first, second):
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.offs["A4"] = away
    assert lesson.pluck("A4", std_error_cents=Cents(first)).advice.say is Say.PLUCK_AGAIN
    lesson.pluck("A4", std_error_cents=Cents(second))
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "A4")


def test_the_turn_that_is_asked_for_is_expected_to_end_at_the_strings_place():
    lesson = Played(CHILD, A4=-20.0).survey()
    pending = lesson.coach.memory.lesson.pending
    assert cents(pending.from_hz, CHILD.targets["A4"]) == pytest.approx(-20.0, abs=0.1)
    assert cents(pending.wish_hz, CHILD.targets["A4"]) == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize(
    ("moved", "error", "others_may_have_moved"),
    [(12.0, 2.0, False), (8.0, 1.5, False), (6.0, 2.0, True)],
)
def test_after_less_than_half_the_expected_move_that_is_not_sure_the_others_are_not_known_any_more(
    moved, error, others_may_have_moved
):
    """Of 20 cents that the turn should bring; 1.5 times twice the two readings' error is sure (chosen)."""
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.offs["A4"] += moved
    lesson.pluck("A4", std_error_cents=Cents(error))
    assert stale(lesson) == ({"G3", "D4", "E5"} if others_may_have_moved else set())


def test_two_strings_off_alike_are_no_other_reference_pitch_but_three_are():
    """A semitone down is a pitch in use, 415 Hz; two strings may have slipped alike by chance."""
    two = struck_off(Played(CHILD, D4=-101.0, G3=-101.0), "E5", "A4")
    three = struck_off(Played(CHILD, A4=-101.0, D4=-101.0, G3=-101.0), "E5")
    for lesson, strings in each([(two, 2), (three, 3)]):
        lesson.count = 900
        for _ in range(strings):
            lesson.pluck()
        assert (lesson.advice.warning is Alarm.ANOTHER_REFERENCE) is (strings == 3)


@pytest.mark.parametrize("grown_up_says_so", [False, True])
def test_a_set_that_is_slack_all_over_calls_for_a_grown_up_unless_one_says_they_are_there(grown_up_says_so):
    lesson = Played(GROWN_UP, **dict.fromkeys(HIGH_TO_LOW, -1200.0))
    if grown_up_says_so:
        lesson.event(TeacherHere)
    said = []
    while len(said) < 12 and lesson.advice.turn is TuningPart.NONE:
        lesson.pluck()
        said.append(lesson.advice.say)
    assert (Say.GROWN_UP in said) is not grown_up_says_so
    assert len(said) > 4


@pytest.mark.parametrize("away", [-240.0, -30.0, 0.0, 150.0])
def test_the_last_string_that_is_left_may_sound_at_any_height(away):
    """Three may be broken: a sounding of the fourth is judged like any other."""
    lesson = struck_off(Played(GROWN_UP, G3=away), "E5", "A4", "D4")
    for _ in range(3):
        lesson.pluck("G3")
    assert [mark.name for mark in lesson.coach.strings if mark.last_cents is not None] == ["G3"]


@pytest.mark.parametrize("away", [-240.0, -30.0, 0.0, 150.0])
def test_a_lesson_without_any_string_is_over_whatever_sounds(away):
    lesson = struck_off(Played(GROWN_UP, G3=away), "E5", "A4", "D4", "G3")
    said = [lesson.pluck("G3").advice.say for _ in range(3)]
    assert said == [Say.STAYS_OFF] * 3


def test_a_string_that_was_heard_stays_under_watch_when_it_is_struck_off():
    """It gave no pitch three times, but it may still be there, a fourth too high."""
    lesson = Played(GROWN_UP, E5=450.0, A4=-20.0).pluck("E5").pluck("E5")
    memory = lesson.coach.memory
    struck = renewed(renewed(memory.lesson, "E5", struck=True), "D4", struck=True)
    lesson.coach = replace(lesson.coach, memory=replace(memory, lesson=struck, before=struck))
    lesson.event(Tick, 0.3)
    assert [bound.name for bound in lesson.coach.watch.bounds] == ["G3", "A4", "E5"]
    tighten = turn_advice("A4", TuningPart.FINE_TUNER, Direction.TIGHTEN, Amount.A_HAIR, GROWN_UP)
    assert in_danger(lesson.coach.watch, strung(GROWN_UP), tighten)[-1] == "E5"


def test_a_struck_string_in_the_way_is_not_plucked_again_but_what_it_hinders_is_left():
    lesson = Played(GROWN_UP, E5=-20.0, D4=-180.0).survey()
    watch = lesson.coach.watch
    used_up = replace(watch, bounds=(*watch.bounds[:-1], replace(watch.bounds[-1], peg=20.0)))
    now = now_of(replace(lesson.coach, watch=used_up), GROWN_UP, Seconds(lesson.at))
    knows = replace(lesson.coach.memory.lesson, pending=None)
    said = [turn_for(one, now, "D4").advice for one in (knows, renewed(knows, "E5", struck=True))]
    assert [(a.say, a.string) for a in said] == [(Say.PLUCK_OTHERS, "E5"), (Say.GROWN_UP, "D4")]
