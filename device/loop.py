"""The loop: moves values between the parts and the thought, and decides nothing.

    levels of the buttons --> presses ---> lesson events --+
    blocks of sound --------> readings --> lesson events --+--> coach --> scene --> picture --> panel

One thread thinks. A tick is about 10 ms: short beside the debouncing of a button, and every block
of sound that came since the last one is worked on at once. Time is the clock's that was handed in:
with a simulated one the loop runs as fast as the processor allows.

A part that fails does not end the loop: it is closed, shown as a fault, and opened again with
growing pauses through the function handed in for it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from device.coach.state import Coach
from device.errors import PartError
from device.events import (
    Button,
    ChordHeld,
    Held,
    LessonEvent,
    NextString,
    Press,
    Pressed,
    PreviousString,
    StartOver,
    TeacherHere,
    Tick,
)
from device.listening import Listening, NewTracker, Tracker
from device.mending import Mending, Note, ignore
from device.ports import Buttons, Clock, Microphone, Panel, Speaker
from device.presses import Presses, pressed
from device.scene import Fault, Scene
from device.settings import Settings
from device.showing import Draw, Showing
from dsp import Hz, Seconds

TICK_S = Seconds(0.01)  # chosen: a third of the usual debouncing time of a push button


@dataclass(frozen=True, slots=True)
class Parts:
    """What the box is made of; None stands for a part that was not there at the start."""

    clock: Clock
    microphone: Microphone | None
    buttons: Buttons | None
    panel: Panel | None
    speaker: Speaker | None = None


@dataclass(frozen=True, slots=True)
class Reopen:
    """How to open a lost part again; each raises PartError while it is not there. None: never."""

    microphone: Callable[[], Microphone] | None = None
    buttons: Callable[[], Buttons] | None = None
    panel: Callable[[], Panel] | None = None
    speaker: Callable[[], Speaker] | None = None


@dataclass(frozen=True, slots=True)
class Thought:
    """The pure half of the box, handed in so that a test may put something simpler in its place."""

    tracker: Callable[[int, Hz, Hz], Tracker]  # sample rate, lowest and highest pitch, in Hz
    start: Callable[[Settings, Seconds], Coach]
    advance: Callable[[Coach, LessonEvent, Settings], Coach]
    draw: Draw


@dataclass(frozen=True, slots=True)
class Health:
    """Counts since the start, for `wallpeg check` and the service's status line."""

    ticks: int = 0
    readings: int = 0
    pictures: int = 0  # sent to the panel
    dropped_s: Seconds = Seconds(0.0)  # sound thrown away because it came too late
    overflows: int = 0  # times the open microphone had to drop sound
    microphone_losses: int = 0
    panel_losses: int = 0


@dataclass(frozen=True, slots=True)
class Moment:
    """One tick, for whoever watches: what happened and what is shown."""

    at: Seconds
    events: tuple[LessonEvent, ...]
    scene: Scene
    health: Health

    @property
    def coach(self) -> Coach:
        """The lesson after the tick."""
        return self.scene.coach


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
    observe: Callable[[Moment], None] = watch_nothing,
    stop: Callable[[], bool] = never,
    note: Note = ignore,
) -> None:
    """Run the box until `stop()` is true, then let go of every part.

    `observe` is called after every tick and may keep what it is given; `note` takes one sentence
    for the journal when a part is lost or found again.
    """
    box = _Box(parts, settings, thought, reopen, note)
    try:
        while not stop():
            observe(box.tick())
            parts.clock.sleep(TICK_S)
    finally:
        box.close()


class _Box:
    """Everything that lives from one tick to the next."""

    def __init__(
        self, parts: Parts, settings: Settings, thought: Thought, reopen: Reopen, note: Note
    ) -> None:
        self._clock, self._settings, self._thought, self._note = parts.clock, settings, thought, note
        self._buttons = Mending("buttons", parts.buttons, reopen.buttons, note)
        self._microphone = Mending("microphone", parts.microphone, reopen.microphone, note)
        self._panel = Mending("panel", parts.panel, reopen.panel, note)
        self._speaker = Mending("speaker", parts.speaker, reopen.speaker, note)
        self._listening = Listening(self._microphone, self._new_tracker(settings))
        self._showing = Showing(self._panel, thought.draw)
        self._presses = Presses()
        self._coach = thought.start(settings, parts.clock.now())
        self._ticks = 0

    def tick(self) -> Moment:
        """Look at every part once."""
        at = self._clock.now()
        heard = self._listening.hear(at)
        events: tuple[LessonEvent, ...] = (*self._pressed(at), *heard, Tick(at))
        for event in events:
            self._coach = self._thought.advance(self._coach, event, self._settings)
        scene = Scene(self._settings, self._coach, self._fault())
        self._showing.show(scene, at)
        self._ticks += 1
        return Moment(at, events, scene, self._health())

    def close(self) -> None:
        """Let go of every part, the panel last."""
        for part in (self._listening, self._buttons, self._speaker, self._showing):
            part.close()

    def _new_tracker(self, settings: Settings) -> NewTracker:
        lowest, highest = settings.tracking_range
        return lambda sample_rate_hz: self._thought.tracker(sample_rate_hz, lowest, highest)

    def _pressed(self, at: Seconds) -> Iterable[LessonEvent]:
        buttons = self._buttons.seek(at)
        if buttons is None:
            return ()
        try:
            levels = buttons.down()
        except PartError as why:
            self._buttons.lose(at, why)
            return ()
        before = self._presses.left_out
        self._presses, presses = pressed(self._presses, levels, at, self._settings.press_times)
        if self._presses.left_out - before:
            self._note(
                f"buttons: {words(self._presses.left_out)} down for too long, left out until it comes up"
            )
        return lesson_events(presses)

    def _fault(self) -> Fault | None:
        return Fault.NO_MICROPHONE if self._listening.lost else None

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


def words(buttons: Iterable[Button]) -> str:
    """The buttons by name, in a fixed order."""
    return " and ".join(sorted(button.value for button in buttons))


def lesson_events(presses: Iterable[Press]) -> tuple[LessonEvent, ...]:
    """What the presses mean for the lesson."""
    return tuple(event for press in presses if (event := _lesson_event(press)) is not None)


def _lesson_event(press: Press) -> LessonEvent | None:
    match press:
        case Pressed(at, Button.NEXT):
            return NextString(at)
        case Pressed(at, Button.PREVIOUS):
            return PreviousString(at)
        case Held(at, Button.NEXT):
            return StartOver(at)
        case ChordHeld(at):
            return TeacherHere(at)
    return None
