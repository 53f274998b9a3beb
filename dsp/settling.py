"""Where a plucked string will settle, and how sure that is, from the phases of its partials.

Partial k has, against the phase of its expected frequency f_k, the phase

    theta_k + r_k * integral of (p + fall(t) + s k^2 + o_k + d_k(t) + w(t)) dt,   r_k = 2 pi f_k ln 2 / 1200,

with everything in the integral in cents: p the settled pitch; the fall of a sharp start, a sum of fixed
exponentials; s the change of stiffness (k f sqrt(1 + B k^2), Fletcher & Rossing, The Physics of Musical
Instruments, 1998, chapter 2); o_k + d_k what partial k has of its own, a resonance of the body or two
swings that beat (Weinreich, JASA 62, 1977; Woodhouse, Acustica 90, 2004), a quarter of it constant and the
rest drifting; and w a wander that all partials share. All of it is Gaussian, so the whole is solved at once
by least squares with priors. How far partials scatter, how far they wander and how deep the start falls is
not known beforehand: a small grid of such sizes, and of kinds of start, is solved, and the answers are
averaged by their evidence (Bayesian model averaging; MacKay, Neural Computation 4, 1992). The variance is
that of the mixture, the variances' mean and the means' variance: while the partials cannot tell yet whether
a start is shallow or deep and slow, the standard error says so. Partials that do not belong are given less
weight (Student's t by iteratively reweighted least squares: Lange, Little & Taylor, JASA 84, 1989).
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from dsp.columns import MOST_COLUMNS, PER_CENT, Columns, Rows
from dsp.median import middle
from dsp.reading import Signal

# The sharp start: decay times in seconds, and in cents mean and deviation of the amplitude of each, for three
# kinds of start, a row each: next to none; shallow and soon over, as on recorded steel strings; and deep and
# slow, as on a violin's and a viola's. Chosen on recorded plucks (a guitar, a bass played two and four times
# as fast, guitar and bass also bent to sink as a violin does) and tried on synthetic ones.
# The last of each kind sinks as the string's own swing dies: a swing stretches the string by its square, and
# of its two planes the one that is heard less dies more slowly (Weinreich), so that what is left is nearer to
# the heard amplitude itself than to its square.
FALL_S = np.array([0.035, 0.07, 0.14, 0.28, 0.6])
_SHALLOW_MEAN, _SHALLOW_SD = [0.5, 1.5, 1.8, 2.0, 0.5, 0.3], [4.5, 4.0, 3.0, 3.0, 1.0, 1.0]
_SLOW_MEAN, _SLOW_SD = [0.5, 1.5, 3.0, 4.0, 1.5, 4.0], [6.0, 15.0, 15.0, 8.0, 8.0, 5.0]
SWING_S = (0.2, 3.0)  # shortest and longest time that is taken for a swing's
_NEXT_TO_NONE = 0.15  # times the shallow one
FALL_MEAN = np.array([np.multiply(_NEXT_TO_NONE, _SHALLOW_MEAN), _SHALLOW_MEAN, _SLOW_MEAN])
FALL_SD = np.array([np.multiply(_NEXT_TO_NONE, _SHALLOW_SD), _SHALLOW_SD, _SLOW_SD])
FALL_LOG_CHANCE = np.log([0.25, 0.25, 0.5])  # of each kind before anything is heard
# Long strings sink longer, as their swings, whose square makes the start sharp, die more slowly (Fletcher &
# Rossing, chapter 2): below so many Hz all decay times are so much longer, up to so many times. The exponent
# was chosen on a bass at its own pitch and on synthetic modes.
SINKS_LONGER_HZ, _LONGER, _LONGEST = 100.0, 0.7, 3.0
# What is tried with each: scatter of the partials with a common wander, in cents.
SCATTERS = np.array([0.05, 0.3, 1.0, 2.5, 6.0])
WANDERS = np.array([0.02, 0.1, 0.2, 0.4, 0.7])
BOWED_WANDERS = np.array([0.5, 1.0, 1.5, 2.0, 4.0])
CONSTANT = 0.25  # share of a partial's own variance that stays as long as the note
DRIFT_S = 0.06  # correlation time of the rest
# Cents by which a string whose partials scatter by a cent or more stands off as a whole for longer than it
# is heard: its swings differ, and beat slowly. Without it 1.4 % of readings from 0.5 s on lay beyond three
# stated errors and a cent, and with it 0.5 % (realistic plucks).
STANDS_OFF = 1.5
WANDER_S = 0.2  # and of the common wander
EARLY_WANDER = 15.0  # how much more of it there is at the pluck
EARLY_WANDER_S = 0.08  # and how fast that dies away
STIFFNESS_SD = 0.07  # cents a squared partial: recorded strings; small sizes have ten times that
PITCH_SD = 60.0  # cents, of the expected pitch
_FREEDOM = 4.0  # of Student's t, for whole partials
_LEAST_TRUST = 0.02
_JITTER = 1e-12  # square cents times seconds: keeps the wander's covariance invertible


@dataclass(frozen=True, slots=True)
class Settled:
    """What the phases say; cents are counted from the expected pitch."""

    cents: float  # the settled pitch
    std_error: float
    stiffness: float  # against the expected one, cents a squared partial
    fall: Signal  # shape (m,): amplitude of each exponential
    fall_s: Signal  # shape (m,): time in which each decays
    scatter: float  # of the partials about their common course, cents
    trust: Signal  # shape (k,): weight of each partial of the columns, 0..1
    own: Signal  # shape (k,): constant offset of each
    index: Rows  # which of the followed partials these are
    now_cents: float  # the common pitch at the last time
    misfit: float  # chi squared a degree of freedom of the likeliest sizes; 1 is usual
    size: int  # which of the sizes of scatter and wander is the likeliest

    def moved(self, by: float, partials: int) -> "Settled":
        """The same counted from a pitch `by` cents higher, without partials from the `partials`-th on."""
        kept = self.index < partials
        index, own, trust = self.index[kept], self.own[kept], self.trust[kept]
        return replace(
            self, cents=self.cents - by, now_cents=self.now_cents - by, index=index, own=own, trust=trust
        )

    def sharp(self, time_s: Signal) -> Signal:
        """What is left of the sharp start, cents."""
        return np.asarray(self.fall @ np.exp(-time_s / self.fall_s[:, None]))


def integrated(time_s: Signal, tau_s: float) -> Signal:
    """Covariance, shape (b, b), of the integral, from time 0 on, of a process of variance 1.

    Its values tau apart correlate by 1/e (Ornstein & Uhlenbeck, Physical Review 36, 1930).
    """
    t = time_s / tau_s
    decay = np.exp(-t)
    apart = np.exp(-np.abs(t[:, None] - t))
    return np.asarray(tau_s**2 * (2.0 * np.minimum(t[:, None], t) - 1.0 + decay[:, None] + decay - apart))


def _wandered(time_s: Signal, *, bowed: bool) -> Signal:
    """Covariance, shape (b - 1, b - 1), of the integral of a wander of size 1 from the first time on.

    It is larger in a note's first moments, as no sum of exponentials describes every start.
    """
    middle, step = 0.5 * (time_s[1:] + time_s[:-1]), time_s[1:] - time_s[:-1]
    moved = step if bowed else step * (1.0 + EARLY_WANDER * np.exp(-middle / EARLY_WANDER_S))
    summed = _SO_FAR[: step.size, : step.size] * moved
    return np.asarray(summed @ np.exp(np.abs(middle[:, None] - middle) / -WANDER_S) @ summed.T)


_SO_FAR = np.tril(np.ones((MOST_COLUMNS, MOST_COLUMNS)))


@dataclass(frozen=True, slots=True)
class _Sums:
    """Normal equations of the common course for every scatter of the partials that is tried, h of them."""

    normal: Signal  # shape (h, n, n)
    right: Signal  # shape (h, n)
    log: Signal  # shape (h,): -2 log likelihood at 0
    inverse: Signal  # shape (h, k, b, b): of each partial's covariance, its own phase eliminated


@dataclass(frozen=True, slots=True)
class _Priors:
    """What is expected of the unknowns, for h wanders and s starts."""

    matrix: Signal  # shape (h, s, n, n): inverse covariance
    pull: Signal  # shape (s, n): inverse covariance times mean
    log: Signal  # shape (h, s): log determinant of the covariance, and the mean's own square


def solved(columns: Columns, *, bowed: bool = False, near: int | None = None) -> Settled:
    """Solve for the settled pitch, averaged over the sizes that are tried.

    Parameters
    ----------
    bowed : a bowed string has no sharp start, and the bow keeps moving its pitch
    near : the likeliest size of a fit shortly before: only that and its neighbours are tried
    """
    tried = slice(None) if near is None else slice(max(near - 1, 0), near + 2)
    wanders = (BOWED_WANDERS if bowed else WANDERS)[tried]
    fall_s = _fall_s(columns)
    starts = 1 if bowed else FALL_LOG_CHANCE.size
    since = columns.time_s - columns.time_s[0]
    m, b = fall_s.size, since.size
    design = np.zeros((m + b, b))  # of pitch, start and wander
    design[0] = since
    design[1 : m + 1] = _so_far(columns.time_s[0], since, fall_s)
    design[m + 1 :, 1:] = np.eye(b - 1)
    sums = _sums(columns, since, design, tried)
    priors = _priors(columns, wanders, starts, bowed=bowed)
    means, variances, chance = _averaged(sums, priors)
    mean, best = chance @ means, int(np.argmax(chance))
    scatter = float(np.repeat(SCATTERS[tried], starts) @ chance)
    variance = float(chance @ (variances + (means[:, 0] - mean[0]) ** 2))
    variance += (STANDS_OFF * min(scatter, 1.0)) ** 2
    size = best // starts
    likeliest = size + (tried.start or 0)
    chi, offset = _left_over(columns, since, sums.inverse[size], means[best], design)
    fall_now = mean[1 : m + 1] @ np.exp(-columns.time_s[-1] / fall_s)
    freedom = max(since.size - 1, 1)
    return Settled(
        cents=float(mean[0]),
        std_error=math.sqrt(variance),
        stiffness=float(mean[-1]),
        fall=mean[1 : m + 1],
        fall_s=fall_s,
        scatter=scatter,
        trust=np.clip((_FREEDOM + freedom) / (_FREEDOM + chi), _LEAST_TRUST, 1.0),
        own=CONSTANT * float(SCATTERS[likeliest]) ** 2 * offset,
        index=columns.index,
        now_cents=float(mean[0] + fall_now),
        misfit=middle(chi) / freedom,
        size=likeliest,
    )


def _fall_s(columns: Columns) -> Signal:
    """Decay times of the exponentials of a start, shape (m,): those of the table, and the swing's own."""
    pitch = float(columns.rate[0] / (2.0 * math.pi * PER_CENT * columns.harmonic[0]))
    longer = min(max(1.0, (SINKS_LONGER_HZ / pitch) ** _LONGER), _LONGEST)
    return np.append(longer * FALL_S, min(max(columns.swing_s, SWING_S[0]), SWING_S[1]))


def _so_far(first_s: float, since: Signal, fall_s: Signal) -> Signal:
    """Integrals of the exponentials of a start, from the first time on, shape (m, b)."""
    return np.asarray((fall_s * np.exp(first_s / -fall_s))[:, None] * -np.expm1(since / -fall_s[:, None]))


def _sums(columns: Columns, since: Signal, design: Signal, tried: slice) -> _Sums:
    rate, k2, b = columns.rate, columns.harmonic**2, since.size
    stays, drifts = np.outer(since, since), integrated(since, DRIFT_S)
    own, scatters = CONSTANT * stays + (1.0 - CONSTANT) * drifts, SCATTERS[tried]
    h = scatters.size
    cov = np.outer(scatters**2, rate**2)[:, :, None, None] * own
    diagonal = np.arange(b)
    cov[..., diagonal, diagonal] += columns.variance
    cov /= columns.trust[:, None, None]
    inverse = np.asarray(np.linalg.inv(cov), np.float64)
    row = inverse.sum(axis=3)
    mass = row.sum(axis=2)
    inverse -= row[..., :, None] * (row / mass[..., None])[..., None, :]
    pulled = (inverse @ columns.phase[:, :, None])[..., 0]
    log = (columns.phase * pulled).sum(axis=(1, 2)) + (_log_of_determinant(cov) + np.log(mass)).sum(axis=1)
    weights = rate**2 * np.array([np.ones(rate.size), k2, k2**2])
    flat = (weights @ inverse.reshape(h, rate.size, b * b)).reshape(h, 3, b, b)
    seen = np.array([rate, rate * k2]) @ pulled
    n = design.shape[0] + 1
    normal, right = np.empty((h, n, n)), np.empty((h, n))
    normal[:, :-1, :-1] = design @ flat[:, 0] @ design.T
    normal[:, :-1, -1] = normal[:, -1, :-1] = flat[:, 1] @ since @ design.T
    normal[:, -1, -1] = flat[:, 2] @ since @ since
    right[:, :-1], right[:, -1] = seen[:, 0] @ design.T, seen[:, 1] @ since
    return _Sums(normal, right, log, inverse)


def _priors(columns: Columns, wanders: Signal, starts: int, *, bowed: bool) -> _Priors:
    b, m = columns.time_s.size - 1, FALL_MEAN.shape[1]
    wander = _wandered(columns.time_s, bowed=bowed) + _JITTER * np.eye(b)
    inverse, log = np.asarray(np.linalg.inv(wander), np.float64), float(_log_of_determinant(wander))
    alone, mean = np.empty((starts, m + 2)), np.zeros((starts, m + 2))
    alone[:, 0], alone[:, 1:-1], alone[:, -1] = PITCH_SD, FALL_SD[:starts], STIFFNESS_SD
    mean[:, 1:-1], mean[:, -1] = FALL_MEAN[:starts], columns.stiffness
    rows = np.append(np.arange(m + 1), m + b + 1)
    matrix = np.zeros((wanders.size, starts, m + b + 2, m + b + 2))
    matrix[:, :, rows, rows] = alone**-2.0
    matrix[:, :, m + 1 : -1, m + 1 : -1] = (inverse / (wanders**2)[:, None, None])[:, None]
    pull = np.zeros((starts, m + b + 2))
    pull[:, rows] = mean / alone**2
    by_start = (2.0 * np.log(alone) + (mean / alone) ** 2).sum(axis=1) - 2.0 * FALL_LOG_CHANCE[:starts]
    return _Priors(matrix, pull, (log + 2.0 * b * np.log(wanders))[:, None] + by_start)


def _log_of_determinant(covariance: Signal) -> Signal:
    """Of positive definite matrices, shape (..., n, n); shape (...,)."""
    root = np.linalg.cholesky(covariance)
    return np.asarray(2.0 * np.log(root.diagonal(axis1=-2, axis2=-1)).sum(axis=-1))


def _averaged(sums: _Sums, priors: _Priors) -> tuple[Signal, Signal, Signal]:
    """Means (h s, n), variances of the pitch (h s,) and chances (h s,) of all sizes."""
    n = sums.right.shape[1]
    right = (sums.right[:, None] + priors.pull).reshape(-1, n)
    normal = (sums.normal[:, None] + priors.matrix).reshape(-1, n, n)
    wanted = np.zeros((*right.shape, 2))  # the unknowns, and the first column of their covariance
    wanted[:, :, 0], wanted[:, 0, 1] = right, 1.0
    found = np.asarray(np.linalg.solve(normal, wanted), np.float64)
    means, variances = found[:, :, 0], found[:, 0, 1]
    logs = (means * right).sum(axis=1) - _log_of_determinant(normal)
    logs -= (sums.log[:, None] + priors.log).ravel()
    chance = np.exp(0.5 * (logs - logs.max()))
    return means, variances, chance / chance.sum()


def _left_over(
    columns: Columns, since: Signal, inverse: Signal, x: Signal, design: Signal
) -> tuple[Signal, Signal]:
    """Chi squared of each partial about a course, and its offset in units of its variance, (k,) each."""
    course = x[:-1] @ design + x[-1] * columns.harmonic[:, None] ** 2 * since
    left = columns.phase - columns.rate[:, None] * course
    pulled = (inverse @ left[:, :, None])[:, :, 0]
    return (left * pulled).sum(axis=1) / columns.trust, columns.rate * (pulled @ since)
