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
from device.controls.reference_tone import ReferenceTone
from device.events import Button, Heard, LessonEvent, NoteHeld, Plucked, Press, StartOver, Struck, Tick
from device.lesson import monitored as table
from device.lesson.advice import Say
from device.lesson.state import Coach, Phase
from device.panel import screen
from device.panel.scene import Fault, Scene
from device.ports import Tracker
from device.practice.running import PRACTICE_LEFT_AFTER_S, Running, after_press, begin_practice, takes
from device.practice.table import practice_named
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
    practice: Running | None = None  # what is practised; None is tuning

    @property
    def settings(self) -> Settings:
        """What holds now."""
        return self.controls.settings

    @property
    def sound(self) -> ReferenceTone | None:
        """What the loudspeaker should sound now."""
        if self.practice is None or self.controls.menu is not None:
            return self.controls.sound
        tone = self.practice.sound(self.settings)
        if tone is None:
            return None
        level, hz = self.settings.tone_dbfs, () if tone.frequency_hz is None else (tone.frequency_hz,)
        return ReferenceTone("", hz, level, tone.begins, tone.duration_s, tone.clicks)

    @property
    def attacks_from(self) -> Hz | None:
        """The lowest string where every attack is to be told, and not only what has a pitch; else None."""
        if self.practice is None or not self.practice.practice.by_attacks:
            return None
        return min(self.settings.targets.values())

    @property
    def held_between(self) -> tuple[Hz, Hz] | None:
        """Between which pitches every note that stands is to be told; else None."""
        if self.practice is None or not self.practice.practice.by_held_notes:
            return None
        return self.settings.tracking_range

    def with_fault(self, fault: Fault, at: Seconds) -> "BoxState":
        """Something is wrong and is shown for a while; a tone without a loudspeaker ends."""
        controls = replace(self.controls, sound=None) if fault is Fault.NO_SPEAKER else self.controls
        return replace(self, controls=controls, faults=self.faults.with_fault(fault, at))

    def scene(self, rules: Rules, at: Seconds) -> Scene:
        """What deserves the panel."""
        fault, unfollowed = self.faults.shown(at), self.gate.says_so(at)
        return button_actions.build_scene(
            self.controls, self.coach, rules, at, fault=fault, unfollowed=unfollowed, practice=self.practice
        )


@dataclass(frozen=True, slots=True)
class Inputs:
    """What the parts gave in one tick: levels of the buttons and what was heard."""

    at: Seconds
    levels: Collection[Button] | None  # which buttons are down; None while there are no buttons
    heard: Iterable[Plucked | Heard | Struck | NoteHeld] = ()
    earlier: Sequence[tuple[Seconds, Collection[Button]]] = ()  # levels since the tick before, oldest first


def initial(settings: Settings, engine: Engine, at: Seconds) -> BoxState:
    """The box as it is switched on."""
    return BoxState(ControlState(settings, at), engine.start(settings, at), PressState(), Gate(), Faults())


def step(
    state: BoxState, inputs: Inputs, engine: Engine, rules: Rules
) -> tuple[BoxState, tuple[LessonEvent, ...]]:
    """The state one tick later, and the events that the coach was given."""
    controls = button_actions.after_time(state.controls, inputs.at)
    if controls is not state.controls:  # a record is replaced only where it changes: most ticks change none
        state = replace(state, controls=controls)
    state, asked = _pressed(state, inputs, rules)
    corrected = (_corrected(e, state.settings) for e in inputs.heard if not isinstance(e, Struck | NoteHeld))
    gate, ours = let_through(state.gate, (*asked, *corrected), state.settings.gate_db)
    if ours or gate is not state.gate:
        state = replace(state, gate=gate, controls=button_actions.after_plucks(state.controls, ours))
    events = (*ours, Tick(inputs.at))
    if state.practice is not None:
        beside = tuple(_beside(e, state.settings) for e in inputs.heard if isinstance(e, Struck | NoteHeld))
        practice = state.practice
        if any(isinstance(event, NoteHeld) for event in beside):
            state = replace(state, controls=replace(state.controls, active_at=inputs.at))
        state = _practised(state, practice, (*beside, *events), inputs.at)
    coach, lesson = state.coach, button_actions.lesson_settings(state.controls)
    for event in events:
        if state.practice is None or not isinstance(event, Plucked | Heard):
            coach = engine.advance(coach, event, lesson)
    return (state if coach is state.coach else replace(state, coach=coach)), events


def _practised(
    state: BoxState, practice: Running, events: Iterable[LessonEvent | Struck | NoteHeld], at: Seconds
) -> BoxState:
    """What is practised, after what was heard; it ends when nobody plays or presses, and stands still
    behind the settings."""
    if state.controls.menu is not None:
        return state
    if at - state.controls.active_at >= PRACTICE_LEFT_AFTER_S:
        return replace(state, practice=None)
    for event in events:
        if isinstance(event, Plucked | Heard | Struck | NoteHeld | Tick):
            practice = practice.after(event, state.settings)
    return _with_reached(state, practice)


def _with_reached(state: BoxState, practice: Running) -> BoxState:
    """The same with what the practice reached in the settings."""
    controls = replace(state.controls, settings=practice.settings(state.settings))
    return replace(state, practice=practice, controls=controls)


def _pressed(state: BoxState, inputs: Inputs, rules: Rules) -> tuple[BoxState, tuple[LessonEvent, ...]]:
    """Every press in turn, each on what the one before left."""
    if inputs.levels is None:
        return replace(state, presses=PressState()), ()
    events = list[LessonEvent]()
    for looked_at, levels in (*inputs.earlier, (inputs.at, inputs.levels)):
        at = Seconds(min(looked_at, inputs.at))  # the last look may be a moment younger than the tick
        presses, said = detect_presses(state.presses, levels, at, state.settings.press_times)
        if presses is not state.presses:
            state = replace(state, presses=presses)
        for press in said:
            state, meant = _acted(state, press, rules)
            events += meant
    return state, tuple(events)


def _acted(state: BoxState, press: Press, rules: Rules) -> tuple[BoxState, tuple[LessonEvent, ...]]:
    """One press: of a practice, or of the lesson and the settings."""
    before, practice = state.controls, state.practice
    at_home = before.menu is None and not button_actions.resting(before, press.at)
    if at_home and takes(practice, press, may_begin=_all_right(state.coach)):
        after = after_press(practice, press, before.settings)
        state = replace(state, controls=replace(before, active_at=press.at, sound=None), practice=after)
        if after is None:
            return state, (StartOver(press.at),)
        return _with_reached(state, after), ()
    controls, events = button_actions.act_on_press(before, press, state.coach, rules)
    if controls.menu is not None and controls.menu.starts is not None:
        chosen = begin_practice(practice_named(controls.menu.starts), controls.settings, press.at)
        return replace(state, controls=replace(controls, menu=None), practice=chosen), events
    if practice is not None and before.menu is not None and controls.menu is None:
        practice = begin_practice(practice.practice, controls.settings, press.at)
    return replace(state, controls=controls, practice=practice), events


def _all_right(coach: Coach) -> bool:
    """Whether a held button leads on from the lesson."""
    return coach.phase is Phase.FINISHED and coach.advice.say is Say.ALL_RIGHT


def _beside(event: Struck | NoteHeld, settings: Settings) -> Struck | NoteHeld:
    """What a practice hears beside the readings; a pitch as it sounded."""
    if isinstance(event, Struck):
        return event
    return replace(event, frequency_hz=settings.corrected(event.frequency_hz))


def _corrected(event: Plucked | Heard, settings: Settings) -> Plucked | Heard:
    """A reading as it sounded, whatever the sound card's clock makes of it."""
    if isinstance(event, Plucked):
        return event
    return replace(event, frequency_hz=settings.corrected(event.frequency_hz))
