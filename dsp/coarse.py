"""Which pitch, and in which octave: a safe first guess from the spectral peaks.

Every strong peak may be partial n of the string, n = 1, 2, 3 ...; each such fundamental is a
candidate. A candidate is scored by how likely a string of that pitch is to look as the spectrum
does, in nats:

- a peak in the slot of partial k (k f sqrt(1 + B k^2): Fletcher & Rossing) is worth more the higher
  it stands, as chance seldom puts one there, and less the odder its level for that partial;
- a slot that stays empty costs more the further the floor lies below the level that partial
  usually has: so the octave below, with its empty odd slots, loses;
- a peak that no slot explains costs: so the octave above, which leaves the odd partials
  unexplained, loses.

The doubt about the octave is the chance, by these scores, of any rival pitch.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.reading import Signal
from dsp.spectrum import Peaks
from dsp.units import Hz

_STRONG = 6  # candidates come from this many of the strongest peaks
_LEAST_PERIODS = 2.3  # of a candidate in the spectrum: closer partials do not part under a Hann window
_SLOTS = 30  # partials looked at
_FINALISTS = 48  # candidates whose levels are judged as well; first so many of them,
_FIRST_FINALISTS = 10
_NO_RIVAL = 5.0  # and the others only where they come this near to the best, in nats: odds under 1 in 100
_USUAL_B = 1.5e-4  # of full-size strings, and
_INHARMONICITIES = (0.0, _USUAL_B, 6e-4)  # up to ten times that on small ones
_LIKELY = 12  # candidates for which all of those are tried
_HIGHEST_NUMBER = 24  # that a strong peak may have among the partials
_ANOTHER = 0.03  # in the logarithm of the pitch, half a semitone: nearer candidates are the same pitch
_SLOPES_DB = (4.0, 8.0, 14.0)  # usual fall of level per harmonic: bright, usual, dull
_LEVEL_SD_DB = 14.0  # scatter of a harmonic's level about that line; the SHARC pizzicato notes have 12 to 16
_TOLERANCE = 0.3  # a peak belongs to a slot this near, in units of 1 / window
_OFF = 0.2  # usual distance of a peak from its partial, in units of 1 / window
_EXACT_SLOTS = 6  # partials so low that B hardly moves them
_MOST_OFF = 4.0  # nats that a peak's distance from its slot costs at most: it may be bent by a neighbour
_STIFFER = 0.003  # of a partial's number by which B, not known yet, may move its slot further
# Share of its place, some 35 cents, by which a partial near a resonance of the body may stray while the
# string swings widely: of 122 partials in the first 0.1 s of recorded violin and viola plucks, 1 in 20 stands
# 26 cents off the others' course and the furthest 49. A usual stray, some 9 cents; and the most of a slot: in
# a high one else all noise would fit.
_STRAYS, _USUAL_STRAY, _MOST_STRAY = 0.02, 0.005, 0.07
_SLOT = 0.23  # of the distance from slot to slot: beyond, a peak lies between two and not on one
_WOULD_STAND = 9.0  # times the floor: what would have been a peak
_PEAK_STANDS = 9.0  # dB over the floor from which a peak is one; see `dsp.spectrum`
# What a peak in a slot is worth, in nats: so much, and so much for each dB by which it stands out, up to so
# many dB: the higher it stands, the less likely chance put it there. Chosen, as all here that says no more.
_IN_A_SLOT, _BY_DB, _MOST_DB = 2.0, 0.12, 30.0
_SURELY_DB = 3.0  # by which a peak must stand out to be worth all of that: it is no step from none to a peak
_USUAL_TOP_DB = -6.0  # of a partial against the strongest, which is the strongest of many
_MOST_ODD = 3.0  # nats that an odd level costs at most, whatever pluck point or body did to that partial
_BEYOND_USUAL = 0.7  # nats for each step from a bright spectrum to a dull one; chosen
# Fundamentals that compete beside those in the range: an octave and a bit below and above it.
_BELOW, _ABOVE = 0.4, 2.6
# How much B is held where it was in a fit of the peaks, against what they say, and the greatest B; chosen.
_HOLD_B, _GREATEST_B = 1e-2, 1e-3
_LEAST_SCORE = -4.0  # nats; what is less likely is nothing
_STRAY_DB = 24.0  # a stray peak counts less the further it lies under the strongest: other strings ring along
_STRAY_LEAST = 0.25
_ITS_OWN = np.array([1, 5, 7, 11, 13, 17, 19, 23, 25, 29])  # partials that no string a fifth away shares
_COMMON_BASS = (
    4.0  # nats against a pitch of which only partials 2, 4 .. and 3, 6 .. show: two strings do that
)
_LOGISTIC = 1.702  # the normal distribution as a logistic one: 1 / (1 + exp(-1.702 x))
_NUMBERS = np.arange(1, _SLOTS + 1)
# Of each slot whether it counts among all, among partials 2, 4 .., among 3, 6 .. and among those of its own.
_FAMILIES = np.array(
    [np.ones(_SLOTS), _NUMBERS % 2 == 0, _NUMBERS % 3 == 0, np.isin(_NUMBERS, _ITS_OWN)], np.float64
).T
_USUAL_DB = _USUAL_TOP_DB - np.outer(_SLOPES_DB, np.arange(_SLOTS))  # so many slots beyond the loudest one


@dataclass(frozen=True, slots=True)
class Coarse:
    """A first guess."""

    frequency_hz: Hz
    inharmonicity: float
    doubt: float  # 0..1, that the octave, or the partial, is another one
    strength: float  # score in nats over "all of it is something else"
    explained: float  # 0..1, share of the peaks' power that the slots hold
    partials: int  # how many slots are filled


def coarse_pitch(
    peaks: Peaks, band_hz: Hz, lowest_hz: Hz, highest_hz: Hz, *, stiff: bool = True
) -> Coarse | None:
    """The likeliest fundamental between the two limits, or None where none is likely at all.

    Fundamentals up to a factor of two and a bit outside the limits compete as well: where one of
    those wins, the answer is None and not the octave of it that lies inside.

    Parameters
    ----------
    stiff : whether other inharmonicities than the usual one are tried; a short look cannot tell them apart
    """
    peak, number = _candidates(peaks, _BELOW * lowest_hz, _ABOVE * highest_hz)
    if peak.size == 0:
        return None
    f, b = _fundamental(peak, number, _USUAL_B), np.full(peak.size, _USUAL_B)
    score, filled, owner = _scores(peaks, band_hz, f, b)
    rivals = [(f, score)]
    if stiff:
        likely = np.argsort(-score)[:_LIKELY]
        f = np.concatenate([_fundamental(peak[likely], number[likely], other) for other in _INHARMONICITIES])
        b = np.repeat(_INHARMONICITIES, likely.size)
        score, filled, owner = _scores(peaks, band_hz, f, b)
        rivals.append((f, score))
    best = int(np.argmax(score))
    frequency, inharmonicity = _refined(peaks, owner[best], f[best], b[best])
    if not lowest_hz <= frequency <= highest_hz or score[best] <= _LEAST_SCORE:
        return None
    odds = max(_odds(rival, points, f[best], score[best]) for rival, points in rivals)
    share = float(peaks.power[owner[best] > 0].sum() / peaks.power.sum())
    return Coarse(
        Hz(frequency), inharmonicity, odds / (1.0 + odds), float(score[best]), share, int(filled[best])
    )


def _candidates(peaks: Peaks, lowest: float, highest: float) -> tuple[Signal, Signal]:
    """What is to be tried: a strong peak as a partial of some number, shape (c,) each."""
    strong, number = peaks.frequency_hz[:_STRONG, None], np.arange(1.0, _HIGHEST_NUMBER + 1.0)
    f = _fundamental(strong, number, _USUAL_B)
    keep = (f >= lowest) & (f <= highest) & (f * peaks.span_s >= _LEAST_PERIODS)
    return np.broadcast_to(strong, f.shape)[keep], np.broadcast_to(number, f.shape)[keep]


def _fundamental(partial_hz: Signal, number: Signal, inharmonicity: float) -> Signal:
    return np.asarray(partial_hz / (number * np.sqrt(1.0 + inharmonicity * number**2)))


def _odds(f: Signal, score: Signal, best_hz: float, best: float) -> float:
    """Of the likeliest rival against the best, 0 where there is none."""
    rival = score[np.abs(np.log(f / best_hz)) > _ANOTHER]
    return math.exp(max(min(float(rival.max()) - best, 0.0), -60.0)) if rival.size else 0.0


def _scores(peaks: Peaks, band_hz: Hz, f: Signal, b: Signal) -> tuple[Signal, Signal, npt.NDArray[np.intp]]:
    """Score (c,), filled slots (c,), and which slot owns each peak (c, p), 0 for none."""
    level, worth = _of_peaks(peaks)
    owner, odd_places = _owners(peaks, f, b)
    place = (owner + np.arange(0, f.size * (_SLOTS + 1), _SLOTS + 1)[:, None]).ravel()
    held, gain = np.full(f.size * (_SLOTS + 1), -np.inf), np.zeros(f.size * (_SLOTS + 1))
    held[place] = np.concatenate([level] * f.size)  # of the peaks that one slot owns, the weakest stays
    gain[place] = np.concatenate([worth] * f.size)
    held, gain = held.reshape(f.size, -1)[:, 1:], gain.reshape(f.size, -1)[:, 1:]
    filled, even, third, alone = ((held > -np.inf).astype(float) @ _FAMILIES).T
    cost = worth * np.clip(1.0 + level / _STRAY_DB, _STRAY_LEAST, 1.0)
    stray = (owner == 0) @ cost + odd_places
    stray += np.where((even > 0.0) & (third > 0.0) & (alone == 0.0), _COMMON_BASS, 0.0)
    score = gain.sum(axis=1) - stray
    order = np.argsort(-score)[:_FINALISTS]  # the shape of a spectrum can only lower a score
    rest, top = np.full(f.size, -np.inf), -np.inf
    for some in (order[:_FIRST_FINALISTS], order[_FIRST_FINALISTS:]):
        near = some[score[some] > top - _NO_RIVAL]
        if near.size:
            rest[near] = score[near] + _shape(peaks, band_hz, f[near], b[near], held[near])
            top = float(rest[near].max())
    return rest, filled, owner


def _of_peaks(peaks: Peaks) -> tuple[Signal, Signal]:
    """Level of each peak against the strongest, dB, and what it is worth in a slot, nats."""
    at = np.minimum((peaks.frequency_hz / peaks.bin_hz).astype(np.intp), peaks.floor.size - 1)
    over = 10.0 * np.log10(peaks.power / peaks.floor[at]) - _PEAK_STANDS
    worth = _IN_A_SLOT * np.clip(over / _SURELY_DB, 0.0, 1.0) + _BY_DB * np.minimum(over, _MOST_DB)
    return 10.0 * np.log10(peaks.power / peaks.power[0]), worth


def _owners(peaks: Peaks, f: Signal, b: Signal) -> tuple[npt.NDArray[np.intp], Signal]:
    """Which slot owns each peak (c, p), 0 for none, and what they cost by standing off their slots, (c,)."""
    ratio = peaks.frequency_hz / f[:, None]
    twice = 2.0 * np.maximum(b, 1e-9)[:, None]
    exact = np.sqrt((np.sqrt(1.0 + 2.0 * twice * ratio**2) - 1.0) / twice)
    slot = np.rint(exact)
    width = 1.0 / (f[:, None] * peaks.span_s)
    tolerance = np.sqrt((_TOLERANCE * width) ** 2 + np.minimum(_STRAYS * exact, _MOST_STRAY) ** 2)
    tolerance = np.minimum(tolerance + _STIFFER * exact, _SLOT)
    away = np.abs(exact - slot)
    owner = np.where((away <= tolerance) & (slot >= 1.0) & (slot <= _SLOTS), slot, 0.0)
    off = away / (_OFF * width + _USUAL_STRAY * exact)
    exactly = (owner > 0.0) & (owner <= _EXACT_SLOTS)
    return owner.astype(np.intp), np.where(exactly, np.minimum(0.5 * off**2, _MOST_OFF), 0.0).sum(axis=1)


def _shape(peaks: Peaks, band_hz: Hz, f: Signal, b: Signal, held: Signal) -> Signal:
    """How usual the levels in the slots are, in nats, (c,): the best of the three slopes."""
    k = _NUMBERS
    at_hz = f[:, None] * k * np.sqrt(1.0 + b[:, None] * k**2)
    bins = np.minimum((at_hz / peaks.bin_hz).astype(np.intp), peaks.floor.size - 1)
    limit = 10.0 * np.log10(_WOULD_STAND / peaks.power[0] * peaks.floor[bins])  # what would have been a peak
    full = held > -np.inf
    beyond = np.maximum(k - 1 - np.argmax(held, axis=1)[:, None], 0)  # the loudest slot
    usual = _USUAL_DB.take(beyond, axis=1)  # shape (slopes, c, slots)
    odd = np.minimum(0.5 * ((np.where(full, held, 0.0) - usual) / _LEVEL_SD_DB) ** 2, _MOST_ODD)
    # Nats of an empty slot, log(1 + odds), are added by multiplying, ten at a time.
    missed = np.clip(_LOGISTIC / _LEVEL_SD_DB * (usual - limit), -30.0, 30.0)
    empty = 1.0 + np.exp(missed) * ((at_hz < band_hz) & ~full)
    cost = (odd * full).sum(axis=2)
    cost += np.log(empty.reshape(len(usual), f.size, 3, -1).prod(axis=3)).sum(axis=2)
    return np.asarray((-cost - _BEYOND_USUAL * np.arange(len(usual))[:, None]).max(axis=0))


def _refined(peaks: Peaks, owner: npt.NDArray[np.intp], f: float, b: float) -> tuple[float, float]:
    """Fundamental and B by least squares over the owned peaks: (p / k)^2 = f^2 + f^2 B k^2."""
    own = owner > 0
    k = owner[own].astype(float)
    y = (peaks.frequency_hz[own] / k) ** 2
    weight = peaks.power[own] ** 0.5 * k**2
    x = k**2
    mean_x, mean_y = float(weight @ x / weight.sum()), float(weight @ y / weight.sum())
    spread = float(weight @ (x - mean_x) ** 2)
    prior = _HOLD_B * weight.sum() * mean_x**2 + 1e-9
    slope = (float(weight @ ((x - mean_x) * (y - mean_y))) + prior * b * f * f) / (spread + prior)
    slope = min(max(slope, 0.0), _GREATEST_B * f * f)
    square = max(mean_y - slope * mean_x, 0.25 * f * f)
    return math.sqrt(square), slope / square
