"""Runs the loop: it moves values between the parts and the pure functions, and decides nothing.

    levels of the buttons --> +-----------+ --> scene --> picture --> panel
    blocks of sound --------> | box state | --> tone to sound ------> loudspeaker
    moment of the clock ----> +-----------+ --> settings to keep ---> a file

One thread does all this. A tick takes about 10 ms, which is short beside the debouncing of a button,
and works on every block of sound that came since the last one. The time is that of the clock that was
handed in; with a simulated clock the loop runs as fast as the processor allows.

A part that fails does not end the loop: it is closed, shown as a fault, and opened again with
growing pauses through the function handed in for it.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace

from device.config.settings import Settings
from device.controls.menu import Rules
from device.errors import PartError
from device.events import Button
from device.instrument.refusals import refusals
from device.panel.scene import Fault
from device.ports import Buttons, RemembersLevels
from device.runtime.audio_in import AudioIn, NewTracker
from device.runtime.box_state import Engine, Inputs, initial, step
from device.runtime.loop_interface import Environment, Health, Parts, Reopen, Snapshot
from device.runtime.panel_out import PanelOut
from device.runtime.reconnect import ReconnectingPart
from device.runtime.tone_out import ToneOut
from dsp import Seconds

TICK_S = Seconds(0.01)  # chosen: a third of the usual debouncing time of a push button


def never() -> bool:
    """Go on."""
    return False


def watch_nothing(_snapshot: Snapshot) -> None:
    """Watch nothing."""


def run(  # noqa: PLR0913 - four of them by keyword only, with defaults
    parts: Parts,
    settings: Settings,
    engine: Engine,
    *,
    reopen: Reopen = Reopen(),
    environment: Environment = Environment(),
    observe: Callable[[Snapshot], None] = watch_nothing,
    stop: Callable[[], bool] = never,
) -> None:
    """Run the box until `stop()` is true, then let go of every part.

    `observe` is called after every tick and may keep what it is given.
    """
    loop = _Loop(parts, settings, engine, reopen, environment)
    try:
        while not stop():
            observe(loop.tick())
            parts.clock.sleep(TICK_S)
    finally:
        loop.close()


class _Loop:
    """Everything that lives from one tick to the next."""

    def __init__(
        self, parts: Parts, settings: Settings, engine: Engine, reopen: Reopen, environment: Environment
    ) -> None:
        note, now = environment.note, parts.clock.now()
        self._clock, self._engine, self._environment = parts.clock, engine, environment
        self._rules = environment.rules or Rules(settings, refusals)
        self._buttons = ReconnectingPart("buttons", parts.buttons, reopen.buttons, note)
        self._microphone = ReconnectingPart("microphone", parts.microphone, reopen.microphone, note)
        self._panel = ReconnectingPart("panel", parts.panel, reopen.panel, note)
        self._audio_in = AudioIn(self._microphone, self._new_tracker(settings))
        self._panel_out = PanelOut(self._panel, engine.draw)
        self._asked: Buttons | None = None  # whether they remember levels: asking costs time
        self._remembering: RemembersLevels | None = None  # those, if they do
        self._tone_out = ToneOut(ReconnectingPart("loudspeaker", parts.speaker, reopen.speaker, note))
        self._state = initial(settings, engine, now)
        if environment.wrong_settings:
            self._state = self._state.with_fault(Fault.WRONG_SETTINGS, now)
        if environment.older_version:
            self._state = self._state.with_fault(Fault.OLDER_VERSION, now)

    def tick(self) -> Snapshot:
        """Look at every part once."""
        at, before = self._clock.now(), self._state
        self._audio_in.want_attacks(before.attacks_from)
        self._audio_in.want_held_notes(before.held_between)
        levels, earlier = self._levels(at)
        inputs = Inputs(at, levels, self._audio_in.hear(at), earlier)
        self._state, events = step(before, inputs, self._engine, self._rules)
        self._sound(at)
        self._settle(before.settings, at)
        self._look_for_faults(at)
        self._note_left_out(before.presses.left_out)
        scene = self._state.scene(self._rules, at)
        self._panel_out.show(scene, at)
        return Snapshot(at, events, scene, self._health())

    def close(self) -> None:
        """Let go of every part, the panel last."""
        for part in (self._audio_in, self._buttons, self._tone_out, self._panel_out):
            part.close()

    def _levels(
        self, at: Seconds
    ) -> tuple[Collection[Button] | None, Sequence[tuple[Seconds, Collection[Button]]]]:
        """The levels of now, None without buttons, and those since the tick before."""
        buttons = self._buttons.seek(at)
        try:
            if buttons is None:
                return None, ()
            if buttons is not self._asked:
                self._asked = buttons
                self._remembering = buttons if isinstance(buttons, RemembersLevels) else None
            remembering = self._remembering
            return buttons.down(), () if remembering is None else remembering.sampled()
        except PartError as why:
            self._buttons.lose(at, why)
            return None, ()

    def _sound(self, at: Seconds) -> None:
        """Let the loudspeaker do what was asked for, and the tracker not hear it."""
        try:
            muted_until = self._tone_out.follow(self._state.sound, at)
        except PartError:
            self._state = self._state.with_fault(Fault.NO_SPEAKER, at)
            return
        if muted_until is not None:
            self._audio_in.mute(muted_until)

    def _settle(self, before: Settings, at: Seconds) -> None:
        """Act on settings that were changed."""
        now = self._state.settings
        if now is before or now == before:
            return
        if now.tracking_range != before.tracking_range:
            self._audio_in.retune(self._new_tracker(now))
        try:
            self._environment.keep(now)
        except PartError:
            self._state = self._state.with_fault(Fault.NOT_KEPT, at)

    def _look_for_faults(self, at: Seconds) -> None:
        if self._audio_in.clipped:
            self._state = self._state.with_fault(Fault.TOO_LOUD, at)
        if self._audio_in.dropped:
            self._state = self._state.with_fault(Fault.TOO_BUSY, at)
        was_there = self._microphone.losses > 0
        faults = self._state.faults.absent(self._audio_in.silent, was_there, at)
        if faults is not self._state.faults:
            self._state = replace(self._state, faults=faults)

    def _note_left_out(self, before: frozenset[Button]) -> None:
        left_out = self._state.presses.left_out
        if left_out - before:
            names = " and ".join(sorted(button.value for button in left_out))
            self._environment.note(f"buttons: {names} down for too long, left out until it comes up")

    def _new_tracker(self, settings: Settings) -> NewTracker:
        lowest, highest = settings.tracking_range
        return lambda sample_rate_hz: self._engine.tracker(sample_rate_hz, lowest, highest)

    def _health(self) -> Health:
        return Health(
            readings=self._audio_in.readings,
            pictures=self._panel_out.pictures,
            dropped_s=self._audio_in.dropped_s,
            overflows=self._audio_in.overflows,
            microphone_losses=self._microphone.losses,
            panel_losses=self._panel.losses,
        )
