"""What the buttons do to a lesson, by the rule."""

from device.events import NextString, PreviousString, TeacherHere
from device.lesson.advice import Say
from device.lesson.state import Mark
from tests.test_lesson import CHILD, SCREW, Played


def test_at_the_end_previous_takes_up_the_last_string_again_that_was_passed_by():
    lesson = Played(CHILD, G3=-20.0).survey()
    lesson.event(NextString).event(NextString)
    for _ in range(8):
        if lesson.advice.say is Say.STAYS_OFF:
            break
        lesson.pluck().event(NextString)
    assert (lesson.advice.say, lesson.mark("G3")) == (Say.STAYS_OFF, Mark.GROWN_UP)
    lesson.event(PreviousString)
    assert lesson.mark("G3") is not Mark.GROWN_UP
    assert lesson.pluck("G3").advice.turn is SCREW


def test_before_the_first_string_there_is_none():
    lesson = Played(CHILD).event(PreviousString)
    assert lesson.asked == "E5"
    assert lesson.pluck().event(PreviousString).asked == "E5"


def test_a_string_that_a_grown_up_takes_up_again_has_as_many_soundings_as_at_first():
    """Whatever was missed before they came does not count against them."""
    lesson = Played(CHILD, D4=-90.0).survey()
    assert (lesson.advice.say, lesson.advice.string) == (Say.GROWN_UP, "D4")
    lesson.event(TeacherHere).pluck("A4").pluck("A4")
    assert lesson.coach.memory.lesson.of("D4").passed == 2
    lesson.event(TeacherHere)
    taken = lesson.coach.memory.lesson.of("D4")
    assert (taken.passed, taken.plucks, taken.tries, taken.skipped, taken.left) == (0, 0, 0, 0, False)
