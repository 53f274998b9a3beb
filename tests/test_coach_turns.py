"""Which turn a reading deserves, with anything known of the other strings."""

from dataclasses import replace

import pytest
from device.coach.case import Case
from device.coach.limits import NEAR, limit_hz
from device.coach.memory import Known, Lesson
from device.coach.turns import turn_for
from hypothesis import given, settings
from hypothesis import strategies as st

from device.config.settings import FineTuners, Settings, Size
from device.instrument.rotation import has_fine_tuner
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Say
from device.lesson.monitored import start
from dsp import Cents, Seconds, shifted
from tests.coaching import SETTINGS, off, plucked_in_turn
from tests.test_coach_danger import share_after_twice

GROWN_UPS = Settings(pegs_by_grown_up=False, size=Size.FULL, fine_tuners=FineTuners.NONE)
STATES = st.tuples(st.none() | st.floats(-600.0, 400.0), st.floats(0.0, 12.0), st.floats(0.0, 400.0))


def case_of(chosen: Settings, string: str, cents_off: float, *known: Known, **changes) -> Case:
    names = {k.name for k in known}
    rest = tuple(Known(s.name) for s in chosen.strings if s.name not in names)
    case = Case(
        chosen,
        string,
        Lesson(known=(*known, *rest)),
        Seconds(1.0),
        off(chosen, string, cents_off),
        Cents(0.3),
        0.01,
        0.0,
        -20.0,
        still=True,
        gap_s=None,
    )
    return replace(case, **changes)


@settings(max_examples=150, deadline=None)
@given(SETTINGS, st.integers(0, 3), st.floats(-149.0, -9.0), st.tuples(*[STATES] * 5), st.booleans())
def test_no_tighten_that_done_twice_on_any_string_would_pass_its_limit(chosen, place, flat, states, heard):
    """The string in the hand is unknown: whatever the others' pitches and unheard turns are."""
    chosen = replace(chosen, pegs_by_grown_up=False)
    known = tuple(
        Known(s.name, None if c is None else off(chosen, s.name, c), unheard_peg=peg, unheard_screw=screw)
        for s, (c, peg, screw) in zip(chosen.strings, states, strict=False)
    )
    string = chosen.strings[place].name
    heard_now = replace(known[place], hz=off(chosen, string, flat), unheard_peg=0.0, unheard_screw=0.0)
    known = tuple(heard_now if k.name == string else k for k in known)
    others = tuple(chosen.targets) if heard else ()
    outcome = turn_for(case_of(chosen, string, flat, *known, others_heard=others))
    if outcome.advice.direction is not Direction.TIGHTEN:
        return
    for after in outcome.lesson.known:
        if outcome.advice.turn is TuningPart.PEG or has_fine_tuner(after.name, chosen):
            hz = after.hz or shifted(chosen.targets[after.name], Cents(200.0))
            assert share_after_twice(after, hz, chosen) < NEAR


def test_a_sharp_string_is_not_let_down_beside_a_slack_one():
    slack = Known("D4", off(GROWN_UPS, "D4", -300.0))
    right = Known("D4", off(GROWN_UPS, "D4", -10.0))
    assert turn_for(case_of(GROWN_UPS, "A4", 100.0, right)).advice.direction is Direction.LOOSEN
    assert turn_for(case_of(GROWN_UPS, "A4", 100.0, slack)).advice.say is Say.GROWN_UP


def test_a_string_is_let_down_by_three_hundred_cents_at_most():
    nearly = Known("A4", off(GROWN_UPS, "A4", 100.0), loosened=297.0)
    assert turn_for(case_of(GROWN_UPS, "A4", 100.0, nearly)).advice.say is Say.GROWN_UP


def test_a_lone_reading_far_below_asks_for_a_second_pluck_first():
    coach = plucked_in_turn(start(GROWN_UPS, Seconds(0.0)), GROWN_UPS, ("E5", -120.0))
    assert (coach.advice.say, coach.advice.turn) == (Say.PLUCK_AGAIN, TuningPart.NONE)
    coach = plucked_in_turn(coach, GROWN_UPS, ("E5", -121.0))
    assert (coach.advice.turn, coach.advice.direction) == (TuningPart.PEG, Direction.TIGHTEN)


def test_within_its_reach_the_fine_tuner_beyond_it_the_peg():
    both = replace(GROWN_UPS, fine_tuners=FineTuners.ALL)
    heard = Known("E5", off(both, "E5", 0.0))
    assert turn_for(case_of(both, "A4", -45.0, heard)).advice.turn is TuningPart.FINE_TUNER
    assert turn_for(case_of(both, "A4", -55.0, heard)).advice.turn is TuningPart.PEG
    only_e = replace(GROWN_UPS, fine_tuners=FineTuners.HIGHEST)
    assert turn_for(case_of(only_e, "A4", -20.0, heard)).advice.turn is TuningPart.PEG


def test_a_child_is_told_to_leave_a_string_that_needs_its_peg_once_it_is_sure():
    child = Settings()
    lone = turn_for(case_of(child, "A4", -70.0))
    assert lone.advice.say is Say.PLUCK_AGAIN
    lesson = replace(case_of(child, "A4", -70.0).lesson, like_hz=off(child, "A4", -69.0))
    assert turn_for(case_of(child, "A4", -70.0, lesson=lesson)).advice.say is Say.GROWN_UP


def test_a_string_that_moves_less_than_made_gets_a_longer_turn():
    """What the last turn did counts more than how such strings are usually made."""
    screws = replace(GROWN_UPS, fine_tuners=FineTuners.ALL)
    heard = Known("E5", off(screws, "E5", 0.0))
    fresh = turn_for(case_of(screws, "A4", -10.0, heard)).advice
    soft = Known("A4", off(screws, "A4", -10.0), screw_slope=4e-5)
    learned = turn_for(case_of(screws, "A4", -10.0, heard, soft)).advice
    assert learned.degrees > fresh.degrees


def test_the_string_asked_for_is_not_taken_past_its_own_limit():
    """A target just under the limit leaves no room for a step that might be turned twice."""
    near = replace(GROWN_UPS, reference_hz=440.0)
    flat = 1.0
    string = "E5"
    hz = shifted(limit_hz(string, near), Cents(-flat))
    known = Known(string, hz)
    case = replace(case_of(near, string, 0.0, known), hz=hz)
    assert turn_for(case).advice.direction is not Direction.TIGHTEN


@pytest.mark.parametrize("cents_off", [-60.0, -120.0, -149.0])
def test_a_steel_e_by_its_peg_is_never_more_than_a_hair(cents_off):
    like = replace(case_of(GROWN_UPS, "E5", cents_off).lesson, like_hz=off(GROWN_UPS, "E5", cents_off))
    advice = turn_for(case_of(GROWN_UPS, "E5", cents_off, lesson=like)).advice
    assert (advice.turn, advice.amount) == (TuningPart.PEG, Amount.A_HAIR)
