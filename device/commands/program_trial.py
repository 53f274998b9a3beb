"""Tries the program itself, without any part: does it load, can it play a lesson, can it draw?

The installer lets a new version do this as the service's user before it becomes the one in use, so
nothing here may need a microphone, a panel or a button.
"""

import importlib
import pkgutil
from collections.abc import Iterable, Iterator

import numpy as np

from device.commands.installed import installed, went_back
from device.commands.trials import Finding
from device.config.settings import Settings
from device.panel.scene import scene_of
from device.runtime.box_state import box_engine
from device.version import DATE, VERSION
from dsp import Seconds

PACKAGES = ("dsp", "device", "demo")
IMPORTED_TO_RUN = ("sounddevice", "gpiozero", "luma.oled.device", "smbus2", "numpy", "PIL")
"""What the box runs on, but for the pin driver: a box without its buttons still tunes, and says so."""


def program_tried(settings: Settings) -> Iterator[Finding]:
    """Everything that can be tried on any computer; that the box went back to this version is no fault."""
    yield Finding("version", True, version_finding().says)
    yield loading()
    yield libraries_finding()
    yield lesson_finding()
    yield picture_finding(settings)


def version_finding() -> Finding:
    """Which version runs, and whether the box went back to it."""
    note = went_back()
    said = f"{VERSION} of {DATE}"
    if note is not None:
        return Finding("version", False, f"{said}; the box left {note.left} for it: {note.why}")
    return Finding("version", True, said)


def loading(packages: Iterable[str] = PACKAGES) -> Finding:
    """Every module of the program loads."""
    count = 0
    for package in packages:
        for name in _modules(package):
            try:
                importlib.import_module(name)
            except Exception as failure:  # whatever a damaged file brings about
                return Finding("program", False, f"{name} does not load ({failure!r}); install it again")
            count += 1
    return Finding("program", True, f"all {count} modules load")


def _modules(package: str) -> list[str]:
    """The package and all in it; one that does not load itself is left to `loading`."""
    try:
        place = importlib.import_module(package).__path__
    except Exception:
        return [package]
    inside = pkgutil.walk_packages(place, f"{package}.", onerror=lambda _name: None)
    return [package, *(module.name for module in inside)]


def libraries_finding(names: Iterable[str] = IMPORTED_TO_RUN) -> Finding:
    """Every library a box needs loads; on a computer that is no box it is only said."""
    for name in names:
        try:
            importlib.import_module(name)
        except Exception as failure:  # a damaged library may raise anything
            return Finding("libraries", False if installed() else None, f"{name} does not load ({failure})")
    return Finding("libraries", True, "all load")


def lesson_finding() -> Finding:
    """One simulated lesson with a careful pupil ends in tune."""
    from demo.lessons.cells import all_cells, played  # noqa: PLC0415 - only here is the demo needed

    row = played(all_cells()[0], seed=2, runs=1)
    if row.in_tune_share < 1.0 or row.broken or row.dangerous:
        return Finding("lesson", False, f"a simulated lesson went wrong: {row}")
    return Finding("lesson", True, f"a simulated pupil tuned in {row.seconds_median:.0f} s of its time")


def picture_finding(settings: Settings) -> Finding:
    """A picture of the lesson's start can be drawn, and is neither dark nor all lit."""
    engine, at = box_engine(), Seconds(0.0)
    picture = engine.draw(scene_of(settings, engine.start(settings, at)), at)
    lit = float(np.asarray(picture).mean())
    return Finding("picture", 0.0 < lit < 1.0, f"{picture.width} by {picture.height}, {lit:.0%} of it lit")
