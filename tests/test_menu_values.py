"""What the pages of the menu offer, value by value, and what a press will do there, in words."""

import itertools
from dataclasses import replace

import pytest

from device.config.settings import Settings, Tone
from device.controls.button_actions import ControlState, act_on_press
from device.controls.menu import Rules, act_in_menu, is_left_alone, menu_view, open_menu
from device.controls.menu_pages import PAGES
from device.controls.reference_tone import reference_tone
from device.events import Button, ChordHeld, Held, Pressed
from device.lesson.monitored import start
from dsp import Instrument, Seconds

NEXT, PREVIOUS, THIRD = Button
USUAL = Settings()
RULES = Rules(USUAL, lambda _settings: ())

# As the README promises them, or as chosen once. Reference pitches in use are common practice; the
# numbers of the metronome's scale from 40 to 160 have their source in tests/test_count.py.
SCALE = (
    "40 42 44 46 48 50 52 54 56 58 60 63 66 69 72 76 80 84 88 92 96 100 104 108 112 116 120 126 132 138 144"
    " 152 160"
)
NUMBERS = {
    "reference_hz": [float(hz) for hz in range(380, 481)],
    "tone_dbfs": [-40.0, -38, -36, -34, -32, -30, -28, -26, -24, -22, -20, -18, -16, -14, -12],
    "brightness_percent": [10.0, 20, 30, 40, 50, 60, 70, 80, 90, 100],
    "rest_minutes": [1.0, 2, 3, 5, 10, 15, 20, 30, 45, 60],
    "hold_s": [0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.4, 2.6, 2.8, 3.0],
    "chord_s": [1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0],
    "tempo_bpm": [float(mark) for mark in SCALE.split()],
}
LEAPS = {
    "reference_hz": [392, 415, 430, 440, 442, 443, 466],
    "tempo_bpm": [40, 60, 80, 100, 120, 160],
}


def test_every_page_of_numbers_offers_these_and_no_others():
    assert {page.key: list(page.values) for page in PAGES if page.number} == NUMBERS


def test_a_held_button_stops_at_these():
    assert {page.key: list(page.leaps) for page in PAGES if page.leaps} == LEAPS


def test_a_question_is_answered_by_yes_or_no():
    questions = [page for page in PAGES if {type(value) for value in page.values} == {bool}]
    assert {page.key for page in questions} == {
        "pegs_by_grown_up",
        "by_ear",
        "locked",
        "left_handed",
        "move_on",
        "upside_down",
        "steps_move",
        "six_eight_by_eighths",
    }
    assert {page.values for page in questions} == {(True, False)}
    assert {page.words(True) for page in questions} == {"yes"}
    assert {page.words(False) for page in questions} == {"no"}


def hints(key, value, *, teacher=True):
    opened = replace(open_menu(USUAL, Seconds(0.0)), page=key, changing=True, teacher=teacher)
    return menu_view(opened, replace(USUAL, **{key: value}), RULES).hints


def test_while_a_value_is_changed_the_hints_say_where_a_press_leads():
    assert hints("rest_minutes", 10) == ("less", "done", "more")
    assert hints("rest_minutes", 1) == ("end", "done", "more")
    assert hints("rest_minutes", 60) == ("less", "done", "end")
    assert hints("instrument", Instrument.VIOLA) == ("other", "done", "other")


def test_the_teachers_pages_wait_as_long_as_any_other():
    opened, _ = act_in_menu(open_menu(USUAL, Seconds(0.0)), ChordHeld(Seconds(1.0)), USUAL, RULES)
    assert opened is not None
    assert not is_left_alone(opened, Seconds(20.9))
    assert is_left_alone(opened, Seconds(21.0))


def pressed(state, *presses):
    for at, (kind, button) in enumerate(presses, 1):
        state, _ = act_on_press(state, kind(Seconds(float(at)), button), start(USUAL, Seconds(0.0)), RULES)
    return state


OPEN, CHANGE, ON, LEAVE = (Held, THIRD), (Pressed, THIRD), (Pressed, NEXT), (Held, THIRD)


def test_the_menu_opens_where_a_value_was_changed_and_not_where_one_was_only_looked_at():
    home = ControlState(USUAL, Seconds(0.0))
    changed = pressed(home, OPEN, ON, CHANGE, ON, CHANGE, LEAVE)
    assert changed.menu is None
    assert changed.settings.reference_hz == 441.0
    assert pressed(changed, OPEN).menu.page == "reference_hz"
    looked = pressed(home, OPEN, ON, ON, LEAVE)
    assert looked.menu is None
    assert pressed(looked, OPEN).menu.page == "instrument"
    assert pressed(pressed(changed, OPEN, ON, LEAVE), OPEN).menu.page == "reference_hz"


def test_a_string_and_the_a_sound_for_four_seconds_and_a_fifth_for_eight():
    lengths = {tone: reference_tone(Settings(tone=tone), "D4", Seconds(0.0)).duration_s for tone in Tone}
    assert lengths == {Tone.OPEN_STRING: 4.0, Tone.REFERENCE_A: 4.0, Tone.FIFTH: 8.0}


FIFTHS = {
    Instrument.VIOLIN: {"G3": "G3 D4", "D4": "D4 A4", "A4": "D4 A4", "E5": "A4 E5"},
    Instrument.VIOLA: {"C3": "C3 G3", "G3": "G3 D4", "D4": "D4 A4", "A4": "D4 A4"},
    Instrument.CELLO: {"C2": "C2 G2", "G2": "G2 D3", "D3": "D3 A3", "A3": "D3 A3"},
    Instrument.DOUBLE_BASS: {"E1": "E1 A1", "A1": "E1 A1", "D2": "A1 D2", "G2": "D2 G2"},
}


@pytest.mark.parametrize(
    ("instrument", "string"), [*itertools.chain(*([(i, s) for s in rows] for i, rows in FIFTHS.items()))]
)
def test_each_string_sounds_with_its_neighbour_towards_the_a(instrument, string):
    chosen = Settings(instrument=instrument, tone=Tone.FIFTH)
    assert reference_tone(chosen, string, Seconds(0.0)).name == FIFTHS[instrument][string]
