"""Turns and what they teach, by the rule: one hand-made state each, and the figure from both sides."""

from dataclasses import replace

import pytest

from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Say
from device.lesson.answers import other_heard, remembered
from device.lesson.evidence import PluckEvidence, renewed
from device.lesson.memory import HearingOthers, Tuning
from device.lesson.showing import now_of
from device.lesson.turns import MOST_HEARINGS, turn_for
from device.lesson.verdict import another_string
from dsp import Cents, Hz, Seconds, cents
from tests.coaching import off
from tests.each import each
from tests.test_lesson import GROWN_UP, Played


def evidence_of(lesson: Played, name: str, away: float, **changes: object) -> PluckEvidence:
    """A late and very sure reading of a string, so many cents off, with all that the lesson knows."""
    now = now_of(lesson.coach, lesson.chosen, Seconds(lesson.at + 4.0))
    ev = PluckEvidence(
        now,
        lesson.coach.memory.lesson,
        name,
        900,
        off(lesson.chosen, name, away),
        Cents(0.01),
        0.01,
        0.0,
        Seconds(1.2),
        Seconds(3.0),
    )
    return replace(ev, **changes)  # type: ignore[arg-type]


def doubting(lesson: Played, **degrees: float):
    """What everything is judged by, once some strings may have been turned by so many degrees of a part."""
    now = now_of(lesson.coach, lesson.chosen, Seconds(lesson.at + 4.0))
    bounds = tuple(replace(bound, **degrees) for bound in now.watch.bounds)
    return replace(now, watch=replace(now.watch, bounds=bounds))


@pytest.mark.parametrize(("away", "doubted"), [(39.5, False), (40.5, True), (-39.5, False), (-40.5, True)])
def test_a_string_that_nothing_was_asked_of_and_that_is_40_cents_from_where_it_was_is_doubted(away, doubted):
    """Other strings pull by less, and readings err by less (chosen)."""
    lesson = Played(GROWN_UP).survey()
    assert remembered(evidence_of(lesson, "D4", away), "D4").of("D4").doubted is doubted


@pytest.mark.parametrize(("drift", "doubted"), [(2.5, False), (3.5, True), (-3.5, True)])
def test_a_string_that_moved_by_more_than_3_cents_a_second_while_it_was_heard_is_doubted(drift, doubted):
    """It may be turned, or misread (chosen)."""
    ev = evidence_of(Played(GROWN_UP).survey(), "D4", 0.0, drift=drift)
    assert remembered(ev, "D4").of("D4").doubted is doubted


@pytest.mark.parametrize("way", [-1.0, 1.0])
@pytest.mark.parametrize(("beyond", "doubted"), [(39.5, False), (40.5, True)])
def test_a_string_is_doubted_beyond_where_twice_the_turn_by_the_steepest_slope_takes_it(way, beyond, doubted):
    """Whichever way it was turned, and on whichever peg the hand was."""
    lesson = Played(GROWN_UP, A4=-100.0).until_turn()
    turn, d4 = lesson.coach.memory.lesson.pending, lesson.coach.memory.strung.of("D4")
    assert (turn.string, turn.part) == ("A4", TuningPart.PEG)
    farthest = d4.turned(d4.target_hz, way * 2.0 * turn.degrees, d4.peg.most)
    ev = evidence_of(lesson, "D4", cents(farthest, d4.target_hz) + way * beyond)
    assert remembered(ev, "D4").of("D4").doubted is doubted


def test_two_very_sure_plucks_count_alike_however_sure_they_say_that_they_are():
    """Nothing is known to better than a twentieth of a cent (chosen); of two such the mean counts."""
    lesson = Played(GROWN_UP).survey()
    ev = evidence_of(lesson, "D4", 1.0)
    known = replace(ev.known, hz=off(GROWN_UP, "D4", 0.0), error=Cents(0.001))
    after = remembered(replace(ev, lesson=ev.lesson.knowing(known)), "D4").of("D4")
    assert cents(after.hz, lesson.chosen.targets["D4"]) == pytest.approx(0.5)
    assert after.error == pytest.approx(0.05 / 2.0**0.5)


@pytest.mark.parametrize(("rose", "loosened"), [(29.5, False), (30.5, True)])
def test_a_string_that_rose_by_30_cents_was_turned_however_much_a_turn_would_have_done(rose, loosened):
    """A third of a turn of the peg that takes a string up by 300 is 100 cents: 30 are enough (chosen)."""
    lesson = Played(GROWN_UP, A4=-100.0, D4=20.0).until_turn()
    pending = replace(lesson.coach.memory.lesson.pending, degrees=60.0)
    task = HearingOthers("A4", ("D4", "G3"), sought=pending)
    ev = evidence_of(lesson, "D4", 20.0 + rose)
    outcome = other_heard(replace(ev, lesson=replace(ev.lesson, task=task)), task)
    after = outcome.lesson.task
    assert (after.string, after.say) == (("D4", Say.LOOSEN_BACK) if loosened else ("A4", Say.TURN))


@pytest.mark.parametrize(("stands", "asked"), [(0.5, "D4"), (-0.5, "G3")])
def test_a_string_that_rose_to_its_place_is_left_alone_unless_it_stands_above_it(stands, asked):
    lesson = Played(GROWN_UP, A4=-100.0, D4=-40.0, G3=1.0).until_turn()
    pending = lesson.coach.memory.lesson.pending
    task = HearingOthers("A4", ("D4", "G3"), sought=replace(pending, string="A4", degrees=60.0))
    ev = evidence_of(lesson, "D4", stands, error=Cents(6.0))
    outcome = other_heard(replace(ev, lesson=replace(ev.lesson, task=task)), task)
    assert outcome.advice.string == asked


def test_for_one_turn_others_are_heard_three_times_and_no_more():
    lesson = Played(GROWN_UP, A4=-100.0).until_turn()
    now, known = doubting(lesson, peg=90.0), lesson.coach.memory.lesson
    said = []
    for _ in range(MOST_HEARINGS + 1):
        outcome = turn_for(known, now, "A4")
        known = outcome.lesson
        said.append(outcome.advice.say)
    assert said == [Say.PLUCK_OTHERS] * 3 + [Say.GROWN_UP]
    assert known.hearings == 0  # the next turn has its own three


def test_a_screw_is_turned_less_far_the_less_room_there_is_down_to_a_seventh():
    """Whole, 70, 50, 30 and 15 hundredths (chosen), as far as each is safe; then the string is left."""
    lesson = Played(GROWN_UP, E5=-60.0).until_turn()
    known = replace(lesson.coach.memory.lesson, hearings=MOST_HEARINGS)
    degrees = []
    for reckoned in each(range(0, 4000, 10)):
        advice = turn_for(known, doubting(lesson, screw=float(reckoned)), "E5").advice
        if advice.turn is TuningPart.FINE_TUNER and advice.degrees not in degrees:
            degrees.append(advice.degrees)
    assert [d / degrees[0] for d in degrees] == pytest.approx([1.0, 0.7, 0.5, 0.3, 0.15])


def test_what_may_be_a_struck_string_as_well_is_left_for_a_grown_up():
    """E was heard, slack as A is high, and then gave no pitch: it may still be there, and nobody can tell."""
    lesson = Played(GROWN_UP, A4=-20.0).survey()
    slack = replace(lesson.coach.watch.of("E5"), high_hz=Hz(445.0), low_hz=Hz(400.0))
    lesson.coach = replace(lesson.coach, watch=lesson.coach.watch.knowing(slack))
    ev = evidence_of(lesson, "A4", -15.0, pluck=99)
    struck = renewed(replace(ev.lesson, task=Tuning("A4"), pending=None), "E5", struck=True)
    outcome = another_string(replace(ev, lesson=struck, ended=True))
    assert outcome is not None
    assert (outcome.advice.say, outcome.advice.string) == (Say.GROWN_UP, "A4")
