"""The complex amplitudes of all partials, block after block.

A block is a few periods long. Its sound is taken as a sum of the string's partials at their expected
frequencies and a constant, and all amplitudes are solved for at once by least squares under a Hann
window, so that neighbours do not leak into each other although the block is short. The solution is
linear in the sound, so one matrix serves every block. What the partials leave over says how loud the
noise was in that block.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from dsp.reading import Signal
from dsp.units import Hz

Phasors = npt.NDArray[np.complex128]

_PERIODS = (
    3.0  # a block holds this many: neighbours lie 3 / length apart, beyond the Hann window's 2 / length
)
_SHORTEST_S = 0.012  # of a block; chosen
_MOST_PARTIALS = 24


@dataclass(frozen=True, slots=True)
class Basis:
    """The expected partials, and what turns a block into their amplitudes."""

    frequency_hz: Hz  # expected fundamental
    inharmonicity: float  # expected B
    harmonic: Signal  # shape (k,): 1, 2, 3 ...
    partial_hz: Signal  # shape (k,)
    rows: npt.NDArray[np.intp]  # shape (2 k,): where their cosine and sine amplitudes stand in the solution
    gain: Signal  # shape (k,): variance of a quadrature of the amplitude, for white noise of variance 1
    window: Signal  # shape (n,)
    project: Signal  # shape (m, n): the windowed design matrix of all partials, transposed
    inverse: Signal  # shape (m, m): of the normal equations
    freedom: float  # windowed energy that white noise of variance 1 leaves over

    @property
    def length(self) -> int:
        """Samples in a block."""
        return self.window.size

    @property
    def hop(self) -> int:
        """Samples from block to block, half a block."""
        return self.window.size // 2


def fewer(base: Basis, index: npt.NDArray[np.intp]) -> Basis:
    """The same, but only these partials are handed on; the others are still solved for."""
    k = base.harmonic.size
    return replace(
        base,
        harmonic=base.harmonic[index],
        partial_hz=base.partial_hz[index],
        rows=base.rows[np.concatenate([index, index + k])],
        gain=base.gain[index],
    )


@dataclass(frozen=True, slots=True)
class Blocks:
    """Amplitudes over time, phases against the expected partials."""

    time_s: Signal  # shape (j,), block centres
    phasor: Phasors  # shape (k, j)
    noise: Signal  # shape (j,): variance of the sound that no partial explains


def basis(frequency_hz: Hz, inharmonicity: float, rate_hz: float, band_hz: Hz) -> Basis:
    """Prepare for a string of about this pitch; partials reach up to `band_hz`."""
    k = np.arange(1, _MOST_PARTIALS + 1, dtype=float)
    partial = frequency_hz * k * np.sqrt(1.0 + inharmonicity * k**2)
    inside = partial < band_hz
    k, partial = k[inside], partial[inside]
    length = 2 * math.ceil(0.5 * rate_hz * max(_PERIODS / frequency_hz, _SHORTEST_S))
    half = (0.5 + np.arange(length // 2)) / rate_hz  # the later half of the block, from its middle on
    turn = 2.0 * math.pi * np.outer(partial, half)
    even = np.concatenate([np.cos(turn), np.ones((1, half.size))])
    odd = -np.sin(turn)
    window = np.hanning(length + 2)[1:-1]
    late = window[length // 2 :]
    halves = [_solution(design, late) for design in (even, odd)]
    size = 2 * k.size + 1
    inverse, project, variance = np.zeros((size, size)), np.empty((size, length)), np.empty(size)
    for rows, mirror, (own, windowed, spread) in zip(_rows(k.size), (1.0, -1.0), halves, strict=True):
        inverse[np.ix_(rows, rows)] = own
        project[rows] = np.concatenate([mirror * windowed[:, ::-1], windowed], axis=1)
        variance[rows] = np.einsum("ij,ji->i", spread, own)
    gain = 0.5 * (variance[: k.size] + variance[k.size : 2 * k.size])
    freedom = float(window.sum() - sum(np.trace(spread) for *_, spread in halves))
    rows = np.arange(2 * k.size)
    return Basis(frequency_hz, inharmonicity, k, partial, rows, gain, window, project, inverse, freedom)


def _rows(count: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Where the even functions of time, cosines and a constant, and the odd ones stand in the solution."""
    return np.append(np.arange(count), 2 * count), np.arange(count, 2 * count)


def _solution(design: Signal, window: Signal) -> tuple[Signal, Signal, Signal]:
    """Inverse of the normal equations of functions that are all even or all odd, and what else comes of them.

    Even and odd functions of time know nothing of each other under a window that is even, so a block's normal
    equations fall into two of half the size, and half of the block tells all of either.

    Parameters
    ----------
    design, window : in the later half of a block, shapes (m, n / 2) and (n / 2,)

    Returns the inverse, the windowed design, and the inverse times that of the noise, shape (m, m).
    """
    windowed = design * window
    normal = 2.0 * windowed @ design.T
    normal[np.diag_indices_from(normal)] *= 1.0 + 1e-9
    inverse = np.asarray(np.linalg.inv(normal), np.float64)
    return inverse, windowed, inverse @ (2.0 * windowed @ windowed.T)


def blocks(sound: Signal, count: int, base: Basis, start_s: float, rate_hz: float) -> Blocks:
    """The first `count` blocks of `sound`, whose first sample lies at `start_s` on the note's clock."""
    halves = sound[: (count + 1) * base.hop].reshape(count + 1, base.hop)
    pieces = np.concatenate([halves[:-1], halves[1:]], axis=1).T
    projected = base.project @ pieces
    solved = base.inverse @ projected
    left = base.window @ (pieces * pieces) - np.einsum("ij,ij->j", projected, solved)
    k = base.harmonic.size
    centre = start_s + (0.5 * (base.length - 1) + base.hop * np.arange(count)) / rate_hz
    turn = np.exp(-2j * math.pi * np.outer(base.partial_hz, centre))
    phasor = (solved[base.rows[:k]] + 1j * solved[base.rows[k:]]) * turn
    return Blocks(np.asarray(centre, np.float64), phasor, np.maximum(left, 0.0) / base.freedom)
