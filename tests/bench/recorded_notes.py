"""Recorded plucks with the pitch each settles on: to choose constants by, and to report what came of them.

Two public sets, one player each, both CC0 1.0: `sfzinstruments/dsmolken.double-bass` (D. Smolken, 2013; a
bass in fifths, C1 up) and `sfzinstruments/karoryfer.emilyguitar` (2014; flat-wound strings, no body, no
room). They are not kept here: hand in the folder that holds `bass_plucked/` and `guitar_plucked/`, each file
cut to begin at the pluck, 44.1 kHz, mono, named NOTE_LOUDNESS+TAKE.flac or NOTE_LOUDNESS_TAKE.flac. Takes a,
b and rr1 chose constants; takes c, d and rr2 choose nothing and are what is reported. A bass played two or
four times as fast rings, glides and beats about as a cello or a violin does.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import soundfile

from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    Samples,
    shifted,
    string_frequencies,
)
from dsp.synthesis import white_noise
from tests.bench.common import wall_range
from tests.bench.truth import Fit, fitted

LEAD_S = 0.5  # of a quiet room before the pluck
FLOOR_DBFS = -80.0  # of that room's noise, which goes on under the note; chosen
ONSET_DB = 30.0  # the pluck begins where the level first comes within this of its greatest
WINDOWS_S = ((0.8, 1.5), (0.45, 0.9))  # where the settled pitch is taken; the second where the first is gone
LEAST_PARTIALS = 3  # that must stand out there
MOST_RMS = Cents(8.0)  # notes whose partials disagree by more are left out
TRUTH_SPREAD = Cents(1.5)  # of the truth itself
SETS = {  # folder and how many times as fast it is played
    "guitar": ("guitar_plucked", 1),
    "bass x4": ("bass_plucked", 4),
    "bass x2": ("bass_plucked", 2),
    "bass x1": ("bass_plucked", 1),
}
REPORTED_TAKES = ("c", "d", "rr2")
_STEPS = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}


@dataclass(frozen=True)
class Note:
    """One recorded pluck."""

    set_name: str
    name: str  # the file's, without its ending
    reported: bool  # of a take that chose nothing
    nominal_hz: Hz
    rate: float
    recording: Samples  # from the file's start, which is just before the pluck

    @classmethod
    def made(cls, set_name: str, name: str, pitch: Hz, rate: float, recording: Samples) -> "Note":
        """A note whose pitch is known because it was made, beginning at the first sample."""
        note = cls(set_name, name, True, pitch, rate, recording)
        note.__dict__.update(onset_s=LEAD_S, truth=Fit(pitch, 0.0, 0.0, 0))  # in place of what would be found
        return note

    @cached_property
    def onset_s(self) -> float:
        """Where the pluck begins in `sound`."""
        return LEAD_S + _onset(self.recording, self.rate) / self.rate

    @cached_property
    def truth(self) -> Fit | None:
        """What the note settles on; None where its partials are gone or disagree."""
        first = _onset(self.recording, self.rate)
        for start, stop in WINDOWS_S:
            piece = self.recording[first + round(start * self.rate) : first + round(stop * self.rate)]
            fit = (
                fitted(piece, self.rate, self.nominal_hz)
                if piece.size >= round((stop - start) * self.rate)
                else None
            )
            if fit and fit.partials >= LEAST_PARTIALS:
                return fit if fit.rms_cents <= MOST_RMS else None
        return None

    @property
    def sound(self) -> Samples:
        """A quiet room, and the pluck in it."""
        lead = round(LEAD_S * self.rate)
        seed = int(1000 * self.nominal_hz) % 65537
        floor = white_noise(lead + self.recording.size, seed) * np.float32(10.0 ** (FLOOR_DBFS / 20.0))
        floor[lead:] += self.recording
        return floor

    @property
    def range(self) -> tuple[Hz, Hz]:
        """What the box would listen for: the range of the instrument whose strings lie nearest."""
        return wall_range(nearest(self.nominal_hz))


def missing(folder: Path | None) -> str | None:
    """Why there are no recordings, or None."""
    if folder is None:
        return "no folder of recorded plucks was given (--recorded DIR)"
    absent = sorted({name for name, _ in SETS.values() if not any((folder / name).glob("*.flac"))})
    return f"{folder / absent[0]} holds no .flac file" if absent else None


def notes(folder: Path, set_name: str, *, reported: bool, every: int = 1) -> list[Note]:
    """The notes of one set whose pitch is known, either those to report or those to choose by."""
    read = (note for note in _read(folder, set_name) if note.reported is reported)
    return [note for i, note in enumerate(read) if i % every == 0 and note.truth]


def nearest(pitch: Hz) -> Instrument:
    """The instrument whose open strings lie nearest, by their mean in cents."""

    def far(instrument: Instrument) -> float:
        strings = string_frequencies(OPEN_STRINGS[instrument], Hz(440.0))
        return abs(float(np.log(pitch) - np.mean(np.log(strings))))

    return min(Instrument, key=far)


def _read(folder: Path, set_name: str) -> Iterator[Note]:
    directory, faster = SETS[set_name]
    for path in sorted((folder / directory).glob("*.flac")):
        sound, rate = soundfile.read(path, dtype="float32")
        named = re.fullmatch(r"([a-g]b?\d)_[a-z]+?_?(rr\d|[a-d])", path.stem)
        if named is None:
            raise ValueError(f"{path} is not called NOTE_LOUDNESS+TAKE.flac, as a2_mb.flac or a2_mf_rr1.flac")
        note, take = named.groups()
        yield Note(
            set_name, path.stem, take in REPORTED_TAKES, _nominal(note, faster), rate, _played(sound, faster)
        )


def _nominal(note: str, faster: int) -> Hz:
    steps = _STEPS[note[0]] - ("b" in note[1:]) + 12 * (int(note[-1]) - 4) - 9
    return shifted(Hz(440.0 * faster), Cents(100.0 * steps))


def _played(sound: Samples, faster: int) -> Samples:
    from scipy.signal import resample_poly

    return sound if faster == 1 else np.asarray(resample_poly(sound, 1, faster), np.float32)


def _onset(recording: Samples, rate: float) -> int:
    """The first millisecond that comes within `ONSET_DB` of the loudest, as a sample."""
    step = round(0.001 * rate)
    power = np.square(recording[: recording.size // step * step].astype(float)).reshape(-1, step).mean(axis=1)
    return step * int(np.argmax(power >= power.max() * 10.0 ** (-ONSET_DB / 10.0)))
