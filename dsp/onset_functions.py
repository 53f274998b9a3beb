"""Two functions of time that are large where strings are struck, from the same short spectra.

- Spectral flux: by how many decades the bands of the spectrum have grown, each compared with the loudest of
  itself and its neighbours 15 ms ago, so that a swaying pitch is no growth (S. Boeck and G. Widmer, Maximum
  filter vibrato suppression for onset detection, DAFx 2013).
- Complex-domain deviation: how far the spectrum lies from what steady partials would have become, in
  magnitude and phase (J. P. Bello, C. Duxbury, M. Davies, M. Sandler, On the use of phase and energy for
  musical onset detection in the complex domain, IEEE Signal Processing Letters 11, 2004). A string that is
  struck anew starts its partials at phases of its own, however loud it rang before.

Both are divided by a threshold that follows what they were before, so that 1 and above is an onset.
Constants marked as chosen were chosen as `dsp.attacks` says.
"""

from collections import deque

import numpy as np
import numpy.typing as npt

from dsp.reading import Signal

HOP_S = 0.005
SPECTRUM_S = 0.0427  # 512 samples at 12 kHz: a period and three quarters of the double bass's E
_BAND_HZ = (60.0, 4900.0)
_BANDS_PER_OCTAVE = 6
_FLUX_HOPS, _STEADY_HOPS = 3, 2  # compared with so many hops before; a phase is told ahead so many hops
_FLUX_FLOOR = 4.0  # in power over the room: what is fainter does not count as growth; chosen
_LOUD = 9.0  # in power over the room: a bin whose phase says something; chosen
_FLUX_LEAST, _FLUX_TIMES = 0.1, 1.3  # the threshold: chosen
_DEVIATION_LEAST, _DEVIATION_TIMES = 0.25, 1.2  # chosen
_BEFORE, _GAP = 30, 3  # hops: 150 ms that the threshold looks back, less the last 15
_ROOM_FALLS, _ROOM_RISES = 0.1, 0.0008  # share a hop: 50 ms down, 6 s up
_PARTS = 6  # of the spectrum, in each of which the noise is taken to be even
_VALLEY = 0.25  # of the bins of a band lie below the valleys between partials
_VALLEY_OF_NOISE = 0.288  # that quantile of white noise's power beside its mean: -ln(1 - 0.25)


class OnsetFunction:
    """How surely something begins, hop after hop.

    `rate_hz` is about 12000; `window` the length of the spectra in samples.
    """

    def __init__(self, rate_hz: float, window: int) -> None:
        frequencies = np.fft.rfftfreq(window, 1.0 / rate_hz)
        self._window = np.hanning(window)
        self._used = np.flatnonzero((frequencies >= _BAND_HZ[0]) & (frequencies < _BAND_HZ[1]))
        self._starts = _band_starts(np.asarray(frequencies[self._used], np.float64))
        self._sizes = np.diff([*self._starts, self._used.size])
        self._parts = self._used.size // _PARTS  # bins in each
        self._part_of = np.minimum(np.arange(self._used.size) // self._parts, _PARTS - 1)
        self._floor: Signal | None = None  # power of the room in each bin
        self._spectra: deque[npt.NDArray[np.complex128]] = deque(maxlen=2 * _STEADY_HOPS + 1)
        self._levels: deque[Signal] = deque(maxlen=_FLUX_HOPS + 1)
        self._flux: deque[float] = deque([0.0] * _BEFORE, maxlen=_BEFORE)
        self._deviation: deque[float] = deque([0.0] * _BEFORE, maxlen=_BEFORE)

    def of(self, frames: Signal) -> list[float]:
        """For each frame, shape (n, window), the larger of both functions over their thresholds."""
        if not len(frames):
            return []
        spectra = np.fft.rfft(frames * self._window, axis=1)[:, self._used]
        return [self._next(spectrum) for spectrum in spectra]

    def _next(self, spectrum: npt.NDArray[np.complex128]) -> float:
        power = spectrum.real**2 + spectrum.imag**2
        floor = self._room(power)
        self._spectra.append(spectrum)
        bands = np.add.reduceat(power + _FLUX_FLOOR * floor, self._starts) / self._sizes
        self._levels.append(np.log10(bands))
        flux, deviation = self._grown(), self._strayed(floor)
        grew, strayed = _usual(self._flux), _usual(self._deviation)
        over = max(
            flux / (_FLUX_LEAST + _FLUX_TIMES * sum(grew) / len(grew)),
            deviation / (_DEVIATION_LEAST + _DEVIATION_TIMES * strayed[len(strayed) // 2]),
        )
        self._flux.append(flux)
        self._deviation.append(deviation)
        return over

    def _room(self, power: Signal) -> Signal:
        """Power of the room's noise in each bin: the valleys between partials, slowly up and soon down."""
        part = power[: self._parts * _PARTS].reshape(_PARTS, self._parts)
        valley = int(_VALLEY * self._parts)
        low = np.partition(part, valley, axis=1)[:, valley] / _VALLEY_OF_NOISE + 1e-12
        now = low[self._part_of]
        old = now if self._floor is None else self._floor
        self._floor = old + (now - old) * np.where(now < old, _ROOM_FALLS, _ROOM_RISES)
        return self._floor

    def _grown(self) -> float:
        """Spectral flux, in decades."""
        if len(self._levels) <= _FLUX_HOPS:
            return 0.0
        before = self._levels[0]
        loudest = before.copy()
        np.maximum(loudest[1:], before[:-1], out=loudest[1:])
        np.maximum(loudest[:-1], before[1:], out=loudest[:-1])
        return float(np.maximum(self._levels[-1] - loudest, 0.0).mean())

    def _strayed(self, floor: Signal) -> float:
        """Complex-domain deviation: 0 for steady partials, about 1 for a spectrum that is new."""
        if len(self._spectra) <= 2 * _STEADY_HOPS:
            return 0.0
        first, middle, last = self._spectra[0], self._spectra[_STEADY_HOPS], self._spectra[-1]
        there, now = np.abs(middle), np.abs(last)
        steady = middle * middle * np.conj(first) / (there * np.abs(first) + 1e-12)
        most = np.maximum(there, now)
        loud = most**2 > _LOUD * floor
        room = 0.5 * float(np.sqrt(floor).sum())
        return float(np.abs(last - steady)[loud].sum() / (most[loud].sum() + room))


def _usual(before: deque[float]) -> list[float]:
    """What the threshold looks back at, in order of size."""
    return sorted(list(before)[: _BEFORE - _GAP])


def _band_starts(frequencies: Signal) -> list[int]:
    """Where each band begins among the bins: a sixth of an octave wide, and at least one bin."""
    starts, edge = [0], frequencies[0] * 2.0 ** (1.0 / _BANDS_PER_OCTAVE)
    for place, frequency in enumerate(frequencies):
        if place and frequency >= edge:
            starts.append(place)
            edge = frequency * 2.0 ** (1.0 / _BANDS_PER_OCTAVE)
    return starts
