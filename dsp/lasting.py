"""Whether what began goes on as a string does: a knock on a table or on the box is over when a string rings.

Compared are two short spectra after the beginning, less what was there before it: a string that rings on
beneath a knock is none of the knock's.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.reading import Signal
from dsp.units import Hz

Bins = npt.NDArray[np.complex128]
STEPS = 5  # see `lasting`

_ABOVE_ROOM = 6.0  # in power over the median bin: what is fainter may be the room's noise; chosen
_MORE_THAN_BEFORE = 1.5  # in power; chosen
_SAME_PHASES = 0.5  # of 1; chosen
_LOUDER = 1.1  # in power; a string that is left alone grows no louder, but for its beating
_LOWEST_PARTIAL = 0.8  # of the lowest string's pitch: below it is no string, but the thump of a click
_RINGS_BETWEEN_HZ = (35.0, 1400.0)  # lags that are looked at for a period


@dataclass(frozen=True, slots=True)
class Lasting:
    """What is left of a beginning some time later."""

    fall_db_per_s: float  # of what is new, from the first spectrum to the second
    peak_db: float  # the loudest new bin over the median one: a tone stands far above noise
    period: float  # -1..1, how nearly what is left repeats itself within a string's periods


# Log odds for a string: logistic regression on what `dsp.attacks` was chosen on, plucks and knocks.
_CONSTANT, _OF_FALL, _OF_PEAK, _OF_PERIOD = -13.0, -0.0057, 0.33, 0.89
_RINGS_FROM = -1.5  # log odds; chosen: 1.7 % of those plucks are lost and 6.6 % of those knocks are taken


def rings(seen: Lasting) -> bool:
    """Whether it goes on as a string does."""
    fall, peak = min(max(seen.fall_db_per_s, -50.0), 400.0), min(max(seen.peak_db, 0.0), 60.0)
    return _CONSTANT + _OF_FALL * fall + _OF_PEAK * peak + _OF_PERIOD * seen.period > _RINGS_FROM


@dataclass(frozen=True, slots=True)
class Ranges:
    """What is looked at: samples a second, and the lowest pitch of a string, below which nothing counts."""

    rate_hz: float
    lowest_hz: Hz


def lasting(before: Signal, first: Signal, second: Signal, apart_s: float, ranges: Ranges) -> Lasting:
    """Look at stretches of sound of equal length: two before the beginning, two after it.

    `before` has shape (2, n), earlier and later, the others (n,); `apart_s` is from the first to the second,
    and the second begins `STEPS` times as long after the later one before as that does after the earlier.
    """
    size = first.size
    window = np.hanning(size)
    stretches = np.stack([*before, first, second]) * window
    spectra = np.fft.rfft(stretches, 2 * size, axis=1)
    spectra[:, : round(_LOWEST_PARTIAL * ranges.lowest_hz * 2 * size / ranges.rate_hz)] = 0.0
    earlier, later, new, left = spectra
    old = np.maximum(np.abs(earlier), np.abs(later)) ** 2
    if not _goes_on(earlier, later, left):
        old = np.zeros_like(old)
    soon, late = _new(new, old), _new(left, old)
    fall = 10.0 * math.log10((soon.sum() + 1e-12) / (late.sum() + 1e-12))
    middle = float(np.median(np.abs(left) ** 2))
    repeats = np.fft.irfft(np.sqrt(late))
    low, high = (int(ranges.rate_hz / hertz) for hertz in _RINGS_BETWEEN_HZ[::-1])
    return Lasting(
        fall_db_per_s=fall / apart_s,
        peak_db=10.0 * math.log10(float(late.max()) / (middle + 1e-20) + 1e-6),
        period=float(repeats[low : min(high, size - 1)].max() / (repeats[0] + 1e-12)),
    )


def _goes_on(earlier: Bins, later: Bins, left: Bins) -> bool:
    """Whether what is left is what rang before: no louder, and at the phases to which that has come.

    A string that is struck again begins at phases of its own.
    """
    turned = later * np.conj(earlier)
    told = later * (turned / (np.abs(turned) + 1e-12)) ** STEPS
    power = np.abs(later) ** 2
    rang = power > _ABOVE_ROOM * np.median(power)
    weight = np.abs(told[rang]) * np.abs(left[rang])
    alike = float((left * np.conj(told))[rang].real.sum() / (weight.sum() + 1e-12))
    return alike > _SAME_PHASES and float((np.abs(left[rang]) ** 2).sum()) < _LOUDER * float(
        power[rang].sum()
    )


def _new(spectrum: Bins, old: Signal) -> Signal:
    """Power in each bin that was not there before and is no noise."""
    power = np.abs(spectrum) ** 2
    new = np.maximum(power - _MORE_THAN_BEFORE * old, 0.0)
    new[power < _ABOVE_ROOM * np.median(power)] = 0.0
    return new
