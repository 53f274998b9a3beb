"""How a lesson hears all strings before anything is turned: in which order, and what the buttons change."""

from dataclasses import replace

import pytest

from device.config.settings import Order, Settings
from device.events import NextString, Plucked, TeacherHere
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.monitored import advance
from device.lesson.plan import order_of
from device.lesson.state import Phase
from device.lesson.survey import call_all
from dsp import Cents, Hz, Instrument, Seconds, cents
from tests.coaching import off, read_as, sounded
from tests.test_lesson import CHILD, GROWN_UP, HIGH_TO_LOW, Played


@pytest.mark.parametrize(
    ("instrument", "asked"),
    [
        (Instrument.VIOLIN, "A4 D4 G3 E5"),
        (Instrument.VIOLA, "A4 D4 G3 C3"),
        (Instrument.CELLO, "A3 D3 G2 C2"),
        (Instrument.DOUBLE_BASS, "A1 E1 D2 G2"),
    ],
)
def test_an_orchestra_tunes_its_a_first_then_what_is_below_and_then_what_is_above(instrument, asked):
    """Common practice, without a source."""
    assert order_of(Settings(instrument=instrument, order=Order.A_FIRST)) == tuple(asked.split())


def test_the_button_passes_a_string_by_until_the_others_were_heard():
    lesson = Played(CHILD).event(NextString, 1.0)
    asked = []
    for _ in HIGH_TO_LOW:
        asked.append(lesson.asked)
        lesson.pluck()
    assert asked == ["A4", "D4", "G3", "E5"]
    assert lesson.advice.say is Say.ALL_RIGHT


def test_a_string_that_is_passed_by_as_the_last_one_left_ends_the_survey():
    lesson = Played(CHILD).pluck().pluck().pluck()
    assert lesson.asked == "G3"
    lesson.event(NextString, 1.0)
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)


def test_who_passes_by_every_string_twice_is_done():
    lesson, asked = Played(CHILD), []
    while lesson.coach.phase is not Phase.FINISHED and len(asked) < 20:
        asked.append(lesson.asked)
        lesson.event(NextString, 1.0)
    assert asked == [*HIGH_TO_LOW, *HIGH_TO_LOW]


def test_strings_that_all_sound_alike_are_called_four_times_and_then_handed_over():
    """Nobody can tell them apart by ear alone: a call more teaches nothing (four calls are chosen)."""
    lesson = Played(GROWN_UP)
    for number in range(40):
        lesson.at += 3.0
        lesson.coach = sounded(lesson.coach, GROWN_UP, off(GROWN_UP, "D4", 300.0), lesson.at, number + 1)
        if lesson.coach.phase is Phase.FINISHED:
            break
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)
    assert number + 1 == 2 + 4 * 4  # two that were taken for another string, then four calls of four


def test_the_same_other_string_is_named_twice_before_all_are_called():
    lesson = Played(CHILD)
    said = [lesson.pluck("A4").advice.say for _ in range(3)]
    assert said == [Say.OTHER_STRING, Say.OTHER_STRING, Say.PLUCK_ALL]


@pytest.mark.parametrize("nearer", [9.0, 11.0])
@pytest.mark.parametrize(
    ("box_hz", "strings_hz", "side"),
    [
        (440.0, 392.0, -1),
        (440.0, 392.0, 1),
        (440.0, 415.0, -1),
        (440.0, 415.0, 1),
        (440.0, 466.0, -1),
        (440.0, 466.0, 1),
        (415.0, 430.0, 1),
        (415.0, 440.0, -1),
        (415.0, 443.0, 1),
    ],
)
def test_all_strings_alike_within_ten_cents_of_a_pitch_in_use_raise_the_question_which_it_is(
    box_hz, strings_hz, side, nearer
):
    """Pitches in use are common practice: 440 is ISO 16:1975. Ten cents either side is our choice."""
    chosen = replace(CHILD, reference_hz=Hz(box_hz))
    away = cents(Hz(strings_hz), Hz(box_hz)) + side * nearer
    lesson = Played(chosen, **dict.fromkeys(HIGH_TO_LOW, away))
    for _ in HIGH_TO_LOW:
        lesson.pluck()
    assert (Alarm.ANOTHER_REFERENCE in warned(lesson)) is (nearer < 10.0)


def warned(lesson: Played) -> set[Alarm | None]:
    """The questions put while all strings are called once more, should they be."""
    found = {lesson.advice.warning}
    for _ in HIGH_TO_LOW:
        if lesson.advice.say not in {Say.PLUCK_ALL, Say.PLUCK_AGAIN}:
            break
        lesson.pluck()
        found.add(lesson.advice.warning)
    return found


def test_an_open_string_of_another_instrument_is_asked_about_when_it_sounded_twice():
    """C3 is the lowest of a viola, a fifth under the violin's G: once may be misread."""
    lesson, warnings = Played(CHILD), []
    for number in range(2):
        lesson.coach = sounded(lesson.coach, CHILD, Hz(130.81), 5.0 + 3.0 * number, 200 + number)
        warnings.append(lesson.advice.warning)
    assert warnings == [None, Alarm.ANOTHER_INSTRUMENT]


@pytest.mark.parametrize(
    ("since_s", "error", "heard"), [(0.9, 5.0, False), (0.2, 3.0, True), (1.1, 5.0, True)]
)
def test_an_unsure_reading_of_the_survey_waits_until_its_sounding_is_late(since_s, error, heard):
    """Four cents tell which string it is, and at 1 s a sounding is as well known as it will be (chosen)."""
    coach = advance(Played(CHILD).coach, Plucked(Seconds(5.0), 7, -20.0), CHILD)
    reading = read_as(off(CHILD, "E5", 0.0), 5.0, 7, since_s, std_error_cents=Cents(error))
    assert (advance(coach, reading, CHILD).string != "E5") is heard


def test_where_one_string_alone_stands_out_of_its_place_only_that_one_is_called_again():
    """An A slackened to ten cents over the D is not told from it: the three others need no second call."""
    lesson, called = Played(GROWN_UP, A4=-690.0), []
    for _ in range(16):
        lesson.pluck()
        if lesson.coach.phase is Phase.FINISHED:
            break
        if lesson.advice.say in {Say.PLUCK_ALL, Say.GROWN_UP}:
            called.append(lesson.asked)
    assert called == ["G3", "D4", "A4", "E5", "A4", "A4", "A4"]
    assert lesson.advice.say is Say.STAYS_OFF


def test_a_bridge_still_to_be_looked_at_does_not_stop_the_survey():
    """A survey ends with no string in hand: then there is none that the look at the bridge belongs to."""
    lesson = Played(GROWN_UP, A4=-300.0).pluck().pluck().pluck()
    memory = lesson.coach.memory
    wound = replace(memory, lesson=replace(memory.lesson, wound=400.0))
    lesson.coach = replace(lesson.coach, memory=wound)
    lesson.until_turn()
    assert (lesson.advice.turn, lesson.advice.string) == (TuningPart.PEG, "A4")


def test_one_string_that_no_pluck_can_tell_from_another_is_a_grown_ups_who_hears_all_anew():
    """The E an octave and a bit slack sounds like a sharp D or a slack A."""
    lesson = Played(GROWN_UP, E5=-1153.0)
    while lesson.advice.say is not Say.GROWN_UP and lesson.count < 12:
        lesson.pluck()
    assert (lesson.advice.say, lesson.asked, lesson.count) == (Say.GROWN_UP, "E5", 8)
    lesson.event(TeacherHere, 1.0)
    assert (lesson.advice.say, lesson.asked) == (Say.PLUCK_ALL, "G3")
    lesson.until_turn()
    assert (lesson.advice.turn, lesson.advice.string) == (TuningPart.PEG, "E5")


def test_a_string_that_is_not_where_it_was_when_all_are_called_is_called_once_more():
    """The A was plucked for the E: what is known of the E is believed rather than that one pluck."""
    lesson = Played(GROWN_UP, E5=-20.0).survey()
    called = call_all(lesson.coach.memory.lesson, 0)
    memory = replace(lesson.coach.memory, lesson=called.lesson, before=called.lesson, pluck=None)
    lesson.coach = replace(lesson.coach, memory=memory, advice=called.advice, string=called.string)
    for name in ("G3", "D4", "A4"):
        assert lesson.asked == name
        lesson.pluck(name)
    said = [lesson.pluck(name).advice for name in ("A4", "E5")]
    assert (said[0].say, said[0].string) == (Say.PLUCK_ALL, "E5")
    assert said[1].say is not Say.PLUCK_ALL
    assert lesson.coach.memory.lesson.of("E5").hz == pytest.approx(off(GROWN_UP, "E5", -20.0), rel=1e-3)
