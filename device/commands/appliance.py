"""Runs the box as a service: feeds the watchdog, tells the service manager, stops when asked to.

Ready means that the loop runs and the first picture is out. A microphone that is missing is shown
and does not hold that back, and neither does a panel that does not answer for long. The watchdog is
fed by the loop itself, so that a loop that hangs is ended and started again.
"""

import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import FrameType

from device.commands.housekeeping import Housekeeping
from device.commands.installed import went_back
from device.commands.options import UNAVAILABLE
from device.commands.settings_file import LoadedSettings, keeper, load_settings, state_folder
from device.controls.menu import Rules
from device.errors import StuckError
from device.instrument.refusals import refusals
from device.parts.notify import Notifier
from device.parts.store import Store
from device.runtime.box_state import Engine, box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Environment, Health, Parts, Reopen, Snapshot
from device.version import DATE, VERSION
from dsp import Seconds

SAVED_FILE = "settings.toml"  # in the state folder
FEED_S = Seconds(1.0)  # between two feeds of the watchdog; the unit allows ten of them
PICTURE_WITHIN_S = Seconds(5.0)  # readiness does not wait longer for a panel that does not answer

BuildParts = Callable[[LoadedSettings], tuple[Parts, Reopen]]
"""Builds the parts that the settings name; what is not there yet is left to `Reopen`."""


def note(sentence: str) -> None:
    """One line for the journal."""
    print(sentence, file=sys.stderr, flush=True)


def serve(config: Path | None, state: Path | None, build: BuildParts, engine: Engine | None = None) -> int:
    """Run the box until it is asked to stop; the exit status, 0 or UNAVAILABLE.

    Raises SettingError for a settings file that was named and is not there.
    """
    store = Store((state or state_folder()) / SAVED_FILE)
    settings = load_settings(config, store, refusals)
    environment = environment_of(settings, store)
    parts, reopen = build(settings)
    watcher, housekeeping, asked = Watcher(Notifier()), Housekeeping(), asked_to_stop()

    def observe(snapshot: Snapshot) -> None:
        watcher.watch(snapshot)
        housekeeping.watch(snapshot)

    try:
        run(
            parts,
            settings.chosen.settings,
            engine or box_engine(),
            reopen=reopen,
            environment=environment,
            observe=observe,
            stop=asked.is_set,
        )
    except StuckError as stuck:
        note(str(stuck))
        return UNAVAILABLE
    finally:
        watcher.close()
    return 0


def environment_of(settings: LoadedSettings, store: Store) -> Environment:
    """What the box finds around it; what was refused in the settings goes to the journal."""
    note(f"Wallpeg {VERSION} of {DATE}")
    left = went_back()
    if left is not None:
        note(f"the box left version {left.left} for this one: {left.why}")
    for sentence in settings.refusals:
        note(sentence)
    return Environment(
        rules=Rules(settings.chosen.from_file, refusals),
        keep=keeper(store, settings.chosen, note),
        wrong_settings=bool(settings.refusals),
        older_version=left is not None,
        note=note,
    )


def asked_to_stop() -> threading.Event:
    """Set when the service manager or a person asks the box to stop."""
    asked = threading.Event()

    def stop(_number: int, _frame: FrameType | None) -> None:
        asked.set()

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, stop)
    return asked


class Watcher:
    """Tells the service manager what the loop does, once a second at most."""

    def __init__(self, notifier: Notifier) -> None:
        self._notifier = notifier
        self._begun: Seconds | None = None
        self._fed = Seconds(float("-inf"))
        self._ready = False
        self._status = ""

    def watch(self, snapshot: Snapshot) -> None:
        """Called after every tick."""
        if self._begun is None:
            self._begun = snapshot.at
        if not self._ready and (snapshot.health.pictures > 0 or snapshot.at - self._begun > PICTURE_WITHIN_S):
            self._notifier.ready()
            self._ready = True
        if snapshot.at - self._fed >= FEED_S:
            self._fed = snapshot.at
            self._notifier.alive()
            self._say(status_of(snapshot))

    def close(self) -> None:
        """The loop has ended."""
        self._notifier.leaving()
        self._notifier.close()

    def _say(self, status: str) -> None:
        if status != self._status:
            self._status = status
            self._notifier.status(status)


def status_of(snapshot: Snapshot) -> str:
    """What is shown, and what has gone wrong so far, in one line."""
    scene = snapshot.scene
    if scene.fault is not None:
        shown = scene.fault.value.replace("-", " ")
    elif scene.resting:
        shown = "resting"
    elif scene.menu is not None:
        shown = "settings"
    else:
        shown = f"{scene.coach.string}, {scene.coach.phase.value}"
    return f"{shown}; {_counts(snapshot.health)}"


def _counts(health: Health) -> str:
    return (
        f"readings {health.readings}, dropped {health.dropped_s:.1f} s, overflows {health.overflows}, "
        f"microphone lost {health.microphone_losses}, panel lost {health.panel_losses}"
    )
