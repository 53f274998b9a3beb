"""How a sounding is answered, and how often in a row in the same way."""

from dataclasses import replace

from device.events import Plucked
from device.lesson.advice import Say
from device.lesson.memory import Surveying
from device.lesson.monitored import advance
from device.lesson.state import Phase
from device.lesson.verdict import another_string
from dsp import Cents, Seconds
from tests.coaching import off, read_as
from tests.each import each
from tests.test_lesson import CHILD, GROWN_UP, Played
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
