"""Holds the state of the whole box and steps it from one tick to the next; pure, no part is touched.

    levels of the buttons --> debouncing --> button actions (settings, tone) --+
    what was heard --> correction of the sample clock --> loudness gate -------+--> lesson --> scene

The four functions that the step calls are handed in as an `Engine`, so that a test can put
something simpler in their place.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from PIL import Image

from device.config.settings import Settings
from device.controls import button_actions
from device.controls.button_actions import ControlState
from device.controls.debounce import PressState, detect_presses
from device.controls.menu import Rules
from device.events import Button, Heard, LessonEvent, Plucked, Tick
from device.lesson import monitored as table
from device.lesson.state import Coach
from device.panel import screen
from device.panel.scene import Fault, Scene
from device.ports import Tracker
from device.runtime.faults import Faults
from device.runtime.loudness_gate import Gate, let_through
from dsp import Hz, PitchTracker, Seconds


@dataclass(frozen=True, slots=True)
class Engine:
    """The pure functions of the box: signal path, lesson and screen."""

    tracker: Callable[[int, Hz, Hz], Tracker]  # sample rate, lowest and highest pitch, in Hz
    start: Callable[[Settings, Seconds], Coach]
    advance: Callable[[Coach, LessonEvent, Settings], Coach]
    draw: Callable[[Scene, Seconds], Image.Image]


def box_engine() -> Engine:
    """The box's own signal path, coach and screen."""
    return Engine(PitchTracker, table.start, table.advance, screen.draw)


@dataclass(frozen=True, slots=True)
class BoxState:
    """The state of the whole, beside the parts."""

    controls: ControlState
    coach: Coach
    presses: PressState
    gate: Gate
    faults: Faults

    @property
    def settings(self) -> Settings:
        """What holds now."""
        return self.controls.settings

    def with_fault(self, fault: Fault, at: Seconds) -> "BoxState":
        """Something is wrong and is shown for a while; a tone without a loudspeaker ends."""
        controls = replace(self.controls, sound=None) if fault is Fault.NO_SPEAKER else self.controls
        return replace(self, controls=controls, faults=self.faults.with_fault(fault, at))

    def scene(self, rules: Rules, at: Seconds) -> Scene:
        """What deserves the panel."""
        fault, unfollowed = self.faults.shown(at), self.gate.says_so(at)
        return button_actions.build_scene(
            self.controls, self.coach, rules, at, fault=fault, unfollowed=unfollowed
        )


@dataclass(frozen=True, slots=True)
class Inputs:
    """What the parts gave in one tick: levels of the buttons and what was heard."""

    at: Seconds
    levels: Collection[Button] | None  # which buttons are down; None while there are no buttons
    heard: Iterable[Plucked | Heard] = ()
    earlier: Sequence[tuple[Seconds, Collection[Button]]] = ()  # levels since the tick before, oldest first


def initial(settings: Settings, engine: Engine, at: Seconds) -> BoxState:
    """The box as it is switched on."""
    return BoxState(ControlState(settings, at), engine.start(settings, at), PressState(), Gate(), Faults())


def step(
    state: BoxState, inputs: Inputs, engine: Engine, rules: Rules
) -> tuple[BoxState, tuple[LessonEvent, ...]]:
    """The state one tick later, and the events that the coach was given."""
    state = replace(state, controls=button_actions.after_time(state.controls, inputs.at))
    state, asked = _pressed(state, inputs, rules)
    corrected = (_corrected(event, state.settings) for event in inputs.heard)
    gate, ours = let_through(state.gate, (*asked, *corrected), state.settings.gate_db)
    state = replace(state, gate=gate, controls=button_actions.after_plucks(state.controls, ours))
    events = (*ours, Tick(inputs.at))
    coach, lesson = state.coach, button_actions.lesson_settings(state.controls)
    for event in events:
        coach = engine.advance(coach, event, lesson)
    return replace(state, coach=coach), events


def _pressed(state: BoxState, inputs: Inputs, rules: Rules) -> tuple[BoxState, tuple[LessonEvent, ...]]:
    """Every press in turn, each on what the one before left."""
    if inputs.levels is None:
        return replace(state, presses=PressState()), ()
    presses, controls, events = state.presses, state.controls, list[LessonEvent]()
    for looked_at, levels in (*inputs.earlier, (inputs.at, inputs.levels)):
        at = Seconds(min(looked_at, inputs.at))  # the last look may be a moment younger than the tick
        presses, said = detect_presses(presses, levels, at, controls.settings.press_times)
        for press in said:
            controls, meant = button_actions.act_on_press(controls, press, state.coach, rules)
            events += meant
    return replace(state, presses=presses, controls=controls), tuple(events)


def _corrected(event: Plucked | Heard, settings: Settings) -> Plucked | Heard:
    """A reading as it sounded, whatever the sound card's clock makes of it."""
    if isinstance(event, Plucked):
        return event
    return replace(event, frequency_hz=settings.corrected(event.frequency_hz))
