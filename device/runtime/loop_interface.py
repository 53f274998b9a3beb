"""Defines what the loop is given at the start, and the snapshot that it hands out after each tick.

It is given its parts, the functions that open them again, and what the box finds around it.
"""

from collections.abc import Callable
from dataclasses import dataclass

from device.config.settings import Settings
from device.controls.menu import Rules
from device.events import LessonEvent
from device.lesson.state import Coach
from device.panel.scene import Scene
from device.ports import Buttons, Clock, Microphone, Panel, Speaker
from device.runtime.reconnect import Note, ignore
from dsp import Seconds


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


def keep_nothing(_settings: Settings) -> None:
    """Forget the settings with the power."""


@dataclass(frozen=True, slots=True)
class Environment:
    """What the box finds around it beside its parts."""

    rules: Rules | None = None  # the file's settings, and which are refused; None: those it starts with
    keep: Callable[[Settings], None] = keep_nothing  # after every change; PartError when it cannot
    wrong_settings: bool = False  # something in the file was refused
    older_version: bool = False  # a newer one did not start, and the box went back
    note: Note = ignore  # takes one sentence for the journal


@dataclass(frozen=True, slots=True)
class Health:
    """Counts since the start, for `wallpeg check` and the service's status line."""

    readings: int = 0
    pictures: int = 0  # sent to the panel
    dropped_s: Seconds = Seconds(0.0)  # sound thrown away because it came too late
    overflows: int = 0  # times the open microphone had to drop sound
    microphone_losses: int = 0
    panel_losses: int = 0


@dataclass(frozen=True, slots=True)
class Snapshot:
    """One tick: what the coach was told, and what is shown."""

    at: Seconds
    events: tuple[LessonEvent, ...]
    scene: Scene
    health: Health

    @property
    def coach(self) -> Coach:
        """The lesson after the tick, as it is shown."""
        return self.scene.coach
