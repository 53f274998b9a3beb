"""The loop: moves values between the parts and the thought, and decides nothing.

    levels of the buttons --> +------+ --> scene --> picture --> panel
    blocks of sound --------> | mind | --> tone to sound ------> loudspeaker
    moment of the clock ----> +------+ --> settings to keep ---> a file

One thread thinks. A tick is about 10 ms: short beside the debouncing of a button, and every block
of sound that came since the last one is worked on at once. Time is the clock's that was handed in:
with a simulated one the loop runs as fast as the processor allows.

A part that fails does not end the loop: it is closed, shown as a fault, and opened again with
growing pauses through the function handed in for it.
"""

from collections.abc import Callable, Collection
from dataclasses import replace

from device.coach.limits import refusals
from device.errors import PartError
from device.events import Button
from device.listening import Listening, NewTracker
from device.mending import Mending
from device.menu import Rules
from device.mind import Senses, awake, ticked
from device.moment import Health, Moment
from device.scene import Fault
from device.settings import Settings
from device.showing import Showing
from device.thought import Thought
from device.toning import Toning
from device.wiring import Parts, Reopen, Surroundings
from dsp import Seconds

TICK_S = Seconds(0.01)  # chosen: a third of the usual debouncing time of a push button

__all__ = ["TICK_S", "Health", "Moment", "Parts", "Reopen", "Surroundings", "Thought", "run"]


def never() -> bool:
    """Go on."""
    return False


def watch_nothing(_moment: Moment) -> None:
    """Watch nothing."""


def run(  # noqa: PLR0913 - four of them by keyword only, with defaults
    parts: Parts,
    settings: Settings,
    thought: Thought,
    *,
    reopen: Reopen = Reopen(),
    around: Surroundings = Surroundings(),
    observe: Callable[[Moment], None] = watch_nothing,
    stop: Callable[[], bool] = never,
) -> None:
    """Run the box until `stop()` is true, then let go of every part.

    `observe` is called after every tick and may keep what it is given.
    """
    loop = _Loop(parts, settings, thought, reopen, around)
    try:
        while not stop():
            observe(loop.tick())
            parts.clock.sleep(TICK_S)
    finally:
        loop.close()


class _Loop:
    """Everything that lives from one tick to the next."""

    def __init__(
        self, parts: Parts, settings: Settings, thought: Thought, reopen: Reopen, around: Surroundings
    ) -> None:
        note, now = around.note, parts.clock.now()
        self._clock, self._thought, self._around = parts.clock, thought, around
        self._rules = around.rules or Rules(settings, refusals)
        self._buttons = Mending("buttons", parts.buttons, reopen.buttons, note)
        self._microphone = Mending("microphone", parts.microphone, reopen.microphone, note)
        self._panel = Mending("panel", parts.panel, reopen.panel, note)
        self._listening = Listening(self._microphone, self._new_tracker(settings))
        self._showing = Showing(self._panel, thought.draw)
        self._toning = Toning(Mending("loudspeaker", parts.speaker, reopen.speaker, note))
        self._mind = awake(settings, thought, now)
        self._ticks = 0
        if around.wrong_settings:
            self._mind = self._mind.told(Fault.WRONG_SETTINGS, now)

    def tick(self) -> Moment:
        """Look at every part once."""
        at, before = self._clock.now(), self._mind
        senses = Senses(at, self._levels(at), self._listening.hear(at))
        self._mind, events = ticked(before, senses, self._thought, self._rules)
        self._sound(at)
        self._settle(before.settings, at)
        self._look_for_faults(at)
        self._note_left_out(before.presses.left_out)
        scene = self._mind.scene(self._rules, at)
        self._showing.show(scene, at)
        self._ticks += 1
        return Moment(at, events, scene, self._health())

    def close(self) -> None:
        """Let go of every part, the panel last."""
        for part in (self._listening, self._buttons, self._toning, self._showing):
            part.close()

    def _levels(self, at: Seconds) -> Collection[Button] | None:
        buttons = self._buttons.seek(at)
        try:
            return None if buttons is None else buttons.down()
        except PartError as why:
            self._buttons.lose(at, why)
            return None

    def _sound(self, at: Seconds) -> None:
        """Let the loudspeaker do what the hands want, and the tracker not hear it."""
        try:
            deaf_until = self._toning.follow(self._mind.hands.sound, at)
        except PartError:
            self._mind = self._mind.told(Fault.NO_SPEAKER, at)
            return
        if deaf_until is not None:
            self._listening.deafen(deaf_until)

    def _settle(self, before: Settings, at: Seconds) -> None:
        """Act on settings that were changed."""
        now = self._mind.settings
        if now == before:
            return
        if now.tracking_range != before.tracking_range:
            self._listening.retune(self._new_tracker(now))
        try:
            self._around.keep(now)
        except PartError:
            self._mind = self._mind.told(Fault.NOT_KEPT, at)

    def _look_for_faults(self, at: Seconds) -> None:
        if self._listening.clipped:
            self._mind = self._mind.told(Fault.TOO_LOUD, at)
        was_there = self._microphone.losses > 0
        faults = self._mind.faults.absent(self._listening.silent, was_there, at)
        self._mind = replace(self._mind, faults=faults)

    def _note_left_out(self, before: frozenset[Button]) -> None:
        left_out = self._mind.presses.left_out
        if left_out - before:
            names = " and ".join(sorted(button.value for button in left_out))
            self._around.note(f"buttons: {names} down for too long, left out until it comes up")

    def _new_tracker(self, settings: Settings) -> NewTracker:
        lowest, highest = settings.tracking_range
        return lambda sample_rate_hz: self._thought.tracker(sample_rate_hz, lowest, highest)

    def _health(self) -> Health:
        return Health(
            ticks=self._ticks,
            readings=self._listening.readings,
            pictures=self._showing.pictures,
            dropped_s=self._listening.dropped_s,
            overflows=self._listening.overflows,
            microphone_losses=self._microphone.losses,
            panel_losses=self._panel.losses,
        )
