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

import numpy as np

from dsp.models import Course, averaged
from dsp.partials import Basis
from dsp.phases import AROUND, information, noise_of, scatter_of, smoothing, turned_back, wander_of
from dsp.reading import Signal
from dsp.tracks import OVERLAP, Tracks
from dsp.units import Cents

PER_CENT = math.log(2.0) / 1200.0  # share of a frequency
FIRST_ERROR = Cents(3.0)  # of the coarse guess
FIRST_B_ERROR = 5e-5  # of the coarse guess
_CAUTION = 1.0  # a partial whose phase may be off by a radian at the ends of the stretch gets little trust


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
    late_cents: float = 0.0  # by which it lay above the course in the last moments


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
    rate, stretch = rates(base)
    path = np.outer(rate, x[:-1] @ course.integral) + np.outer(stretch * x[-1], time)
    along, aside = turned_back(tracks.phasor, path)
    size = np.maximum(along @ smoothing(tracks), 0.0)
    noise = noise_of(aside, tracks)
    reach = (rate * start.std_error[0]) ** 2 + (stretch * start.std_error[-1]) ** 2
    trust = np.exp(-0.5 * np.minimum(reach * (_CAUTION * (time[-1] - time[0])) ** 2, 100.0))
    pull = size / noise * (trust / OVERLAP)[:, None] * tracks.many
    weight = pull * size
    info = information(weight, time) * rate**2
    pull /= (1.0 + info * start.scatter)[:, None]
    weight = pull * size
    turn = np.concatenate([rate[:, None] * np.ones(course.prior.size), stretch[:, None]], axis=1)
    columns = np.concatenate([course.integral, time[None, :]])
    normal, right = _normal(weight, pull * aside, turn, columns)
    right += normal @ x
    mean, error = averaged(normal, right, course, start.wander)
    step = mean - x
    left = aside - size * (np.outer(rate, step[:-1] @ course.integral) + np.outer(stretch * step[-1], time))
    left -= size * ((pull * left).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-30))[:, None]
    power = float((size**2).sum())
    return Fit(
        mean,
        error,
        float((aside**2).sum()) / max(power, 1e-30),
        float((size[:, -AROUND:] ** 2).sum() / noise[:, -AROUND:].sum()),
        scatter_of(pull * left * (1.0 + info * start.scatter)[:, None], info, rate, time, weight),
        info,
        *wander_of(pull * left, weight, rate, tracks),
    )


def rates(base: Basis) -> tuple[Signal, Signal]:
    """Radians a second by which a cent, and a unit of B, advance the phase of each partial, (k,) each."""
    rate = 2.0 * math.pi * base.partial_hz
    stretch = rate * base.harmonic**2 / (2.0 * (1.0 + base.inharmonicity * base.harmonic**2))
    return rate * PER_CENT, stretch


def phase_path(base: Basis, time: Signal, pitch: float, change_of_b: float) -> Signal:
    """Phases by which partials `pitch` cents off, at another B, leave the expected ones, (k, j)."""
    rate, stretch = rates(base)
    return np.outer(rate * pitch + stretch * change_of_b, time)


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
