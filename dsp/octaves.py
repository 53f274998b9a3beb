"""Whether the octave below is the truth: what sounds half-way between the partials.

A string an octave below the pitch that was found has all its partials, and as many again half-way
between them. A weak fundamental, a pluck at a third of the string or a poor microphone may hide the
lowest of those from any short look, so the whole note, up to half a second of it, is looked at: for
each half-way slot the power that stands there is weighed, as likely under a string whose partials
scatter as much as those of real ones do, against as likely under noise alone. The noise is that of
the slot's own surroundings.
"""

import math
from dataclasses import dataclass

import numpy as np

from dsp.reading import Signal
from dsp.spectrum import Spectrum
from dsp.units import Hz

_SLOTS = 6  # half-way slots weighed: partials 1, 3 .. 11 of the octave below
_PARTIALS = 8  # of the pitch itself that are asked how far they stand out
_LEVEL_SD_DB = 14.0  # scatter of a partial about its neighbours' mean level; see dsp.coarse
_FIRST_DB = 6.0  # by which the lowest partial is usually weaker than its neighbour
_ABSENT = 0.1  # chance that a partial is not there at all: the pluck point silences whole families
_BINS = 2.0  # independent values among which a slot's maximum is sought
_MOST = 8.0  # nats one slot may say: another string may stand there
_REACH = 0.4  # half width of a slot, in units of 1 / window
_STRETCH = 0.002  # and share of its frequency: glide and inharmonicity
_ASIDE = (0.12, 0.38)  # where the noise is measured, in fundamentals from the slot
_SKIRT = 1.5  # but not so near, in units of 1 / window
_NEW = 2.5  # times the power before the pluck: what stood there already says nothing
_MEDIAN_OF_NOISE = 0.69  # ln 2: the median of white noise's power against its mean
_NODES = np.linspace(-2.2, 2.2, 12)  # of the normal distribution of levels, in standard deviations
_SHARES = np.exp(-0.5 * _NODES**2) / np.exp(-0.5 * _NODES**2).sum()
_STANDS_DB = 12.0  # over the noise: from there on a partial counts as standing out
_FAMILY = 12  # partials asked whether all but every second, or third, are missing
_OUTSTANDING = 4.0  # times the noise about it
# Logistic regression on plucks whose octave was right or wrong: seeds 2030 to 2038 at 5 to -5 dB in
# white and pink noise by four microphones, 2050 to 2057 at 20 to -5 dB beside another violin as well.
_CONSTANT, _BY_BELOW, _BY_STRENGTH, _BY_STANDING = 1.26, 0.70, -0.50, -0.13
# Of right octaves 1 in 150 lies above -2.85, of wrong ones 1 in 15 under -2.6: it leans to doubting.
_MIDDLE, _STEEP = -2.3, 4.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a note shows at its partials and half-way between them."""

    below: float  # nats, for a string an octave lower
    standing_db: float  # how far its own partials stand out, summed


def doubt_of(evidence: Evidence, strength: float) -> float:
    """The chance that the octave is wrong, 0..1, rather too high than too low.

    Parameters
    ----------
    strength : what speaks for the pitch that was found, in nats (`dsp.coarse`)
    """
    odds = _CONSTANT + _BY_BELOW * evidence.below + _BY_STRENGTH * strength
    odds += _BY_STANDING * evidence.standing_db
    return 1.0 / (1.0 + math.exp(-max(min(_STEEP * (odds - _MIDDLE), 60.0), -60.0)))


def evidence_of(
    spectrum: Spectrum, frequency_hz: Hz, inharmonicity: float, band_hz: Hz, before: Spectrum | None
) -> Evidence:
    """Weigh a string an octave below against one at `frequency_hz`.

    Parameters
    ----------
    spectrum : of the note
    before : of as long a stretch before it, where there is one
    """
    place = 0.5 * np.arange(1, 2 * _PARTIALS + 1)
    at_hz = frequency_hz * place * np.sqrt(1.0 + inharmonicity * place**2)
    at_hz = at_hz[at_hz + _ASIDE[1] * frequency_hz < band_hz]
    if at_hz.size == 0:
        return Evidence(0.0, 0.0)
    power = np.maximum(_highest(spectrum, at_hz), 1e-20)
    noise = _noise_about(spectrum, at_hz, frequency_hz)
    level, over = 10.0 * np.log10(power), 10.0 * np.log10(power / noise)
    between = slice(0, 2 * _SLOTS, 2)
    usual_db = _neighbours_mean(level)[between] - 10.0 * np.log10(noise[between])
    usual_db[0] -= _FIRST_DB
    told = _log_odds(power[between] / noise[between], usual_db)
    if before is not None:
        told = told[power[between] >= _NEW * _highest(before, at_hz[between])]
    return Evidence(float(told.sum()), float(np.maximum(over[1::2] - _STANDS_DB, 0.0).sum()))


def share_beside(spectrum: Spectrum, frequency_hz: Hz, inharmonicity: float, band_hz: Hz) -> float:
    """Share of the partials' power beside every second of them, or beside every third; the smaller one.

    Where it is nothing, the pitch is twice or three times as high: a pluck point silences every second
    partial, or every third, but no string has those alone.
    """
    number = np.arange(1, _FAMILY + 1)
    at_hz = frequency_hz * number * np.sqrt(1.0 + inharmonicity * number**2)
    at_hz = at_hz[at_hz + _ASIDE[1] * frequency_hz < band_hz]
    if at_hz.size < 2:
        return 1.0
    power = _highest(spectrum, at_hz)
    power[power < _OUTSTANDING * _noise_about(spectrum, at_hz, frequency_hz)] = 0.0
    total, number = max(float(power.sum()), 1e-30), number[: at_hz.size]
    return min(float(power[number % step > 0].sum()) / total for step in (2, 3))


def _highest(spectrum: Spectrum, hz: Signal) -> Signal:
    """The highest power near each frequency."""
    reach = np.maximum(_REACH / spectrum.span_s, _STRETCH * hz)
    ends = np.empty(2 * hz.size, np.intp)
    ends[::2] = np.maximum((hz - reach) / spectrum.bin_hz, 1.0)
    ends[1::2] = (hz + reach) / spectrum.bin_hz + 2.0
    return np.maximum.reduceat(spectrum.power, np.minimum(ends, spectrum.power.size - 1))[::2]


def _noise_about(spectrum: Spectrum, hz: Signal, frequency_hz: Hz) -> Signal:
    """Mean power of the noise on either side of each slot."""
    near = min(_ASIDE[0] * frequency_hz, _SKIRT / spectrum.span_s)
    far = _ASIDE[1] * frequency_hz
    ends = np.maximum((hz[:, None] + (-far, -near, near, far)) / spectrum.bin_hz, 1.0).astype(np.intp)
    ends[:, 3] += 1
    first, size = ends[:, ::2], ends[:, 1::2] - ends[:, ::2]
    bins = np.arange(int(size.max()))
    sides = spectrum.power.take(first[:, :, None] + bins, mode="clip")
    sides[bins >= size[:, :, None]] = np.inf
    ordered, last = np.sort(sides.reshape(hz.size, -1), axis=1), size.sum(axis=1) - 1
    slot = np.arange(hz.size)
    middle = 0.5 * (ordered[slot, last // 2] + ordered[slot, (last + 1) // 2])
    return np.asarray(np.maximum(middle / _MEDIAN_OF_NOISE, 1e-16))


def _neighbours_mean(level: Signal) -> Signal:
    """Of each level's one or two neighbours; its own where it stands alone."""
    if level.size == 1:
        return level
    left, right = np.append(level[1], level[:-1]), np.append(level[1:], level[-2])
    return np.asarray(0.5 * (left + right))


def _log_odds(ratio: Signal, usual_db: Signal) -> Signal:
    """Log odds of partials of about a level over the noise, against noise alone, in nats."""
    ratio = np.maximum(ratio, 0.3)
    mean = 1.0 + 10.0 ** ((usual_db[:, None] + _LEVEL_SD_DB * _NODES) / 10.0)
    partial = _density(ratio[:, None], mean) @ _SHARES
    noise = _density(ratio, np.ones(ratio.size)) + 1e-30
    return np.asarray(np.minimum(np.log((1.0 - _ABSENT) * partial / noise + _ABSENT), _MOST))


def _density(ratio: Signal, mean: Signal) -> Signal:
    """Chance of the highest of `_BINS` exponentially distributed powers, by their mean."""
    x = ratio / mean
    return np.asarray(np.exp(-x) / mean * (-np.expm1(-x)) ** (_BINS - 1.0))
