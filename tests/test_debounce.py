"""Presses: what the contacts of three cheap buttons mean, whatever they do."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.config.settings import PressTimes
from device.controls.debounce import PressState, detect_presses
from device.events import Button, ChordHeld, Held, Pressed
from dsp import Seconds

NEXT, PREVIOUS, TONE = Button
TIMES = PressTimes()
TICK = 0.01


def played(*stretches, times=TIMES, start=PressState()):  # noqa: B008 - frozen
    """Levels held for stretches of (buttons, seconds), looked at every 10 ms: what was pressed, and when."""
    state, found, tick = start, [], 0
    for buttons, seconds in stretches:
        for _ in range(round(seconds / TICK)):
            state, new = detect_presses(state, buttons, Seconds(tick * TICK), times)
            found += new
            tick += 1
    return found, state


UP = ((), 0.2)


def kinds(found):
    return [(type(press), getattr(press, "button", None)) for press in found]


@pytest.mark.parametrize("button", Button)
def test_a_short_press_is_said_once_when_the_button_comes_up(button):
    found, _ = played(UP, ((button,), 0.2), UP)
    assert kinds(found) == [(Pressed, button)]
    assert found[0].at == pytest.approx(0.4 + TIMES.debounce_s, abs=0.011)


@pytest.mark.parametrize("button", Button)
def test_a_held_button_is_said_once_while_it_is_down_and_not_again_when_it_comes_up(button):
    found, _ = played(UP, ((button,), 3.0), UP)
    assert kinds(found) == [(Held, button)]
    assert found[0].at == pytest.approx(0.2 + TIMES.debounce_s + TIMES.hold_s, abs=0.011)


def test_bouncing_contacts_make_one_press():
    bounce = [((NEXT,), 0.01), ((), 0.01)] * 3
    found, _ = played(UP, *bounce, ((NEXT,), 0.2), *bounce, UP)
    assert kinds(found) == [(Pressed, NEXT)]


def test_a_spike_on_the_wire_is_no_press():
    found, _ = played(UP, ((NEXT,), 0.02), UP)
    assert found == []


def test_a_button_held_at_boot_says_nothing_until_it_is_pressed_again():
    found, state = played(((TONE,), 2.0))
    assert found == []
    assert state.left_out == {TONE}
    found, state = played(((TONE,), 2.0), UP, ((TONE,), 0.2), UP)
    assert kinds(found) == [(Pressed, TONE)]
    assert state.left_out == frozenset()


def test_a_stuck_button_is_left_out_and_the_others_go_on():
    found, state = played(UP, ((NEXT,), 11.0), ((NEXT, TONE), 0.2), ((NEXT,), 0.2), UP)
    assert kinds(found) == [(Held, NEXT), (Pressed, TONE)]
    assert state.left_out == frozenset()


@pytest.mark.parametrize(("held_s", "left_out"), [(9.9, set()), (10.1, {NEXT})])
def test_a_button_counts_as_stuck_after_ten_seconds(held_s, left_out):
    assert played(UP, ((NEXT,), held_s + 0.03))[1].left_out == left_out


@pytest.mark.parametrize(("held_s", "press"), [(0.78, Pressed), (0.82, Held)])
def test_a_button_counts_as_held_after_eight_tenths_of_a_second(held_s, press):
    assert kinds(played(UP, ((NEXT,), held_s), UP)[0]) == [(press, NEXT)]


@pytest.mark.parametrize(("held_s", "presses"), [(2.98, []), (3.05, [(ChordHeld, None)])])
def test_two_buttons_are_the_teachers_after_three_seconds(held_s, presses):
    assert kinds(played(UP, ((NEXT, PREVIOUS), held_s), UP)[0]) == presses


@pytest.mark.parametrize(("held_s", "presses"), [(0.03, []), (0.05, [(Pressed, NEXT)])])
def test_what_lasts_no_longer_than_thirty_milliseconds_is_no_press(held_s, presses):
    """Small push buttons bounce for 10 to 50 ms (common practice)."""
    assert kinds(played(UP, ((NEXT,), held_s), UP)[0]) == presses


def test_a_contact_that_never_stops_chattering_leaves_the_others_alone():
    chatter = [((NEXT,), 0.01), ((), 0.01)]
    pressing = [((NEXT, TONE), 0.01), ((TONE,), 0.01)] * 10
    found, _ = played(*chatter * 10, *pressing, *chatter * 10)
    assert kinds(found) == [(Pressed, TONE)]


def test_next_and_previous_held_three_seconds_is_the_teachers_chord():
    found, _ = played(UP, ((NEXT,), 0.1), ((NEXT, PREVIOUS), 3.2), ((PREVIOUS,), 1.5), UP)
    assert [type(press) for press in found] == [ChordHeld]
    assert found[0].at == pytest.approx(0.3 + TIMES.debounce_s + TIMES.chord_s, abs=0.011)


def test_a_chord_let_go_too_early_says_nothing():
    found, _ = played(UP, ((NEXT, PREVIOUS), 2.5), ((NEXT,), 1.5), UP)
    assert found == []


def test_what_was_already_said_is_no_part_of_a_chord():
    found, _ = played(UP, ((NEXT,), 1.5), ((NEXT, PREVIOUS), 4.0), UP)
    assert kinds(found) == [(Held, NEXT)]
    found, _ = played(UP, (tuple(Button), 0.5), ((NEXT, PREVIOUS), 4.0), UP)
    assert found == []


@pytest.mark.parametrize("pair", [(NEXT, TONE), (PREVIOUS, TONE), (NEXT, PREVIOUS, TONE)])
def test_other_buttons_at_once_say_nothing_until_all_are_up(pair):
    found, _ = played(UP, (pair[:1], 0.1), (pair, 4.0), (pair[1:], 1.0), UP, ((TONE,), 0.1), UP)
    assert kinds(found) == [(Pressed, TONE)]


def test_small_fingers_may_have_other_times():
    slow = PressTimes(hold_s=Seconds(2.0))
    found, _ = played(UP, ((NEXT,), 1.5), UP, times=slow)
    assert kinds(found) == [(Pressed, NEXT)]


levels = st.lists(st.tuples(st.sets(st.sampled_from(list(Button))), st.sampled_from([0.01, 0.05, 1.0, 4.0])))


@given(levels)
def test_whatever_the_contacts_do_all_up_for_a_moment_is_a_fresh_start(stretches):
    _, state = played(*stretches, UP)
    assert state.down == frozenset()
    assert state.left_out == frozenset()
    assert not state.spent
