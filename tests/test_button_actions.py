"""Button actions: what the three buttons mean at each moment, and that a child always finds home."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.config.settings import Settings, Tone
from device.controls.button_actions import (
    ControlState,
    act_on_press,
    after_plucks,
    after_time,
    build_scene,
    lesson_settings,
    resting,
)
from device.controls.menu import Rules
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
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.monitored import advance, start
from device.lesson.state import Mark, Phase
from device.panel.scene import Guess, Judged
from dsp import Cents, Hz, Instrument, Seconds

USUAL = Settings()
RULES = Rules(USUAL, lambda _settings: ())
NEXT, PREVIOUS, THIRD = Button
COACH = start(USUAL, Seconds(0.0))
TURN = Advice(
    Say.TURN, TuningPart.FINE_TUNER, "E5", Direction.TIGHTEN, Rotation.CLOCKWISE, amount=Amount.A_LITTLE
)
GUIDED = replace(COACH, phase=Phase.GUIDING, cents=Cents(-20.0), std_error_cents=Cents(0.2), advice=TURN)


def controls(**settings):
    return ControlState(Settings(**settings), Seconds(0.0))


def press(button, at=1.0):
    return Pressed(Seconds(at), button)


def hold(button, at=1.0):
    return Held(Seconds(at), button)


def after(state, *presses, coach=COACH):
    events = ()
    for one in presses:
        state, new = act_on_press(state, one, coach, RULES)
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
    state, events = after(controls(), one)
    assert events == (event,)
    assert state == replace(controls(), active_at=1.0)


def test_the_third_button_sounds_the_string_that_is_asked_for_and_stops_it():
    state, events = after(controls(), press(THIRD))
    assert events == ()
    assert (state.sound.name, state.sound.frequencies) == ("E5", (USUAL.targets["E5"],))
    assert after(state, press(THIRD, 2.0))[0].sound is None
    assert after(state, press(NEXT, 2.0))[0].sound is None
    assert after_time(state, Seconds(4.9)).sound is state.sound
    assert after_time(state, Seconds(5.1)).sound is None


def test_held_the_third_button_opens_the_settings_and_nothing_reaches_the_lesson():
    state, events = after(controls(), hold(THIRD), press(NEXT), press(PREVIOUS), press(THIRD), press(THIRD))
    assert events == ()
    assert state.menu is not None
    assert after(state, hold(THIRD))[0].menu is None


def test_settings_left_alone_close_by_themselves():
    state, _ = after(controls(), hold(THIRD))
    assert after_time(state, Seconds(20.9)).menu is not None
    assert after_time(state, Seconds(21.0)).menu is None


def test_held_previous_takes_the_next_instrument_in_one_gesture_and_shows_which():
    state, seen = controls(), []
    for i in range(4):
        state, events = after(after_time(state, Seconds(10.0 * i)), hold(PREVIOUS, 10.0 * i))
        assert events == (StartOver(Seconds(10.0 * i)),)
        assert build_scene(state, COACH, RULES, Seconds(10.0 * i)).menu.title == "Instrument"
        seen.append(state.settings.instrument)
    assert seen == [Instrument.VIOLA, Instrument.CELLO, Instrument.DOUBLE_BASS, Instrument.VIOLIN]
    assert after_time(state, Seconds(33.9)).menu is not None
    assert after_time(state, Seconds(34.0)).menu is None
    onward, _ = after(state, press(NEXT, 31.0))
    assert onward.settings.instrument is Instrument.VIOLA


def test_the_lock_keeps_small_hands_from_the_instrument_too():
    state, events = after(controls(locked=True), hold(PREVIOUS))
    assert events == ()
    assert state.settings == Settings(locked=True)
    assert build_scene(state, COACH, RULES, Seconds(1.0)).menu.title == "Locked"


def test_the_settings_open_at_the_page_used_last():
    state, _ = after(controls(), hold(THIRD), press(NEXT), press(THIRD), press(NEXT), hold(THIRD))
    assert state.settings.reference_hz == 441.0
    assert after(state, hold(THIRD))[0].menu.page == "reference_hz"


def test_another_instrument_starts_the_lesson_over_and_a_brightness_does_not():
    state, events = after(controls(), hold(THIRD), press(THIRD), press(NEXT))
    assert state.settings.instrument is Instrument.VIOLA
    assert events == (StartOver(Seconds(1.0)),)
    menu = replace(state.menu, page="brightness_percent")
    assert after(replace(state, menu=menu), press(NEXT))[1] == ()


def test_a_dark_panel_is_only_woken_by_a_press():
    dark = controls(rest_minutes=2)
    assert not resting(dark, Seconds(119.0))
    assert resting(dark, Seconds(120.0))
    assert build_scene(dark, COACH, RULES, Seconds(120.0)).resting
    state, events = after(dark, press(NEXT, 200.0))
    assert events == ()
    assert not resting(state, Seconds(200.0))


def test_a_pluck_wakes_the_panel_at_once():
    pluck = Plucked(Seconds(500.0), 1, -20.0)
    awake = after_plucks(controls(), [Tick(Seconds(500.0)), pluck])
    assert not resting(awake, Seconds(500.0))
    assert resting(after_plucks(controls(), [Tick(Seconds(500.0))]), Seconds(500.0))


def test_a_warning_lights_a_dark_panel():
    alarmed = replace(COACH, advice=Advice(warning=Alarm.STOP))
    scene = build_scene(controls(), alarmed, RULES, Seconds(9999.0))
    assert not scene.resting
    assert scene.coach.advice.warning is Alarm.STOP


def test_what_differs_from_the_file_is_named():
    scene = build_scene(
        controls(instrument=Instrument.CELLO, reference_hz=Hz(442.0)), COACH, RULES, Seconds(1.0)
    )
    assert scene.unusual == {"instrument", "reference_hz"}
    assert build_scene(controls(), COACH, RULES, Seconds(1.0)).unusual == frozenset()


GUESSES = {PREVIOUS: Guess.FLAT, THIRD: Guess.RIGHT, NEXT: Guess.SHARP}


@pytest.mark.parametrize("button", GUESSES)
def test_by_ear_first_the_reading_is_hidden_until_the_player_has_said_flat_right_or_sharp(button):
    state = controls(by_ear=True)
    scene = build_scene(state, GUIDED, RULES, Seconds(1.0))
    assert scene.by_ear
    assert (scene.coach.cents, scene.coach.advice.turn) == (None, TuningPart.NONE)
    state, events = after(state, press(button), coach=GUIDED)
    assert events == ()
    scene = build_scene(state, GUIDED, RULES, Seconds(1.0))
    assert scene.coach == GUIDED
    assert not scene.by_ear
    truth = Guess.FLAT if GUIDED.advice.direction is Direction.TIGHTEN else Guess.SHARP
    assert scene.judged == Judged(GUESSES[button], GUESSES[button] is truth)
    assert build_scene(after_time(state, Seconds(2.9)), GUIDED, RULES, Seconds(2.9)).judged is not None
    assert build_scene(after_time(state, Seconds(3.0)), GUIDED, RULES, Seconds(3.0)).judged is None
    assert after(state, press(NEXT), coach=GUIDED)[1] == (NextString(Seconds(1.0)),)


def test_by_ear_first_a_guess_is_not_judged_by_a_reading_that_is_not_sure():
    unsure = replace(GUIDED, advice=Advice(Say.PLUCK_AGAIN))
    state, _ = after(controls(by_ear=True), press(PREVIOUS), coach=unsure)
    assert state.revealed
    assert state.judged is None


def test_by_ear_first_before_a_pluck_next_is_the_next_string():
    assert after(controls(by_ear=True), press(NEXT))[1] == (NextString(Seconds(1.0)),)


def test_by_ear_first_the_next_pluck_hides_the_reading_again():
    state, _ = after(controls(by_ear=True), press(NEXT), coach=GUIDED)
    state = after_plucks(state, [Plucked(Seconds(2.0), 2, -20.0)])
    assert build_scene(state, GUIDED, RULES, Seconds(2.0)).by_ear


def test_by_ear_first_a_string_that_is_right_does_not_give_itself_away():
    marked = tuple(replace(s, mark=Mark.RIGHT, last_cents=Cents(1.0)) for s in COACH.strings)
    right = replace(COACH, phase=Phase.RIGHT, cents=Cents(1.0), advice=Advice(Say.RIGHT), strings=marked)
    scene = build_scene(controls(by_ear=True), right, RULES, Seconds(1.0))
    assert scene.coach.phase is Phase.LISTENING
    assert [s.mark for s in scene.coach.strings if s.name == "E5"] == [Mark.TO_DO]
    assert [s.mark for s in scene.coach.strings if s.name != "E5"] == [Mark.RIGHT] * 3
    assert lesson_settings(controls(by_ear=True)).move_on is False
    assert lesson_settings(controls()).move_on is True


@pytest.mark.parametrize("alarm", Alarm)
def test_by_ear_first_warnings_are_never_hidden(alarm):
    alarmed = replace(GUIDED, advice=replace(TURN, warning=alarm))
    assert build_scene(controls(by_ear=True), alarmed, RULES, Seconds(1.0)).coach == alarmed


SAFETY = [
    *(Say.OTHER_STRING, Say.LOOSEN_BACK, Say.PUSH_IN, Say.BACK_OUT, Say.WAIT, Say.GROWN_UP),
    *(Say.ASK_TEACHER, Say.PLUCK_OTHERS, Say.PLUCK_ALL),
]


@pytest.mark.parametrize("say", SAFETY)
def test_by_ear_first_what_keeps_a_string_from_harm_is_shown(say):
    told = replace(GUIDED, advice=replace(TURN, say=say))
    assert build_scene(controls(by_ear=True), told, RULES, Seconds(1.0)).coach.advice == told.advice


def test_the_tone_follows_its_setting():
    assert after(controls(tone=Tone.REFERENCE_A, reference_hz=Hz(442.0)), press(THIRD))[
        0
    ].sound.frequencies == (442.0,)
    assert after(controls(tone=Tone.FIFTH), press(THIRD))[0].sound.name == "A4 E5"


some_press = st.one_of(
    st.builds(Pressed, st.just(Seconds(0.0)), st.sampled_from(Button)),
    st.builds(Held, st.just(Seconds(0.0)), st.sampled_from(Button)),
    st.builds(ChordHeld, st.just(Seconds(0.0))),
)


@given(st.lists(st.tuples(some_press, st.sampled_from([0.3, 2.0, 15.0, 400.0])), max_size=40))
def test_a_child_cannot_get_lost(presses):
    """Whatever was pressed: wait, or hold the third button once or twice, and home is there."""
    state, coach, at = controls(), COACH, 0.0
    for one, pause in presses:
        at += pause
        state, events = act_on_press(
            after_time(state, Seconds(at)), replace(one, at=Seconds(at)), coach, RULES
        )
        for event in events:
            coach = advance(coach, event, lesson_settings(state))
        assert build_scene(state, coach, RULES, Seconds(at)).coach.string in state.settings.targets
    assert after_time(state, Seconds(at + 20.01)).menu is None
    if state.menu is not None:
        assert act_on_press(state, hold(THIRD, at), coach, RULES)[0].menu is None
