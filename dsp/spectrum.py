"""What stands out of a short piece of sound: its spectral peaks, and the floor they stand on.

All powers are per unit of window energy, so the floor does not depend on the window's length while
a steady partial grows with it.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from dsp.reading import Signal
from dsp.units import Hz

_PADDING = 2  # the transform is at least this much longer than the sound: peaks are found between bins
_FLOOR_WIDTH_HZ = 600.0  # the floor is one value for each such band, drawn straight between; chosen
_QUANTILE = 0.25  # of the band's powers: partials and their skirts fill less than three quarters
_QUANTILE_OF_NOISE = 0.288  # -ln(1 - 0.25): that quantile of white noise, against its mean
_DYNAMIC_DB = 62.0  # no floor lies deeper under the loudest peak: window skirts and converters
_ABOVE_FLOOR = 8.0  # a peak is this many times the floor (9 dB): white noise does so once in 3000
_MOST_PEAKS = 24


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Power of a piece of sound by frequency."""

    power: Signal  # shape (bins,)
    bin_hz: float
    span_s: float  # length of the piece


@dataclass(frozen=True, slots=True)
class Peaks:
    """Peaks, strongest first, and the floor under all of the spectrum."""

    frequency_hz: Signal  # shape (p,)
    power: Signal  # shape (p,)
    floor: Signal  # shape (bins,)
    bin_hz: float
    span_s: float


def power_spectrum(sound: Signal, rate_hz: float) -> Spectrum:
    """Power spectrum of `sound`, shape (n,), under a Hann window with its mean taken out."""
    window = _window(sound.size)
    mean = float(window @ sound) / float(window.sum())
    size = _quick_size(_PADDING * sound.size)
    transform = np.fft.rfft((sound - mean) * window, size)
    power = (transform.real**2 + transform.imag**2) / float(window @ window)
    return Spectrum(power, rate_hz / size, sound.size / rate_hz)


@lru_cache(maxsize=8)
def _window(size: int) -> Signal:
    window = np.hanning(size + 2)[1:-1]
    window.flags.writeable = False
    return window


def _quick_size(least: int) -> int:
    """The least power of two, or three times one, that is no shorter: quick to transform."""
    whole = 1 << max(least - 1, 1).bit_length()
    return whole * 3 // 4 if whole * 3 // 4 >= least else whole


def floor_of(spectrum: Spectrum, band_hz: Hz) -> Signal:
    """The level of noise under the partials at every bin, as the mean that white noise would have."""
    power = spectrum.power
    width = max(8, round(_FLOOR_WIDTH_HZ / spectrum.bin_hz))
    count = max(1, int(band_hz / spectrum.bin_hz) // width)
    bands = power[: count * width].reshape(count, -1)
    rank = int(_QUANTILE * width)
    level = np.partition(bands, rank, axis=1)[:, rank] / _QUANTILE_OF_NOISE
    centres = (np.arange(count) + 0.5) * width
    return np.asarray(np.interp(np.arange(power.size), centres, level))


def peaks_of(spectrum: Spectrum, band_hz: Hz, lowest_hz: float, before: Spectrum | None) -> Peaks:
    """Peaks above the floor between `lowest_hz` and `band_hz`.

    `before` is the spectrum of the same length just before the sound began: what was there already,
    and has not grown to 2.5 times its power, is left out.
    """
    power = spectrum.power
    floor = np.maximum(floor_of(spectrum, band_hz), power.max() * 10.0 ** (-_DYNAMIC_DB / 10.0) + 1e-20)
    first = max(2, int(lowest_hz / spectrum.bin_hz))
    last = min(int(band_hz / spectrum.bin_hz), power.size - 2)
    middle = power[first:last]
    stands = (middle > power[first - 1 : last - 1]) & (middle >= power[first + 1 : last + 1])
    stands &= middle > _ABOVE_FLOOR * floor[first:last]
    if before is not None and before.power.size == power.size:
        stands &= middle > 2.5 * before.power[first:last]
    at = first + np.flatnonzero(stands)
    at = at[np.argsort(-power[at])[:_MOST_PEAKS]]
    left, here, right = (np.log(power[at + d] + 1e-30) for d in (-1, 0, 1))
    shift = 0.5 * (left - right) / np.minimum(left - 2.0 * here + right, -1e-9)
    return Peaks((at + shift) * spectrum.bin_hz, power[at], floor, spectrum.bin_hz, spectrum.span_s)
