"""One step of the whole box, as a pure function: what reaches the lesson, corrected and in which order."""

from dataclasses import fields, replace

import pytest

from device.config.settings import Settings
from device.controls.debounce import PressState
from device.controls.menu import Rules, open_menu
from device.controls.menu_pages import PAGES
from device.events import Button, Heard, NextString, Plucked, StartOver, Tick
from device.runtime.box_state import Inputs, initial, step
from dsp import Cents, Hz, Seconds, cents
from tests.stand_ins import plain_engine

USUAL = Settings()


def heard(at: float, hz: float = 440.0, pluck: int = 1) -> Heard:
    return Heard(Seconds(at), pluck, Hz(hz), Cents(0.3), 0.0, 0.0, -20.0, Seconds(0.3))


def rules(settings: Settings) -> Rules:
    return Rules(settings, lambda _settings: ())


def stepped(inputs: Inputs, settings: Settings = USUAL, presses: PressState | None = None):
    """The state and the events after one step from the start."""
    state = initial(settings, plain_engine(), Seconds(0.0))
    state = state if presses is None else replace(state, presses=presses)
    return step(state, inputs, plain_engine(), rules(settings))


@pytest.mark.parametrize("ppm", [-300.0, 0.0, 100.0])
def test_a_reading_is_corrected_by_what_the_sound_cards_clock_is_off(ppm):
    """A card that takes so many millionths more samples than it says makes every pitch so much flatter."""
    _, events = stepped(Inputs(Seconds(1.0), (), [heard(1.0)]), Settings(clock_ppm=ppm))
    (reading,) = [event for event in events if isinstance(event, Heard)]
    assert reading.frequency_hz == pytest.approx(440.0 * (1.0 + ppm * 1e-6), rel=1e-12)
    # 100 ppm is 0.1731 cents: 1200 * log2(1.0001), by hand
    assert cents(reading.frequency_hz, Hz(440.0)) == pytest.approx(0.1731 * ppm / 100.0, abs=2e-4)


def pressed_for(*levels):
    """Looks at the buttons, 10 ms apart."""
    return [(Seconds(0.01 * k), down) for k, down in enumerate(levels)]


def test_what_was_asked_comes_before_what_was_heard_and_time_comes_last():
    looks = pressed_for(*[()] * 2, *[[Button.NEXT]] * 15, *[()] * 6)
    plucked = Plucked(Seconds(0.9), 1, -20.0)
    _, events = stepped(Inputs(Seconds(1.0), (), [plucked, heard(0.95)], looks))
    assert [type(event) for event in events] == [NextString, Plucked, Heard, Tick]


def test_two_presses_within_one_tick_are_two_in_their_order():
    down, up = [[Button.NEXT]] * 15, [()] * 10
    _, events = stepped(Inputs(Seconds(2.0), (), (), pressed_for(*up, *down, *up, *down, *up)))
    asked = [event.at for event in events if isinstance(event, NextString)]
    assert len(asked) == 2
    assert asked[1] - asked[0] == pytest.approx(0.25)


def test_a_press_counts_when_it_was_made_and_never_after_the_tick():
    looks = [(Seconds(at), down) for at, down in ((0.0, ()), (0.1, [Button.NEXT]), (0.2, [Button.NEXT]))]
    looks += [(Seconds(0.3), ()), (Seconds(9.0), ())]
    _, events = stepped(Inputs(Seconds(0.4), (), (), looks))
    assert [event.at for event in events if isinstance(event, NextString)] == [0.4]


def test_without_buttons_nothing_is_down():
    state, events = stepped(Inputs(Seconds(1.0), None, ()))
    assert state.presses == PressState()
    assert [type(event) for event in events] == [Tick]


STARTS_OVER = ("instrument", "size", "reference_hz", "temperament", "tolerance", "fine_tuners", "pegs",
               "left_handed", "string_set", "cores")  # fmt: skip
"""The pages after whose change nothing that was heard before may count: a tick of the old pitch would lie."""


def changed(page, settings: Settings):
    """What the lesson is told when the value of a page is changed with the buttons."""
    state = initial(settings, plain_engine(), Seconds(0.0))
    events, at = [], 0.0
    opened = replace(open_menu(settings, Seconds(0.0)), page=page.key, changing=True, teacher=True)
    state = replace(state, controls=replace(state.controls, menu=opened))
    for down in ([()] * 6, [[Button.NEXT]] * 15, [()] * 6):
        for level in down:
            at += 0.01
            state, new = step(state, Inputs(Seconds(at), level, ()), plain_engine(), rules(settings))
            events += new
    return state.settings, events


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.key)
def test_what_changes_the_lesson_starts_it_over_and_nothing_else_does(page):
    settings, events = changed(page, USUAL)
    assert getattr(settings, page.key) != getattr(USUAL, page.key)
    began = any(isinstance(event, StartOver) for event in events)
    assert began == (page.key in STARTS_OVER)


def test_every_key_named_there_is_a_setting():
    assert set(STARTS_OVER) <= {field.name for field in fields(Settings)}
