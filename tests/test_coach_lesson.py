"""A lesson from its first pluck to the end picture, and what ends it early."""

from dataclasses import replace

import pytest
from device.coach.table import TABLE, advance, start
from hypothesis import given, settings
from hypothesis import strategies as st

from device.config.settings import FineTuners, Order, Settings, Tolerance
from device.events import NextString, Plucked, PreviousString, StartOver, TeacherHere, Tick
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.diagram import diagram, table
from device.lesson.plan import order_of
from device.lesson.state import Mark, Phase
from dsp import Cents, Hz, Instrument, Seconds
from tests.coaching import SETTINGS, off, plucked_in_turn, read_as, sounded

CHILD = Settings()
PRESSES = [NextString, PreviousString, StartOver, TeacherHere, Tick]
RIGHT = [("E5", 0.0), ("A4", 0.0), ("D4", 0.0), ("G3", 0.0)]


def begin(chosen: Settings = CHILD):
    return start(chosen, Seconds(0.0))


def test_four_strings_in_tune_are_four_plucks_and_the_end():
    coach = plucked_in_turn(begin(), CHILD, *RIGHT)
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    assert (coach.phase, coach.advice.say) == (Phase.FINISHED, Say.ALL_RIGHT)
    assert [s.mark for s in coach.strings] == [Mark.RIGHT] * 4
    assert [s.first_cents for s in coach.strings] == pytest.approx([0.0] * 4, abs=1e-6)


def test_after_the_last_string_those_are_asked_for_again_that_a_turn_may_have_moved():
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0), ("A4", 0.0), ("D4", -20.0))
    assert coach.advice.turn is TuningPart.FINE_TUNER
    coach = plucked_in_turn(coach, CHILD, ("D4", -2.0), ("G3", 0.0))
    asked_again = []
    for string in ("E5", "A4", "G3"):  # the G was heard once, which may have been misread
        coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
        asked_again.append(coach.string)
        coach = plucked_in_turn(coach, CHILD, (string, 1.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    assert asked_again == ["E5", "A4", "G3"]
    assert coach.phase is Phase.FINISHED
    assert coach.strings[1].first_cents == pytest.approx(-20.0)


def test_a_checking_round_never_comes_a_fourth_time():
    """Each string is always found moved: three rounds, then it says what stays off."""
    coach, number, asked = begin(), 0, 0
    while coach.phase is not Phase.FINISHED and number < 200:
        number += 1
        flat = -12.0 if coach.phase is Phase.WAITING else -1.0
        asked += coach.phase is Phase.WAITING
        coach = plucked_in_turn(coach, CHILD, (coach.string, flat))
        if coach.phase is Phase.RIGHT:
            coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    assert coach.phase is Phase.FINISHED
    assert 8 < asked <= 16


def test_right_needs_the_pitch_to_stand_still_and_the_first_moment_does_not_count():
    coach = advance(begin(), Plucked(Seconds(1.0), 1, -20.0), CHILD)
    hz = off(CHILD, "E5", 0.0)
    early = advance(coach, read_as(hz, 1.0, 1, 0.1), CHILD)
    assert early.cents is None
    moving = coach
    for i in range(2, 11):
        moving = advance(moving, read_as(hz, 1.0, 1, i / 10, drift_cents_per_s=4.0), CHILD)
    assert moving.phase is Phase.LISTENING
    assert sounded(begin(), CHILD, hz, 1.0, 1).phase is Phase.RIGHT


@pytest.mark.parametrize(
    ("tolerance", "cents", "error", "right"),
    [
        (Tolerance.BEGINNER, 7.0, 0.2, True),
        (Tolerance.BEGINNER, 7.0, 0.3, False),  # 7 + 0.6 + 0.5 > 8
        (Tolerance.USUAL, 4.0, 0.2, True),
        (Tolerance.USUAL, 4.2, 0.2, False),
        (Tolerance.FINE, 1.0, 0.4, True),  # 1 + 0.8 < 2; ISO 16's +-0.5 Hz is 1.97 cents
        (Tolerance.FINE, 1.0, 0.6, False),
    ],
)
def test_right_is_inside_the_tolerance_with_all_that_is_unsure(tolerance, cents, error, right):
    chosen = Settings(tolerance=tolerance)
    coach = sounded(begin(chosen), chosen, off(chosen, "E5", cents), 1.0, 1, std_error_cents=Cents(error))
    assert (coach.phase is Phase.RIGHT) is right


def test_no_turn_while_flat_or_sharp_is_not_sure():
    coach = sounded(begin(), CHILD, off(CHILD, "E5", -9.0), 1.0, 1, std_error_cents=Cents(5.0))
    assert (coach.advice.say, coach.advice.turn) == (Say.PLUCK_AGAIN, TuningPart.NONE)


def test_a_sounding_that_began_before_the_string_was_asked_for_is_not_of_it():
    coach = plucked_in_turn(begin(), CHILD, ("E5", -20.0))
    coach = advance(coach, NextString(Seconds(4.2)), CHILD)
    late = advance(coach, read_as(off(CHILD, "A4", 0.0), 3.5, 1000, 0.9), CHILD)
    assert late == coach


def test_moving_on_waits_for_the_button_when_the_setting_says_so():
    by_hand = Settings(move_on=False)
    coach = plucked_in_turn(begin(by_hand), by_hand, ("E5", 0.0))
    later = advance(coach, Tick(Seconds(coach.since + 30.0)), by_hand)
    assert (later.phase, later.string) == (Phase.RIGHT, "E5")
    assert advance(later, NextString(Seconds(40.0)), by_hand).string == "A4"


def test_a_pluck_while_right_is_shown_is_of_the_next_string():
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0))
    assert coach.phase is Phase.RIGHT
    coach = sounded(coach, CHILD, off(CHILD, "A4", 1.0), coach.since + 0.9, 2)
    assert (coach.phase, coach.string) == (Phase.RIGHT, "A4")


def test_previous_goes_back_and_the_rest_is_still_asked_for():
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0))
    coach = advance(coach, NextString(Seconds(6.0)), CHILD)
    coach = advance(coach, PreviousString(Seconds(7.0)), CHILD)
    assert coach.string == "E5"
    assert advance(coach, NextString(Seconds(8.0)), CHILD).string == "A4"


def test_a_string_for_a_grown_up_is_left_and_stays_marked_at_the_end():
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0), ("A4", -80.0), ("A4", -80.0))
    assert coach.advice.say is Say.GROWN_UP
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    assert coach.string == "D4"
    coach = plucked_in_turn(coach, CHILD, ("D4", 0.0), ("G3", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    assert (coach.phase, coach.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)
    assert {s.name: s.mark for s in coach.strings}["A4"] is Mark.GROWN_UP


def test_the_teacher_lifts_the_bar_for_this_string_for_five_minutes():
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0), ("A4", -80.0), ("A4", -80.0))
    coach = advance(coach, TeacherHere(Seconds(20.0)), CHILD)
    assert (coach.phase, coach.string) == (Phase.WAITING, "A4")
    now = sounded(coach, CHILD, off(CHILD, "A4", -80.0), 30.0, 5)
    assert now.advice.turn is TuningPart.PEG
    kept = replace(coach, memory=replace(coach.memory, sounded_at=Seconds(300.0)))
    late = sounded(kept, CHILD, off(CHILD, "A4", -80.0), 321.0, 5)
    assert late.advice.turn is TuningPart.NONE
    other = advance(coach, NextString(Seconds(31.0)), CHILD)
    other = sounded(other, CHILD, off(CHILD, "D4", -80.0), 32.0, 6)
    assert other.advice.turn is TuningPart.NONE


def test_at_the_end_the_teacher_is_led_to_the_first_string_that_is_left():
    coach = plucked_in_turn(begin(), CHILD, ("E5", 0.0), ("A4", -80.0), ("A4", -80.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    coach = plucked_in_turn(coach, CHILD, ("D4", 0.0), ("G3", 0.0))
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    assert coach.phase is Phase.FINISHED
    coach = advance(coach, TeacherHere(Seconds(coach.since + 1.0)), CHILD)
    assert (coach.phase, coach.string) == (Phase.WAITING, "A4")


@pytest.mark.parametrize(("silence", "over"), [(59.0, False), (60.0, True)])
def test_a_minute_without_a_pluck_is_a_new_pupil(silence, over):
    coach = plucked_in_turn(begin(), CHILD, ("E5", -20.0))
    at = Seconds(coach.memory.sounded_at + silence)
    assert (advance(coach, Tick(at), CHILD) == start(CHILD, at)) is over


@pytest.mark.parametrize(("shown", "over"), [(19.0, False), (20.0, True)])
def test_twenty_seconds_after_the_end_is_a_new_pupil(shown, over):
    coach = plucked_in_turn(begin(), CHILD, *RIGHT)
    coach = advance(coach, Tick(Seconds(coach.since + 2.0)), CHILD)
    at = Seconds(coach.since + shown)
    assert (advance(coach, Tick(at), CHILD) == start(CHILD, at)) is over


def test_whichever_is_plucked_follows_two_like_plucks_at_our_level():
    chosen = Settings(order=Order.WHICHEVER_IS_PLUCKED)
    once = plucked_in_turn(begin(chosen), chosen, ("D4", 5.0))
    assert once.string == "E5"
    assert plucked_in_turn(once, chosen, ("D4", 6.0)).string == "D4"
    faint = sounded(once, chosen, off(chosen, "D4", 6.0), 9.0, 3, level_dbfs=-45.0)
    assert faint.string == "E5"
    far = plucked_in_turn(begin(chosen), chosen, ("D4", -130.0), ("D4", -130.0))
    assert far.string == "E5"


def test_an_open_advice_holds_its_string_for_ten_seconds():
    chosen = Settings(order=Order.WHICHEVER_IS_PLUCKED)
    coach = plucked_in_turn(begin(chosen), chosen, ("E5", -20.0))
    assert coach.advice.turn is TuningPart.FINE_TUNER
    for at in (4.5, 6.5):
        coach = sounded(coach, chosen, off(chosen, "A4", 0.0), at, int(10 * at))
    assert coach.string == "E5"


def test_turned_the_wrong_way_the_arrow_is_pointed_at():
    coach = plucked_in_turn(begin(), CHILD, ("E5", -20.0), ("E5", -32.0))
    assert (coach.advice.say, coach.advice.direction) == (Say.TURN_ON, Direction.TIGHTEN)


def test_a_wooden_peg_that_slipped_is_pushed_in_and_never_loosened():
    pegs = Settings(pegs_by_grown_up=False, fine_tuners=FineTuners.NONE)
    coach = plucked_in_turn(begin(pegs), pegs, ("E5", 0.0), ("A4", -30.0))
    assert coach.advice.turn is TuningPart.PEG
    coach = plucked_in_turn(coach, pegs, ("A4", -140.0), ("A4", -140.0))
    assert coach.advice.direction is Direction.TIGHTEN
    assert coach.advice.push_in


def test_a_fine_tuner_that_acted_and_then_does_not_is_at_its_end():
    chosen = Settings(pegs_by_grown_up=False)
    coach = plucked_in_turn(begin(chosen), chosen, ("E5", -40.0), ("E5", -25.0))
    said = []
    for _ in range(30):
        string = coach.advice.string if coach.advice.say is Say.PLUCK_OTHERS else "E5"
        coach = plucked_in_turn(coach, chosen, (string, -25.0 if string == "E5" else 0.0))
        said.append(coach.advice.say)
        if coach.advice.say is Say.BACK_OUT:
            break
    assert said[-1] is Say.BACK_OUT
    assert (coach.advice.turn, coach.advice.direction) == (TuningPart.FINE_TUNER, Direction.LOOSEN)
    after = plucked_in_turn(coach, chosen, ("E5", -70.0))
    assert (after.advice.turn, after.advice.direction) == (TuningPart.PEG, Direction.TIGHTEN)


def test_two_strings_an_octave_off_ask_which_instrument():
    cello_heard_as_viola = Settings(instrument=Instrument.VIOLA)
    coach = begin(cello_heard_as_viola)
    for string in ("A4", "D4"):
        for _ in range(2):
            coach = plucked_in_turn(coach, cello_heard_as_viola, (string, -1200.0))
        coach = advance(coach, NextString(Seconds(coach.memory.sounded_at + 1.5)), cello_heard_as_viola)
    assert coach.memory.lesson.octaves == ("A4", "D4")
    coach = plucked_in_turn(coach, cello_heard_as_viola, ("G3", -1200.0))
    assert coach.advice.warning is Alarm.ANOTHER_INSTRUMENT


def test_other_settings_begin_another_lesson():
    coach = plucked_in_turn(begin(), CHILD, ("E5", -20.0))
    cello = Settings(instrument=Instrument.CELLO)
    assert advance(coach, Tick(Seconds(5.0)), cello).string == "A3"


def test_orders_are_as_their_names_say():
    asked = {order: order_of(Settings(order=order)) for order in Order}
    assert asked[Order.HIGH_TO_LOW] == ("E5", "A4", "D4", "G3")
    assert asked[Order.A_FIRST] == ("A4", "D4", "G3", "E5")
    assert asked[Order.LOW_TO_HIGH] == ("G3", "D4", "A4", "E5")


@settings(max_examples=30, deadline=None)
@given(
    SETTINGS,
    st.lists(st.sampled_from([NextString, PreviousString, StartOver, TeacherHere, Tick]), max_size=20),
)
def test_buttons_alone_never_lead_out_of_the_strings(chosen, presses):
    coach = start(chosen, Seconds(0.0))
    for at, press in enumerate(presses):
        phase = coach.phase
        coach = advance(coach, press(Seconds(float(at))), chosen)
        assert coach.phase in TABLE[phase, press].leads_to
        assert coach.string in chosen.targets
        assert coach.advice.turn is TuningPart.NONE


def test_the_printed_diagram_has_every_phase_and_every_cell():
    drawn = diagram()
    assert drawn.startswith("stateDiagram-v2")
    assert all(phase.value in drawn for phase in Phase)
    assert len(table().splitlines()) == len(TABLE)


def test_a_target_of_nan_hz_is_nothing_heard():
    coach = advance(begin(), Plucked(Seconds(1.0), 1, -20.0), CHILD)
    assert advance(coach, read_as(Hz(float("nan")), 1.0, 1, 0.5), CHILD) == coach
