"""What the coach does not jump at: a lone odd pitch, a pluck too soon, a number that dances."""

from dataclasses import replace

import pytest
from device.coach.tuned import FINE_REACH
from device.coach.turning import reach

from device.config.settings import Settings, Size
from device.events import Heard, Plucked, TeacherHere, Tick
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.monitored import advance, start
from device.lesson.state import Mark, Phase
from dsp import Cents, Seconds, cents
from tests.coaching import off, plucked_in_turn, read_as, sounded

CHILD = Settings(size=Size.FULL)
ALLOWED = Settings(size=Size.FULL, pegs_by_grown_up=False)


def begin(chosen=CHILD):
    return start(chosen, Seconds(0.0))


def glided(coach, string, path):
    """The coach after each reading of one sounding whose pitch moves along `path`, in cents off."""
    shown = []
    coach = advance(coach, Plucked(Seconds(3.0), 7, -20.0), CHILD)
    for i, cents_off in enumerate(path):
        coach = advance(coach, read_as(off(CHILD, string, cents_off), 3.0, 7, 0.2 + 0.02 * i), CHILD)
        shown.append(coach)
    return shown


def amount_at(cents_off):
    return glided(begin(), "E5", [cents_off])[0].advice.amount


def test_an_arrow_does_not_jump_within_one_sounding():
    """Where one amount borders on the next the wish wanders; the one first shown stays."""
    border = next(c / 10 for c in range(-90, -300, -1) if amount_at(c / 10) is Amount.A_LITTLE)
    low, high = border - 0.3, border + 0.3
    assert (amount_at(low), amount_at(high)) == (Amount.A_LITTLE, Amount.A_HAIR)
    for first, other in ((low, high), (high, low)):
        shown = glided(begin(), "E5", [first, other, first, other])
        assert {s.advice.amount for s in shown} == {amount_at(first)}
        assert len({s.advice.degrees for s in shown}) == 1


def test_a_wish_that_changed_by_more_than_a_fifth_changes_the_arrow():
    shown = glided(begin(), "E5", [-10.0, -40.0])
    assert shown[0].advice.degrees < 0.5 * shown[1].advice.degrees


def test_a_number_rests_within_one_sounding():
    shown = glided(begin(), "E5", [-20.0, -20.6, -19.5, -20.5, -18.0])
    assert [round(s.cents, 3) for s in shown] == [-20.0, -20.0, -20.0, -20.0, -18.0]


def test_a_number_moves_when_its_error_has_halved():
    coach = advance(begin(), Plucked(Seconds(3.0), 7, -20.0), CHILD)
    for i, (c, error) in enumerate(((-20.0, 1.0), (-20.5, 0.9), (-20.5, 0.4))):
        reading = read_as(off(CHILD, "E5", c), 3.0, 7, 0.2 + 0.02 * i, std_error_cents=error)
        coach = advance(coach, reading, CHILD)
        assert coach.cents == pytest.approx(-20.5 if error < 0.5 else -20.0)


def test_a_pluck_too_soon_for_a_turn_shows_the_same_turn_again():
    flat = off(CHILD, "E5", -20.0)
    coach = sounded(begin(), CHILD, flat, 3.0, 1)
    soon, late = (sounded(coach, CHILD, flat, at, 2) for at in (4.2, 6.0))
    assert (soon.advice.say, soon.advice.direction) == (Say.TURN, Direction.TIGHTEN)
    assert late.advice.say is Say.PLUCK_OTHERS


def test_a_pitch_that_nothing_explains_has_to_be_plucked_again():
    """A slack D heard a fifth too high comes out near its place."""
    coach = plucked_in_turn(begin(ALLOWED), ALLOWED, ("E5", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), ALLOWED)
    coach = sounded(coach, ALLOWED, off(ALLOWED, "A4", -30.0), 20.0, 50)
    assert coach.advice.turn is TuningPart.FINE_TUNER
    coach = sounded(coach, ALLOWED, off(ALLOWED, "A4", 100.0), 23.0, 51)
    assert coach.advice.say is Say.PLUCK_AGAIN
    assert sounded(coach, ALLOWED, off(ALLOWED, "A4", 100.0), 26.0, 52).advice.say is not Say.PLUCK_AGAIN


@pytest.mark.parametrize("cents_off", [-70.0, 70.0])
def test_a_string_never_heard_is_not_turned_by_its_peg_after_one_pluck(cents_off):
    coach = plucked_in_turn(begin(ALLOWED), ALLOWED, ("E5", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), ALLOWED)
    coach = sounded(coach, ALLOWED, off(ALLOWED, "A4", cents_off), 20.0, 50)
    assert (coach.advice.say, coach.advice.turn) == (Say.PLUCK_AGAIN, TuningPart.NONE)
    assert sounded(coach, ALLOWED, off(ALLOWED, "A4", cents_off), 23.0, 51).advice.turn is TuningPart.PEG


def test_far_too_sharp_one_more_turn_might_break_a_steel_e():
    """A long turn of a peg is some 200 cents of a steel E: beyond 250 sharp the next one may be the last."""
    coach = sounded(begin(), CHILD, off(CHILD, "E5", 265.0), 3.0, 1)
    assert coach.advice.warning is Alarm.STOP


def test_a_low_string_far_too_sharp_first_asks_for_the_instrument():
    """The low strings carry less; there the question comes first, and STOP before the limit."""
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    coach = plucked_in_turn(coach, CHILD, ("A4", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    coach = plucked_in_turn(coach, CHILD, ("D4", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    asked = sounded(coach, CHILD, off(CHILD, "G3", 270.0), 40.0, 60)
    assert asked.advice.warning is Alarm.ANOTHER_INSTRUMENT
    stopped = sounded(coach, CHILD, off(CHILD, "G3", 440.0), 40.0, 60)
    assert stopped.advice.warning is Alarm.STOP
    again = sounded(stopped, CHILD, off(CHILD, "G3", 440.0), 43.0, 61)
    assert {s.name: s.mark for s in again.strings}["G3"] is Mark.GROWN_UP


def test_a_fine_tuner_reaches_further_on_a_stiff_core():
    """Two turns of 0.4 mm on 423 mm: steel stretched by 0.73 % gains a quarter of its tension, nylon little.

    Steel: stress 7850 (2 x 0.328 x 659.3)^2 = 1469 MPa over 200 GPa (handbook values).
    """
    gained = 0.8 / (328.0 * 1.29) / (7850.0 * (2.0 * 0.328 * 659.26) ** 2 / 200e9)
    assert 1.2 < 1.0 + gained < 1.3
    assert 2.0 ** (reach("E5", CHILD) / 600.0) == pytest.approx(1.0 + gained, rel=0.01)
    assert reach("A4", CHILD) == FINE_REACH


def test_a_string_that_came_right_frees_the_others_of_suspicion():
    """What moved was what was asked for: nobody needs to hear the others before the next turn."""
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    coach = plucked_in_turn(coach, CHILD, ("A4", -20.0))
    assert coach.memory.lesson.of("E5").unheard_screw > 0.0
    coach = plucked_in_turn(coach, CHILD, ("A4", 0.0))
    assert coach.phase is Phase.RIGHT
    assert coach.memory.lesson.of("E5").unheard_screw == 0.0
    assert coach.memory.lesson.of("A4").screw_slope is not None


@pytest.mark.parametrize("late", [False, True])
def test_the_teacher_comes_for_the_string_just_left_even_when_the_box_went_on(late):
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0), ("A4", -80.0), ("A4", -80.0))
    assert coach.advice.say is Say.GROWN_UP
    if late:
        coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
        assert coach.string == "D4"
    coach = advance(coach, TeacherHere(Seconds(coach.since + 3.0)), CHILD)
    assert (coach.phase, coach.string) == (Phase.WAITING, "A4")
    turned = sounded(coach, CHILD, off(CHILD, "A4", -80.0), coach.since + 3.0, 90)
    assert turned.advice.turn is TuningPart.PEG
    right = plucked_in_turn(coach, CHILD, ("A4", 0.0), ("A4", 0.0))
    assert right.phase is Phase.RIGHT
    assert advance(right, Tick(Seconds(right.since + 2.0)), CHILD).string == "D4"


def test_three_soundings_of_a_neighbour_and_the_string_alike_ask_for_both_again():
    """A slip of the finger in a roll call: the pair that sounds alike is asked for anew, not one alone."""
    chosen = replace(ALLOWED)
    coach = plucked_in_turn(begin(chosen), chosen, ("E5", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), chosen)
    coach = plucked_in_turn(coach, chosen, ("A4", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), chosen)
    asked, heard = [], 0
    while heard < 30 and coach.advice.say is not Say.GROWN_UP and coach.advice.turn is TuningPart.NONE:
        heard += 1
        calling = coach.advice.say is Say.PLUCK_ALL
        name = coach.advice.string or coach.string
        asked.append(name if calling else "")
        slips = calling and name == "G3" and asked.count("G3") <= 2
        hz = off(chosen, "D4", -640.0) if slips or name == "D4" else chosen.targets[name]
        at = (coach.memory.sounded_at or 0.0) + 3.0
        coach = sounded(coach, chosen, hz, at, 100 + heard)
    assert asked.count("G3") == 4
    assert coach.advice.turn is TuningPart.PEG
    assert abs(cents(off(chosen, "D4", -640.0), coach.memory.lesson.of("D4").hz)) < Cents(1.0)


def test_readings_of_no_number_leave_it_as_it_is():
    coach = sounded(begin(), CHILD, off(CHILD, "E5", -20.0), 3.0, 1)
    bad = Heard(Seconds(4.0), 1, float("nan"), Cents(0.3), 0.0, 0.0, -20.0, Seconds(1.0))
    assert advance(coach, bad, CHILD) == coach
