"""How a sounding is answered, and how often in a row in the same way."""

from device.events import Plucked
from device.lesson.advice import Say
from device.lesson.monitored import advance
from device.lesson.state import Phase
from dsp import Cents, Seconds
from tests.coaching import off, read_as
from tests.test_lesson import CHILD, Played


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
