"""How a sounding is answered, and how often in a row in the same way."""

from dataclasses import replace

import pytest

from device.config.settings import Settings, Tolerance
from device.events import Plucked, Tick
from device.lesson.advice import Say
from device.lesson.evidence import surely_inside
from device.lesson.memory import Surveying, TellingApart
from device.lesson.monitored import advance
from device.lesson.state import Mark, Phase
from device.lesson.verdict import another_string, telling_apart
from dsp import Cents, Seconds
from tests.coaching import off, read_as
from tests.each import each
from tests.test_lesson import CHILD, GROWN_UP, Played
from tests.test_lesson_endings import silent
from tests.test_lesson_rules_turns import evidence_of


def test_a_sounding_that_was_unsure_and_then_is_surely_right_is_right():
    lesson = Played(CHILD, A4=-20.0).survey()
    at, answers = lesson.at + 3.0, []
    coach = advance(lesson.coach, Plucked(Seconds(at), 900, -20.0), CHILD)
    for since, error in ((1.05, 5.0), (1.15, 4.9), (1.3, 0.2)):
        reading = read_as(off(CHILD, "A4", 1.0), at, 900, since, std_error_cents=Cents(error))
        coach = advance(coach, reading, CHILD)
        answers.append((coach.advice.say, coach.since))
    assert [say for say, _ in answers] == [Say.PLUCK_AGAIN, Say.PLUCK_AGAIN, Say.RIGHT]
    assert answers[0] == answers[1]  # the same answer is not given anew
    assert coach.phase is Phase.RIGHT


def test_the_number_comes_as_soon_as_there_is_one_beside_an_answer_that_stays_the_same():
    """At first the octave is in doubt, then only how far off the string is."""
    lesson = Played(CHILD, A4=-20.0).survey()
    at, shown = lesson.at + 3.0, []
    coach = advance(lesson.coach, Plucked(Seconds(at), 900, -20.0), CHILD)
    for since, doubt in ((1.05, 0.5), (1.2, 0.01)):
        reading = read_as(off(CHILD, "A4", -3.0), at, 900, since, std_error_cents=Cents(5.0))
        coach = advance(coach, replace(reading, octave_doubt=doubt), CHILD)
        shown.append((coach.advice.say, coach.cents is None))
    assert shown == [(Say.PLUCK_AGAIN, True), (Say.PLUCK_AGAIN, False)]


def test_the_very_first_string_is_asked_for_seven_times_more_and_then_the_lesson_is_handed_over():
    """Plucks whose octave stays in doubt (chosen: seven answers in a row that only ask once more)."""
    lesson, said = Played(CHILD), []
    while len(said) < 20 and lesson.coach.phase is not Phase.FINISHED:
        said.append(lesson.pluck(octave_doubt=0.5).advice.say)
    assert said == [Say.PLUCK_AGAIN] * 7 + [Say.STAYS_OFF]


def hearing_others() -> Played:
    """A lesson that asks for another string than the one it works on."""
    lesson = Played(GROWN_UP, E5=-20.0).survey()
    for _ in range(6):
        if lesson.advice.say is Say.PLUCK_OTHERS:
            break
        lesson.pluck()
    assert lesson.advice.say is Say.PLUCK_OTHERS
    return lesson


def test_while_others_are_heard_the_wrong_one_may_be_plucked_six_times_and_then_all_are_called():
    lesson = hearing_others()
    assert lesson.asked != "A4"
    said = [lesson.pluck("A4").advice.say for _ in range(7)]
    assert said == [Say.PLUCK_OTHERS] * 6 + [Say.PLUCK_ALL]


def test_the_third_sounding_in_a_row_that_nothing_explains_calls_all_strings_for_the_first_time():
    lesson = Played(GROWN_UP, D4=-20.0).survey()
    for odd, say in each([(0, Say.OTHER_STRING), (1, Say.OTHER_STRING), (2, Say.PLUCK_ALL)]):
        ev = evidence_of(lesson, "D4", 250.0)
        outcome = another_string(replace(ev, lesson=replace(ev.lesson, odd=odd)))
        assert outcome.advice.say is say
    assert outcome.lesson.task == Surveying(strict=True, misses=0)


def test_after_a_string_that_gave_no_pitch_was_left_the_next_one_has_its_own_three_plucks():
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey()
    assert lesson.asked == "A4"
    silent(lesson, 6)
    lesson.event(Tick, 3.0)
    assert (lesson.mark("A4"), lesson.coach.string) == (Mark.GROWN_UP, "E5")
    assert silent(lesson, 3) == [Say.PLUCK_AGAIN, Say.PLUCK_AGAIN, Say.NO_PITCH]


def test_a_sounding_that_jumped_is_of_no_string_though_only_one_could_be_there():
    lesson = Played(GROWN_UP, D4=-20.0).survey()
    ev = evidence_of(lesson, "D4", -20.0)
    assert another_string(ev) is None
    watch = replace(ev.now.watch, jumped=ev.pluck)
    outcome = another_string(replace(ev, now=replace(ev.now, watch=watch)))
    assert (outcome.advice.say, outcome.advice.heard, outcome.lesson.odd) == (Say.OTHER_STRING, None, 1)


def test_strings_that_were_told_apart_are_all_known_from_where_they_sounded():
    lesson = Played(GROWN_UP, A4=-20.0).survey()
    ev = evidence_of(lesson, "A4", -21.0)
    d4 = off(GROWN_UP, "D4", -6.5)
    bounds = (replace(b, pluck={"D4": 899, "A4": ev.pluck}.get(b.name, b.pluck)) for b in ev.now.watch.bounds)
    now = replace(ev.now, watch=replace(ev.now.watch, bounds=tuple(bounds)))
    task = TellingApart("A4", ("A4",), heard=(("D4", 899, d4, Cents(0.3)),))
    stale = replace(ev.lesson.of("D4"), stale=True)
    known = telling_apart(replace(ev, now=now, lesson=replace(ev.lesson.knowing(stale), task=task))).lesson
    assert known.of("D4").hz == d4
    assert ev.now.off(known.of("A4")) < -20.0


@pytest.mark.parametrize(
    ("tolerance", "away", "inside"),
    [
        (Tolerance.FINE, 1.9, True),
        (Tolerance.FINE, 2.1, False),
        (Tolerance.USUAL, 4.4, True),
        (Tolerance.USUAL, 4.6, False),
    ],
)
def test_a_string_is_right_where_the_number_shown_says_so_and_by_the_fine_tolerance_to_its_edge(
    tolerance, away, inside
):
    """Half a cent is rounded away in the number shown; the fine tolerance is a standard's, and exact."""
    chosen = Settings(tolerance=tolerance)
    assert surely_inside(Cents(away), Cents(0.01), tolerance.cents, chosen) is inside
    assert surely_inside(Cents(-away), Cents(0.01), tolerance.cents, chosen) is inside
