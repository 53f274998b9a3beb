"""Hands: what the three buttons mean at each moment, and that a child always finds home."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.coach.state import Advice, Amount, Direction, Mark, Phase, Rotation, Say, Turn
from device.coach.state import Warning as Alarm
from device.coach.table import advance, start
from device.events import (
    Button,
    ChordHeld,
    Held,
    NextString,
    Plucked,
    Pressed,
    PreviousString,
    StartOver,
    TeacherHere,
    Tick,
)
from device.hands import Hands, for_the_coach, noticed, passed, pressed, resting, shown
from device.menu import LEAVES_AFTER_S, NOTICE_S, Rules
from device.settings import Order, Settings, Tone
from dsp import Cents, Hz, Instrument, Seconds

USUAL = Settings()
RULES = Rules(USUAL, lambda _settings: ())
NEXT, PREVIOUS, THIRD = Button
COACH = start(USUAL, Seconds(0.0))
TURN = Advice(Say.TURN, Turn.FINE_TUNER, "E5", Direction.TIGHTEN, Rotation.CLOCKWISE, amount=Amount.A_LITTLE)
GUIDED = replace(COACH, phase=Phase.GUIDING, cents=Cents(-20.0), std_error_cents=Cents(0.2), advice=TURN)


def hands(**settings):
    return Hands(Settings(**settings), Seconds(0.0))


def press(button, at=1.0):
    return Pressed(Seconds(at), button)


def hold(button, at=1.0):
    return Held(Seconds(at), button)


def after(state, *presses, coach=COACH):
    events = ()
    for one in presses:
        state, new = pressed(state, one, coach, RULES)
        events += new
    return state, events


@pytest.mark.parametrize(
    ("one", "event"),
    [
        (press(NEXT), NextString(Seconds(1.0))),
        (press(PREVIOUS), PreviousString(Seconds(1.0))),
        (hold(NEXT), StartOver(Seconds(1.0))),
        (ChordHeld(Seconds(1.0)), TeacherHere(Seconds(1.0))),
    ],
)
def test_at_home_a_press_is_for_the_lesson(one, event):
    state, events = after(hands(), one)
    assert events == (event,)
    assert state == replace(hands(), active_at=1.0)


def test_the_third_button_sounds_the_string_that_is_asked_for_and_stops_it():
    state, events = after(hands(), press(THIRD))
    assert events == ()
    assert (state.sound.name, state.sound.frequencies) == ("E5", (USUAL.targets["E5"],))
    assert after(state, press(THIRD, 2.0))[0].sound is None
    assert after(state, press(NEXT, 2.0))[0].sound is None
    assert passed(state, Seconds(4.9)).sound is state.sound
    assert passed(state, Seconds(5.1)).sound is None


def test_held_the_third_button_opens_the_settings_and_nothing_reaches_the_lesson():
    state, events = after(hands(), hold(THIRD), press(NEXT), press(PREVIOUS), press(THIRD), press(THIRD))
    assert events == ()
    assert state.menu is not None
    assert after(state, hold(THIRD))[0].menu is None


def test_settings_left_alone_close_by_themselves():
    state, _ = after(hands(), hold(THIRD))
    assert passed(state, Seconds(1.0 + LEAVES_AFTER_S - 0.1)).menu is not None
    assert passed(state, Seconds(1.0 + LEAVES_AFTER_S)).menu is None


def test_held_previous_goes_through_the_three_orders_and_shows_which():
    state, orders = hands(), []
    for i in range(4):
        state, events = after(passed(state, Seconds(10.0 * i)), hold(PREVIOUS, 10.0 * i))
        assert events == ()
        assert shown(state, COACH, RULES, Seconds(10.0 * i)).menu.title == "Order"
        orders.append(state.settings.order)
    assert orders == [Order.A_FIRST, Order.LOW_TO_HIGH, Order.HIGH_TO_LOW, Order.A_FIRST]
    assert passed(state, Seconds(30.0 + NOTICE_S)).menu is None


def test_the_lock_keeps_small_hands_from_the_order_too():
    state, _ = after(hands(locked=True), hold(PREVIOUS))
    assert state.settings == Settings(locked=True)
    assert shown(state, COACH, RULES, Seconds(1.0)).menu.title == "Locked"


def test_another_instrument_starts_the_lesson_over_and_a_brightness_does_not():
    state, events = after(hands(), hold(THIRD), press(THIRD), press(NEXT))
    assert state.settings.instrument is Instrument.VIOLA
    assert events == (StartOver(Seconds(1.0)),)
    menu = replace(state.menu, page="brightness_percent")
    assert after(replace(state, menu=menu), press(NEXT))[1] == ()


def test_a_dark_panel_is_only_woken_by_a_press():
    dark = hands(rest_minutes=2)
    assert not resting(dark, Seconds(119.0))
    assert resting(dark, Seconds(120.0))
    assert shown(dark, COACH, RULES, Seconds(120.0)).resting
    state, events = after(dark, press(NEXT, 200.0))
    assert events == ()
    assert not resting(state, Seconds(200.0))


def test_a_pluck_wakes_the_panel_at_once():
    pluck = Plucked(Seconds(500.0), 1, -20.0)
    awake = noticed(hands(), [Tick(Seconds(500.0)), pluck])
    assert not resting(awake, Seconds(500.0))
    assert resting(noticed(hands(), [Tick(Seconds(500.0))]), Seconds(500.0))


def test_a_warning_lights_a_dark_panel():
    alarmed = replace(COACH, advice=Advice(warning=Alarm.STOP))
    scene = shown(hands(), alarmed, RULES, Seconds(9999.0))
    assert not scene.resting
    assert scene.coach.advice.warning is Alarm.STOP


def test_what_differs_from_the_file_is_named():
    scene = shown(hands(instrument=Instrument.CELLO, reference_hz=Hz(442.0)), COACH, RULES, Seconds(1.0))
    assert scene.unusual == {"instrument", "reference_hz"}
    assert shown(hands(), COACH, RULES, Seconds(1.0)).unusual == frozenset()


def test_by_ear_first_the_reading_is_hidden_until_next_is_pressed():
    state = hands(by_ear=True)
    scene = shown(state, GUIDED, RULES, Seconds(1.0))
    assert scene.by_ear
    assert (scene.coach.cents, scene.coach.advice.turn) == (None, Turn.NONE)
    state, events = after(state, press(NEXT), coach=GUIDED)
    assert events == ()
    assert shown(state, GUIDED, RULES, Seconds(1.0)).coach == GUIDED
    assert not shown(state, GUIDED, RULES, Seconds(1.0)).by_ear
    assert after(state, press(NEXT), coach=GUIDED)[1] == (NextString(Seconds(1.0)),)


def test_by_ear_first_before_a_pluck_next_is_the_next_string():
    assert after(hands(by_ear=True), press(NEXT))[1] == (NextString(Seconds(1.0)),)


def test_by_ear_first_the_next_pluck_hides_the_reading_again():
    state, _ = after(hands(by_ear=True), press(NEXT), coach=GUIDED)
    state = noticed(state, [Plucked(Seconds(2.0), 2, -20.0)])
    assert shown(state, GUIDED, RULES, Seconds(2.0)).by_ear


def test_by_ear_first_a_string_that_is_right_does_not_give_itself_away():
    marked = tuple(replace(s, mark=Mark.RIGHT, last_cents=Cents(1.0)) for s in COACH.strings)
    right = replace(COACH, phase=Phase.RIGHT, cents=Cents(1.0), advice=Advice(Say.RIGHT), strings=marked)
    scene = shown(hands(by_ear=True), right, RULES, Seconds(1.0))
    assert scene.coach.phase is Phase.LISTENING
    assert [s.mark for s in scene.coach.strings if s.name == "E5"] == [Mark.TO_DO]
    assert [s.mark for s in scene.coach.strings if s.name != "E5"] == [Mark.RIGHT] * 3
    assert for_the_coach(hands(by_ear=True)).move_on is False
    assert for_the_coach(hands()).move_on is True


@pytest.mark.parametrize("alarm", Alarm)
def test_by_ear_first_warnings_are_never_hidden(alarm):
    alarmed = replace(GUIDED, advice=replace(TURN, warning=alarm))
    assert shown(hands(by_ear=True), alarmed, RULES, Seconds(1.0)).coach == alarmed


SAFETY = [
    *(Say.OTHER_STRING, Say.LOOSEN_BACK, Say.PUSH_IN, Say.BACK_OUT, Say.WAIT, Say.GROWN_UP),
    *(Say.ASK_TEACHER, Say.PLUCK_OTHERS, Say.PLUCK_ALL),
]


@pytest.mark.parametrize("say", SAFETY)
def test_by_ear_first_what_keeps_a_string_from_harm_is_shown(say):
    told = replace(GUIDED, advice=replace(TURN, say=say))
    assert shown(hands(by_ear=True), told, RULES, Seconds(1.0)).coach.advice == told.advice


def test_the_tone_follows_its_setting():
    assert after(hands(tone=Tone.REFERENCE_A, reference_hz=Hz(442.0)), press(THIRD))[0].sound.frequencies == (
        442.0,
    )
    assert after(hands(tone=Tone.FIFTH), press(THIRD))[0].sound.name == "A4 E5"


some_press = st.one_of(
    st.builds(Pressed, st.just(Seconds(0.0)), st.sampled_from(Button)),
    st.builds(Held, st.just(Seconds(0.0)), st.sampled_from(Button)),
    st.builds(ChordHeld, st.just(Seconds(0.0))),
)


@given(st.lists(st.tuples(some_press, st.sampled_from([0.3, 2.0, 15.0, 400.0])), max_size=40))
def test_a_child_cannot_get_lost(presses):
    """Whatever was pressed: wait, or hold the third button once or twice, and home is there."""
    state, coach, at = hands(), COACH, 0.0
    for one, pause in presses:
        at += pause
        state, events = pressed(passed(state, Seconds(at)), replace(one, at=Seconds(at)), coach, RULES)
        for event in events:
            coach = advance(coach, event, for_the_coach(state))
        assert shown(state, coach, RULES, Seconds(at)).coach.string in state.settings.targets
    assert passed(state, Seconds(at + LEAVES_AFTER_S + 0.01)).menu is None
    if state.menu is not None:
        assert pressed(state, hold(THIRD, at), coach, RULES)[0].menu is None
