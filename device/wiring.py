"""What the loop is handed: its parts, the ways to open them again, and what else is around the box."""

from collections.abc import Callable
from dataclasses import dataclass

from device.mending import Note, ignore
from device.menu import Rules
from device.ports import Buttons, Clock, Microphone, Panel, Speaker
from device.settings import Settings


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
class Surroundings:
    """What the box finds around it beside its parts."""

    rules: Rules | None = None  # the file's settings, and which are refused; None: those it starts with
    keep: Callable[[Settings], None] = keep_nothing  # after every change; PartError when it cannot
    wrong_settings: bool = False  # something in the file was refused
    note: Note = ignore  # takes one sentence for the journal
