"""A lower sample rate for the estimators, without aliases.

A string an octave above the highest open one has its first six partials or so in the band that is
kept, and every lower string has more; the rest of the band would cost time and bring noise only.
The filter is a windowed sinc after J. F. Kaiser (Nonrecursive digital filter design using the
I0-sinh window function, IEEE ISCAS 1974), linear in phase, so nothing moves a partial's phase
against another's.
"""

import math
from dataclasses import dataclass

import numpy as np

from dsp.reading import Signal
from dsp.units import Hz

_RATE_PER_HIGHEST = 9.0  # kept rate over the highest pitch: 0.42 of it holds 3.8 partials of that pitch
_LOWEST_RATE_HZ = 3000.0  # a double bass still has its partials up to 1.2 kHz; chosen
_STOPBAND_DB = 70.0  # aliases lie under the noise of a 12-bit converter; chosen
BAND = 0.42  # share of the kept rate that is free of aliases and of the filter's edge


@dataclass(frozen=True, slots=True)
class Decimation:
    """How the sample rate comes down by a whole factor."""

    factor: int
    rate_hz: float  # after it
    taps: Signal  # shape (n,), sum 1; a single 1 where the rate stays

    @property
    def band_hz(self) -> Hz:
        """Highest frequency that comes through unharmed."""
        return Hz(BAND * self.rate_hz)


def decimation(sample_rate_hz: float, highest_hz: Hz) -> Decimation:
    """The largest whole factor that keeps enough partials of `highest_hz`.

    Kaiser's estimate of the length: (A - 7.95) / (2.285 * width) taps for A dB and a transition of
    `width` radians a sample; here from 0.42 to 0.58 of the kept rate, so what folds lands above the band.
    """
    wanted = max(_RATE_PER_HIGHEST * highest_hz, _LOWEST_RATE_HZ)
    factor = max(1, math.floor(sample_rate_hz / wanted))
    if factor == 1:
        return Decimation(1, float(sample_rate_hz), np.ones(1))
    width = 2.0 * math.pi * (1.0 - 2.0 * BAND) / factor
    half = math.ceil((_STOPBAND_DB - 7.95) / (2.285 * width) / 2.0)
    beta = 0.1102 * (_STOPBAND_DB - 8.7)
    n = np.arange(-half, half + 1)
    taps = np.sinc(n / factor) * np.kaiser(n.size, beta)
    return Decimation(factor, sample_rate_hz / factor, taps / taps.sum())


@dataclass(frozen=True, slots=True)
class Thinning:
    """Filters and thins out one hop after another, several kept samples in one matrix product."""

    windows: Signal  # shape (rows, m), a view of the stretch: what each row of kept samples is made of
    weights: Signal  # shape (m, kept samples in a row)

    def thinned(self) -> Signal:
        """The kept samples of what stands in the stretch now, shape (n,)."""
        return np.asarray((self.windows.copy() @ self.weights).ravel())


def thinning(samples: Signal, plan: Decimation, rows: int) -> Thinning:
    """Prepare for a stretch of sound that is written anew for every hop.

    Parameters
    ----------
    samples : shape (taps.size - 1 + factor * n,), the past the filter needs and n new steps
    rows : in which the n kept samples are worked out; divides n
    """
    taps = plan.taps.size
    kept = (samples.size - taps + 1) // plan.factor // rows
    weights = np.zeros((taps + plan.factor * (kept - 1), kept))
    for i in range(kept):
        weights[plan.factor * i : plan.factor * i + taps, i] = plan.taps
    windows = np.lib.stride_tricks.sliding_window_view(samples[plan.factor - 1 :], len(weights))
    return Thinning(windows[:: plan.factor * kept], weights)
