"""What there is to hear in a simulated practice room: plucked strings and the room's own noise."""

from dataclasses import dataclass

import numpy as np

from dsp import Hz, Samples, Seconds
from dsp.synthesis.manner import Manner
from dsp.synthesis.plucks import pluck
from dsp.synthesis.realistic import realistic_manner

RATE_HZ = 16_000  # of simulated lessons: a third of the demo's, for speed
LEAD_S = 0.15  # of the room alone, before a pluck
RINGS_S = Seconds(3.0)  # a pluck is rendered this long; at 15 dB/s it is 45 dB down by then
ROOM_DBFS = -62.0  # noise of a quiet practice room beside plucks at -20 dBFS; chosen


@dataclass(slots=True)
class _Note:
    start: int  # sample
    sound: Samples
    damped_from: int | None = None


class Room:
    """Sound by sample number, from the start of the simulation; the same seed sounds the same."""

    def __init__(
        self, sample_rate_hz: int, seed: int, noise_dbfs: float = ROOM_DBFS, rings_s: Seconds = RINGS_S
    ) -> None:
        self.sample_rate_hz = sample_rate_hz
        self._noise = np.random.default_rng((seed, 11))
        self._noise_rms = 10.0 ** (noise_dbfs / 20.0)
        self._notes: list[_Note] = []
        self._seed = seed
        self._rings_s = rings_s
        self._plucks = 0

    def pluck(self, at: Seconds, pitch: Hz, manner: Manner | None = None) -> None:
        """Pluck a string that sounds `pitch`; the hand stops what rang before."""
        self._plucks += 1
        seed = self._seed * 1000 + self._plucks
        made = pluck(
            pitch, self._rings_s, self.sample_rate_hz, manner=manner or realistic_manner(seed), seed=seed
        )
        self.play(at, made)

    def play(self, at: Seconds, sound: Samples) -> None:
        """Sound anything from `at` on; a hand stops what rang before."""
        start = round(at * self.sample_rate_hz)
        for note in self._notes:
            note.damped_from = note.damped_from or start
        self._notes.append(_Note(start, sound))

    def damp(self, at: Seconds) -> None:
        """Lay a finger on whatever rings."""
        for note in self._notes:
            note.damped_from = note.damped_from or round(at * self.sample_rate_hz)

    def sound(self, first: int, until: int) -> Samples:
        """Samples `first` up to, not including, `until`; to be asked for in order."""
        size = max(until - first, 0)
        block = self._noise_rms * self._noise.standard_normal(size, np.float32)
        for note in self._notes:
            low, high = max(first, note.start), min(until, note.start + len(note.sound))
            if low < high:
                part = note.sound[low - note.start : high - note.start]
                block[low - first : high - first] += part * self._fading(note, low, high)
        self._notes = [note for note in self._notes if note.start + len(note.sound) > until]
        return np.asarray(np.clip(block, -1.0, 1.0), np.float32)

    def _fading(self, note: _Note, low: int, high: int) -> Samples | np.float32:
        if note.damped_from is None or high <= note.damped_from:
            return np.float32(1.0)
        since = np.maximum(np.arange(low, high) - note.damped_from, 0) / self.sample_rate_hz
        return np.exp(-since / 0.02).astype(np.float32)  # a finger stops a string in some 20 ms; chosen
