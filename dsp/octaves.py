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

from dsp.median import middle
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
    power = np.array([max(_highest(spectrum, hz), 1e-20) for hz in at_hz])
    noise = np.array([_noise_about(spectrum, hz, frequency_hz) for hz in at_hz])
    level, over = 10.0 * np.log10(power), 10.0 * np.log10(power / noise)
    below = 0.0
    for i in range(0, min(at_hz.size, 2 * _SLOTS), 2):
        if before is not None and power[i] < _NEW * _highest(before, at_hz[i]):
            continue
        usual_db = float(np.mean(level[[j for j in (i - 1, i + 1) if 0 <= j < level.size] or [i]]))
        usual_db -= 0.0 if i else _FIRST_DB
        below += _log_odds(float(power[i] / noise[i]), usual_db - 10.0 * math.log10(noise[i]))
    return Evidence(below, float(np.maximum(over[1::2] - _STANDS_DB, 0.0).sum()))


def _highest(spectrum: Spectrum, hz: float) -> float:
    reach = max(_REACH / spectrum.span_s, _STRETCH * hz)
    first, last = int((hz - reach) / spectrum.bin_hz), int((hz + reach) / spectrum.bin_hz) + 2
    return float(spectrum.power[max(first, 1) : last].max())


def _noise_about(spectrum: Spectrum, hz: float, frequency_hz: Hz) -> float:
    """Mean power of the noise on either side of a slot."""
    near = min(_ASIDE[0] * frequency_hz, _SKIRT / spectrum.span_s)
    far = _ASIDE[1] * frequency_hz
    ends = [max(int((hz + d) / spectrum.bin_hz), 1) for d in (-far, -near, near, far)]
    sides = np.concatenate([spectrum.power[ends[0] : ends[1]], spectrum.power[ends[2] : ends[3] + 1]])
    return max(middle(sides) / _MEDIAN_OF_NOISE, 1e-16)


def _log_odds(ratio: float, usual_db: float) -> float:
    """Log odds of a partial of about a level over the noise, against noise alone, in nats."""
    ratio = max(ratio, 0.3)
    mean = 1.0 + 10.0 ** ((usual_db + _LEVEL_SD_DB * _NODES) / 10.0)
    partial = float((_SHARES * _density(ratio, mean)).sum())
    noise = float(_density(ratio, np.ones(1))[0]) + 1e-30
    return min(math.log((1.0 - _ABSENT) * partial / noise + _ABSENT), _MOST)


def _density(ratio: float, mean: Signal) -> Signal:
    """Chance of the highest of `_BINS` exponentially distributed powers, by their mean."""
    x = ratio / mean
    return np.asarray(np.exp(-x) / mean * (-np.expm1(-x)) ** (_BINS - 1.0))
