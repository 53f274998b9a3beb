"""Amplitudes of the partials of one sounding over time."""

from dataclasses import dataclass

import numpy as np

from dsp.partials import Basis, Phasors
from dsp.reading import Signal


@dataclass(frozen=True, slots=True)
class Tracks:
    """Amplitudes of all partials, block after block."""

    time_s: Signal  # shape (j,), block centres, from the pluck
    phasor: Phasors  # shape (k, j), phases against the expected partials
    noise: Signal  # shape (j,): variance of the sound that no partial explains
    base: Basis

    def latest(self, span_s: float, least: int = 1) -> "Tracks":
        """The last seconds, but not fewer than `least` blocks."""
        first = int(np.searchsorted(self.time_s, self.time_s[-1] - span_s))
        return self.since(max(0, min(first, self.time_s.size - least)))

    def since(self, first: int) -> "Tracks":
        """The blocks from `first` on."""
        return Tracks(self.time_s[first:], self.phasor[:, first:], self.noise[first:], self.base)

    def power(self) -> Signal:
        """Power of each partial in each block, shape (k, j): half its amplitude squared."""
        return np.asarray(0.5 * (self.phasor.real**2 + self.phasor.imag**2))


def joined(old: Tracks | None, new: Tracks) -> Tracks:
    """Two tracks of the same expected partials, one after the other."""
    if old is None:
        return new
    return Tracks(
        np.concatenate([old.time_s, new.time_s]),
        np.concatenate([old.phasor, new.phasor], axis=1),
        np.concatenate([old.noise, new.noise]),
        new.base,
    )
