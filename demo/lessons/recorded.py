"""Recorded plucks as the sound of a simulated string, played faster or slower to its pitch.

A folder of recordings (FLAC or WAV, one pluck each, its note first in the name: `A2_f_1.flac`) stands in
for the synthesis. Where a recording settles is measured here, once, from its own partials: 0.8 to 1.5 s
after the pluck each of the first eight is looked for near a multiple of the note's nominal pitch, and
pitch and stiffness are fitted to them by least squares, the stiffness held near 0.06 cents a squared number
(left free it runs off). That is good to a cent or two, which is enough to say where the simulated
string stands within the tolerance of a lesson.
"""

import random
import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np

from demo.lessons.ears import HEARD_S, Sound
from demo.lessons.resampled import resampled
from demo.room import RATE_HZ
from device.errors import UsageError
from dsp import Cents, Hz, OpenString, Samples, Seconds, shifted, string_frequencies
from dsp.reading import Signal

FASTEST = 6.0  # times; beyond, a note has little left of what a pluck sounds like; chosen
LASTS_S = 1.3  # at least, played so: longer than anybody listens, so that no cut is heard in it
BOWED = "bowed"  # in the name of a file or of its folder: not a pluck
WINDOW_S = (0.8, 1.5)  # after the pluck
PARTIALS = 8
NEAR_TARGET = 0.03  # a partial lies so near to its place, as a share: half a semitone
STIFFNESS_TRIED = 0.06  # cents a squared number of a partial; the recordings' own figure
STANDS_OUT = 10.0  # times the median of what lies around a partial; chosen
ONSET = 0.1  # of the loudest sample: where the pluck begins
LEVEL = 0.1  # RMS of the loudest tenth of a second, as the synthesis plays them

ReadFile = Callable[[Path], tuple[Samples, int]]
"""Samples, mono, and sample rate of a sound file."""


class RecordedSounds:
    """Plucks of a folder, each at random among those that need not be played too fast."""

    def __init__(self, folder: Path, read: ReadFile, rng: random.Random) -> None:
        self._rng = rng
        self._notes = notes_in(folder, read)

    def samples(self, sound: Sound) -> Samples:
        """A recorded pluck at the pitch of the moment, on its course where a hand turns."""
        wanted = sound.pitch(Seconds(0.0))
        near = [n for n in self._notes if _fits(n, wanted)] or list(self._notes)
        made, pitch, rate = self._rng.choice(near)
        times = np.arange(round(HEARD_S * RATE_HZ)) / RATE_HZ
        speed = np.array([sound.pitch(Seconds(float(t))) / pitch for t in times[::16]])
        return resampled(made, np.cumsum(np.repeat(speed, 16)[: len(times)]) * rate / RATE_HZ)


def _fits(note: tuple[Samples, Hz, int], wanted: Hz) -> bool:
    sound, pitch, rate = note
    speed = wanted / pitch
    return 0.7 <= speed <= FASTEST and len(sound) / rate / speed >= LASTS_S


@lru_cache(maxsize=4)
def notes_in(folder: Path, read: ReadFile) -> tuple[tuple[Samples, Hz, int], ...]:
    """Samples from the pluck on, settled pitch and sample rate of every pluck that tells its note.

    Raises UsageError where the folder holds none.
    """
    found = []
    for path in sorted(p for p in folder.rglob("*") if p.suffix.lower() in {".flac", ".wav"}):
        named = re.match(r"([A-Ga-g]#?)(-?\d)", path.stem)
        if named is None or BOWED in str(path.relative_to(folder)):
            continue
        sound, rate = read(path)
        pitch = settled_hz(sound, rate, nominal(named[1].upper() + named[2]))
        if pitch is not None:
            found.append((_trimmed(sound, rate), pitch, rate))
    if not found:
        raise UsageError(
            f"{folder} holds no recorded plucks whose names begin with their note, as in A2_f_1.flac"
        )
    return tuple(found)


def nominal(note: str) -> Hz:
    """The pitch of a note by its name, at A4 = 440 Hz."""
    return string_frequencies((OpenString.named(note),), Hz(440.0))[0]


def settled_hz(sound: Samples, rate: int, near: Hz) -> Hz | None:
    """Where a pluck settles, in Hz; None where fewer than three partials stand out."""
    start = _onset(sound)
    window = sound[start + round(WINDOW_S[0] * rate) : start + round(WINDOW_S[1] * rate)]
    if len(window) < 0.5 * rate:
        return None
    size = 8 * len(window)
    power = np.abs(np.fft.rfft(window * np.hanning(len(window)), size))
    found = [_peak(power, number, near, size / rate) for number in range(1, PARTIALS + 1)]
    known = [(n, off, weight) for n, (off, weight) in enumerate(found, start=1) if weight > 0.0]
    if len(known) < 3:
        return None
    numbers, offs, weights = np.array(known).T
    weights = np.sqrt(weights * numbers) / np.max(np.sqrt(weights * numbers))
    rows = np.column_stack([weights, weights * numbers**2])
    rows = np.vstack([rows, [0.0, 1.0 / STIFFNESS_TRIED]])  # the stiffness, held near what is usual
    fit = np.linalg.lstsq(rows, np.append(weights * offs, 1.0), rcond=None)[0]
    return shifted(near, Cents(float(fit[0])))


def _peak(power: Signal, number: int, near: Hz, bins_per_hz: float) -> tuple[float, float]:
    """How far a partial lies from its place, in cents, and how strong it is; 0 where there is none."""
    place = number * near * bins_per_hz
    low, high = round(place * (1.0 - NEAR_TARGET)), round(place * (1.0 + NEAR_TARGET))
    peak = low + int(np.argmax(power[low : high + 1]))
    around = power[round((1.0 - 0.5 / number) * place) : round((1.0 + 0.5 / number) * place)]
    if not low < peak < high or power[peak] <= STANDS_OUT * np.median(around):
        return 0.0, 0.0
    a, b, c = np.log(power[peak - 1 : peak + 2])
    exact = peak + 0.5 * (a - c) / (a - 2.0 * b + c)
    return 1200.0 * float(np.log2(exact / place)), float(power[peak])


def _onset(sound: Samples) -> int:
    return int(np.argmax(np.abs(sound) > ONSET * np.max(np.abs(sound))))


def _trimmed(sound: Samples, rate: int) -> Samples:
    """From the pluck on, as loud as the synthesis."""
    begun = sound[_onset(sound) :]
    tenth = begun[: rate // 10]
    return np.asarray(begun * (LEVEL / max(float(np.sqrt(np.mean(tenth**2))), 1e-9)), np.float32)
