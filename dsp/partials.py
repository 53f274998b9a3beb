"""The complex amplitudes of all partials, block after block.

A block is a few periods long. Its sound is taken as a sum of the string's partials at their expected
frequencies and a constant, and all amplitudes are solved for at once by least squares under a Hann
window, so that neighbours do not leak into each other although the block is short. The solution is
linear in the sound, so one matrix serves every block.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.units import Hz

Signal = npt.NDArray[np.float64]
Phasors = npt.NDArray[np.complex128]

_PERIODS = (
    3.0  # a block holds this many: neighbours lie 3 / length apart, beyond the Hann window's 2 / length
)
_SHORTEST_S = 0.008  # of a block; chosen
_MOST_PARTIALS = 24


@dataclass(frozen=True, slots=True)
class Basis:
    """The expected partials, and what turns a block into their amplitudes."""

    frequency_hz: Hz  # expected fundamental
    inharmonicity: float  # expected B
    harmonic: Signal  # shape (k,): 1, 2, 3 ...
    partial_hz: Signal  # shape (k,)
    solve: npt.NDArray[np.complex128]  # shape (k, n): block -> complex amplitudes at its centre
    gain: Signal  # shape (k,): noise power of an amplitude for white noise of power 1
    length: int  # samples in a block
    hop: int  # samples from block to block, half a block


def basis(frequency_hz: Hz, inharmonicity: float, rate_hz: float, band_hz: Hz) -> Basis:
    """Prepare for a string of about this pitch; partials reach up to `band_hz`."""
    k = np.arange(1, _MOST_PARTIALS + 1, dtype=float)
    partial = frequency_hz * k * np.sqrt(1.0 + inharmonicity * k**2)
    inside = partial < band_hz
    k, partial = k[inside], partial[inside]
    length = 2 * math.ceil(0.5 * rate_hz * max(_PERIODS / frequency_hz, _SHORTEST_S))
    time = (np.arange(length) - 0.5 * (length - 1)) / rate_hz
    turn = 2.0 * math.pi * np.outer(time, partial)
    design = np.concatenate([np.cos(turn), np.sin(turn), np.ones((length, 1))], axis=1)
    window = np.hanning(length + 2)[1:-1, None]
    normal = design.T @ (window * design)
    normal[np.diag_indices_from(normal)] *= 1.0 + 1e-9
    solution = np.linalg.solve(normal, (window * design).T)
    n = k.size
    solve = solution[:n] - 1j * solution[n : 2 * n]
    gain = np.sum(np.abs(solve) ** 2, axis=1)
    return Basis(frequency_hz, inharmonicity, k, partial, solve, gain, length, length // 2)


def amplitudes(sound: Signal, start: int, count: int, base: Basis) -> Phasors:
    """Complex amplitudes of `count` blocks, the first beginning at index `start` of `sound`; (k, count)."""
    windows = np.lib.stride_tricks.sliding_window_view(sound, base.length)
    blocks = windows[start : start + count * base.hop : base.hop]
    return np.asarray(base.solve @ blocks.T)
