"""The pitch to a fraction of a cent, from how the partials' phases advance, and how sure it is.

Over the blocks of a note partial k has the phase (against its expected frequency f_k)

    phi_k + 2 pi f_k (c integral of y dt + k^2 b / (2 (1 + B k^2)) t),   c = ln 2 / 1200,

with y the pitch in cents against the expected one and b the error of the expected inharmonicity B
(Fletcher & Rossing: f_k = k f sqrt(1 + B k^2)). A note that settles has y = d + g s(t): s is one of
a set of ways a sharp start may die away, or nothing; every way is fitted, and they are averaged by
their evidence (Bayesian model averaging), so what is not known about the start widens the standard
error. A string that is being turned has y = d + v (t - t_end).

Gauss-Newton from the last answer. The misfit of a block is the part of its amplitude that stands at
right angles to the expected one, weighted by power over noise: the maximum of likelihood in white
noise (Rife & Boorstyn 1974, for one tone). The phases phi_k are eliminated: they are whatever the
blocks of their partial say on average. The noise is measured, block by block from what the partials
leave over and partial by partial from the misfit.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from dsp.partials import Basis, Phasors
from dsp.units import Cents

Signal = npt.NDArray[np.float64]

PER_CENT = math.log(2.0) / 1200.0  # share of a frequency
_OVERLAP = 4.0 / 3.0  # noise of half-overlapped Hann blocks: neighbours correlate by 1/6, 1 + 2/6
_STRAY = 3.0  # neighbouring blocks stray together
_STEADY = 6.0  # how many blocks' worth the noise common to all partials counts against one's own
_AROUND = 3  # blocks on either side over which an amplitude is smoothed
FIRST_ERROR = Cents(3.0)  # of the coarse guess
FIRST_B_ERROR = 5e-5  # of the coarse guess
_CAUTION = 1.0  # a partial whose phase may be off by a radian at the ends of the stretch gets little trust


@dataclass(frozen=True, slots=True)
class Tracks:
    """Amplitudes of all partials over time."""

    time_s: Signal  # shape (j,), block centres on the note's clock
    phasor: Phasors  # shape (k, j), phases against the expected partials
    noise: Signal  # shape (j,)
    base: Basis


@dataclass(frozen=True, slots=True)
class Course:
    """Ways the pitch may run: functions of time, and the sets of them that are tried."""

    integral: Signal  # shape (m, j): integral over time of each function; the first is 1, giving t
    expected: Signal  # shape (m,): what each coefficient usually is, in cents
    prior: Signal  # shape (m,): 1 / variance of each coefficient about that
    models: tuple[tuple[int, ...], ...]  # each a set of rows, all of one size but for the first
    odds: Signal  # shape (models,): prior probability
    stiffness: tuple[float, float]  # usual change of B against the expected one, and its deviation


@dataclass(frozen=True, slots=True)
class Fit:
    """What the phases say."""

    x: Signal  # mean coefficients of the course, cents, and last the change of B; shape (m + 1,)
    std_error: Signal  # of each
    misfit: float  # power at right angles over the expected power, all partials: 0 pure, 1 nonsense
    late_signal: float  # power of the partials over their noise, in the last blocks
    scatter: float = 0.0  # variance of the partials' pitches about the string's, cents squared
    known: Signal | None = None  # what each partial knows of the pitch, 1 / cents squared, (k,)
    wander: float = 1.0  # how much more the pitch strays from the course than noise explains; variance ratio


def fit(tracks: Tracks, course: Course, start: Fit, rounds: int) -> Fit:
    """Fit a course to the tracks.

    Parameters
    ----------
    start : where to start from, and how sure that is
    rounds : of Gauss-Newton
    """
    for _ in range(rounds):
        start = _round(tracks, course, start)
    return start


def first_fit(size: int) -> Fit:
    """What the coarse guess alone says, for a course of `size` coefficients."""
    return Fit(np.zeros(size + 1), np.append(np.full(size, FIRST_ERROR), FIRST_B_ERROR), 1.0, 0.0)


def _round(tracks: Tracks, course: Course, start: Fit) -> Fit:
    """One Gauss-Newton step, averaged over the models."""
    x = start.x
    base, time = tracks.base, tracks.time_s
    rate = 2.0 * math.pi * base.partial_hz
    stretch = rate * base.harmonic**2 / (2.0 * (1.0 + base.inharmonicity * base.harmonic**2))
    rate = rate * PER_CENT
    path = np.outer(rate, x[:-1] @ course.integral) + np.outer(stretch * x[-1], time)
    along, aside = _turned_back(tracks.phasor, path)
    size = np.maximum(along @ _smoothing(time.size), 0.0)
    noise = _noise(aside, tracks)
    reach = (rate * start.std_error[0]) ** 2 + (stretch * start.std_error[-1]) ** 2
    trust = np.exp(-0.5 * np.minimum(reach * (_CAUTION * (time[-1] - time[0])) ** 2, 100.0))
    pull = size / noise * (trust / _OVERLAP)[:, None]
    weight = pull * size
    info = _information(weight, time) * rate**2
    pull /= (1.0 + info * start.scatter)[:, None]
    weight = pull * size
    turn = np.concatenate([rate[:, None] * np.ones(course.prior.size), stretch[:, None]], axis=1)
    columns = np.concatenate([course.integral, time[None, :]])
    normal, right = _normal(weight, pull * aside, turn, columns)
    right += normal @ x
    mean, error = _averaged(normal, right, course, start.wander)
    step = mean - x
    left = aside - size * (np.outer(rate, step[:-1] @ course.integral) + np.outer(stretch * step[-1], time))
    left -= size * ((pull * left).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-30))[:, None]
    power = float((size**2).sum())
    return Fit(
        mean,
        error,
        float((aside**2).sum()) / max(power, 1e-30),
        float((size[:, -_AROUND:] ** 2).sum() / noise[:, -_AROUND:].sum()),
        _scatter(pull * left * (1.0 + info * start.scatter)[:, None], info, rate, time, weight),
        info,
        _wander(pull * left, weight, rate),
    )


def _normal(weight: Signal, pulled: Signal, turn: Signal, columns: Signal) -> tuple[Signal, Signal]:
    """Normal equations with every partial's own phase eliminated.

    Parameters
    ----------
    weight, pulled : shape (k, j): information on the phase, and that times the phase seen
    turn : shape (k, m), columns : shape (m, j): phase by coefficient is turn x columns
    """
    total = np.maximum(weight.sum(axis=1), 1e-30)
    first = (weight @ columns.T) * turn / np.sqrt(total)[:, None]
    plain, last = turn[:, 0], turn[:, -1]
    by_time = np.stack([plain * plain, plain * last, last * last]) @ weight
    normal = (columns * by_time[0]) @ columns.T
    normal[-1, :] = normal[:, -1] = columns @ (by_time[1] * columns[-1])
    normal[-1, -1] = columns[-1] @ (by_time[2] * columns[-1])
    normal -= first.T @ first
    right = columns @ (plain @ pulled)
    right[-1] = columns[-1] @ (last @ pulled)
    right -= first.T @ (pulled.sum(axis=1) / np.sqrt(total))
    return normal, right


def _information(weight: Signal, time: Signal) -> Signal:
    """What each partial knows of its own frequency: 1 / variance in (rad/s)^2, (k,)."""
    total = np.maximum(weight.sum(axis=1), 1e-30)
    return np.asarray(np.maximum(weight @ time**2 - (weight @ time) ** 2 / total, 0.0))


def _scatter(pulled: Signal, info: Signal, rate: Signal, time: Signal, weight: Signal) -> float:
    """Variance, in cents squared, of the partials' own pitches beyond what noise explains.

    DerSimonian & Laird's moment estimate (Controlled Clinical Trials, 1986), less twice its own error.
    """
    total = np.maximum(weight.sum(axis=1), 1e-30)
    middle = (weight @ time) / total
    slope = (pulled @ time - middle * pulled.sum(axis=1)) * rate
    known = info > 1e-3 * info.max()
    freedom = max(float(known.sum()) - 2.0, 1.0)
    excess = float((slope[known] ** 2 / info[known]).sum()) - freedom - 2.0 * math.sqrt(2.0 * freedom)
    room = float(info.sum() - (info**2).sum() / max(float(info.sum()), 1e-30))
    return max(excess, 0.0) / max(room, 1e-30)


def _wander(pulled: Signal, weight: Signal, rate: Signal) -> float:
    """How much more all partials together stray from the course than noise explains, at least 1."""
    known = rate**2 @ weight
    strays = (rate @ pulled) ** 2 / np.maximum(known, 1e-30)
    return max(1.0, 1.0 + _STRAY * (float(strays.mean()) * _OVERLAP - 1.0))


def _averaged(normal: Signal, right: Signal, course: Course, wander: float) -> tuple[Signal, Signal]:
    """Solve for every model and average: coefficients and their standard errors, (m + 1,)."""
    prior = np.append(course.prior, course.stiffness[1] ** -2.0)
    expected = np.append(course.expected, course.stiffness[0])
    right = right + prior * expected
    if len(course.models) == 1:
        covariance = np.linalg.inv(normal + np.diag(prior))
        return covariance @ right, np.sqrt(np.diag(covariance) * wander)
    groups = _groups(course.models, right.size)
    solved = [_solved(normal, right, prior, expected, rows) for rows in groups]
    logs = np.concatenate([log for _, _, log in solved])
    chance = np.exp(logs - logs.max()) * course.odds
    chance /= chance.sum()
    mean, square, at = np.zeros(right.size), np.zeros(right.size), 0
    for rows, (found, variance, _) in zip(groups, solved, strict=True):
        share = chance[at : at + len(rows), None]
        at += len(rows)
        np.add.at(mean, rows, share * found)
        np.add.at(square, rows, share * (variance * wander + found**2))
    return mean, np.sqrt(np.maximum(square - mean**2, 1e-12))


@lru_cache(maxsize=8)
def _groups(models: tuple[tuple[int, ...], ...], size: int) -> tuple[npt.NDArray[np.intp], ...]:
    """Models of one size together, each with the change of B as its last row."""
    lengths = sorted({len(model) for model in models})
    return tuple(np.array([(*m, size - 1) for m in models if len(m) == length]) for length in lengths)


def _solved(
    normal: Signal, right: Signal, prior: Signal, expected: Signal, rows: npt.NDArray[np.intp]
) -> tuple[Signal, Signal, Signal]:
    """Coefficients, their variances, both (n, size), and the log evidence, (n,), of models of one size."""
    matrix = normal[rows[:, :, None], rows[:, None, :]]
    diagonal = np.arange(rows.shape[1])
    matrix[:, diagonal, diagonal] += prior[rows]
    covariance = np.linalg.inv(matrix)
    found = (covariance @ right[rows][:, :, None])[:, :, 0]
    evidence = (found * right[rows]).sum(axis=1) + (np.log(prior) - prior * expected**2)[rows].sum(axis=1)
    logs = 0.5 * (evidence + np.linalg.slogdet(covariance)[1])
    return found, np.asarray(covariance[:, diagonal, diagonal]), np.asarray(logs, np.float64)


def _turned_back(phasor: Phasors, path: Signal) -> tuple[Signal, Signal]:
    """The amplitudes with the expected phase taken out, along each partial's own phase and aside of it."""
    cosine, sine, real, imag = np.cos(path), np.sin(path), phasor.real, phasor.imag
    along, aside = real * cosine + imag * sine, imag * cosine - real * sine
    mean_along, mean_aside = along.sum(axis=1), aside.sum(axis=1)
    length = np.hypot(mean_along, mean_aside) + 1e-30
    c, s = (mean_along / length)[:, None], (mean_aside / length)[:, None]
    return along * c + aside * s, aside * c - along * s


@lru_cache(maxsize=64)
def _smoothing(count: int) -> Signal:
    """What takes values (k, j) to their means over `_AROUND` blocks on either side, fewer at the ends."""
    at = np.arange(count)
    near = np.abs(at[:, None] - at[None, :]) <= _AROUND
    return np.asarray(near / near.sum(axis=0), np.float64)


def _noise(aside: Signal, tracks: Tracks) -> Signal:
    """Variance of the amplitudes at right angles, (k, j): the block's noise times the partial's own share."""
    white = np.outer(tracks.base.gain, tracks.noise + 1e-16)
    own = (aside**2 / white).sum(axis=1)
    count = aside.shape[1]
    common = float(np.partition(own, own.size // 2)[own.size // 2]) / max(count - 1, 1)
    share = (own + _STEADY * max(common, 0.3)) / (max(count - 1, 0) + _STEADY)
    return np.asarray(white * share[:, None])
