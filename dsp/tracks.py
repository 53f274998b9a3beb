"""Amplitudes of the partials of one sounding over time."""

import math
from dataclasses import dataclass

import numpy as np

from dsp.partials import Basis, Phasors
from dsp.reading import Signal

_LEAST_NOISE = 1e-16  # power: no room is quieter


@dataclass(frozen=True, slots=True)
class Tracks:
    """Amplitudes of all partials, block after block."""

    time_s: Signal  # shape (j,), block centres, from the pluck
    partials: Signal  # shape (3, k, j): `power`, `phase` and `over`, in one piece as they are cut alike
    noise: Signal  # shape (j,): variance of the sound that no partial explains
    base: Basis

    @property
    def power(self) -> Signal:
        """Half of each amplitude squared, shape (k, j)."""
        return np.asarray(self.partials[0])

    @property
    def phase(self) -> Signal:
        """Against the expected partials, unwrapped, shape (k, j)."""
        return np.asarray(self.partials[1])

    @property
    def over(self) -> Signal:
        """Amplitude squared over the variance that noise gives it, shape (k, j)."""
        return np.asarray(self.partials[2])

    def latest(self, span_s: float, least: int = 1) -> "Tracks":
        """The last seconds, but not fewer than `least` blocks."""
        first = int(self.time_s.searchsorted(self.time_s[-1] - span_s))
        return self.since(max(0, min(first, self.time_s.size - least)))

    def since(self, first: int) -> "Tracks":
        """The blocks from `first` on."""
        if first == 0:
            return self
        return Tracks(self.time_s[first:], self.partials[:, :, first:], self.noise[first:], self.base)


def tracks_of(time_s: Signal, phasor: Phasors, noise: Signal, base: Basis) -> Tracks:
    """Tracks of partials whose complex amplitudes `phasor`, shape (k, j), are known."""
    partials = np.empty((3, *phasor.shape))
    partials[0] = 0.5 * (phasor.real**2 + phasor.imag**2)
    partials[1] = unwrapped(np.arctan2(phasor.imag, phasor.real))
    partials[2] = partials[0] / (0.5 * base.gain[:, None] * (noise + _LEAST_NOISE))
    return Tracks(time_s, partials, noise, base)


def joined(old: Tracks | None, new: Tracks) -> Tracks:
    """Two tracks of the same expected partials, one after the other."""
    if old is None:
        return new
    partials = np.concatenate([old.partials, new.partials], axis=2)
    before = old.time_s.size
    turns = np.rint((partials[1, :, before] - partials[1, :, before - 1]) / (2.0 * math.pi))
    partials[1, :, before:] -= 2.0 * math.pi * turns[:, None]
    return Tracks(
        np.concatenate([old.time_s, new.time_s]),
        partials,
        np.concatenate([old.noise, new.noise]),
        new.base,
    )


def unwrapped(phase: Signal) -> Signal:
    """Phases, shape (k, j), without jumps of over half a turn from block to block."""
    step = phase[:, 1:] - phase[:, :-1]
    step -= 2.0 * math.pi * np.rint(step / (2.0 * math.pi))
    whole = phase.copy()
    np.cumsum(step, axis=1, out=whole[:, 1:])
    whole[:, 1:] += phase[:, :1]
    return whole
