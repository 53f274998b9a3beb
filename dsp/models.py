"""Ways the pitch may run, and the average over them (Bayesian model averaging).

Every way is a set of functions of time with normal priors on their coefficients, so each is solved at
once; the ways are weighted by their evidence. What is not known about the way widens the error.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from dsp.reading import Signal

Rows = npt.NDArray[np.intp]
Solved = tuple[Signal, Signal, Signal]

_WITHIN_ONE = math.erf(math.sqrt(0.5))  # share of a normal distribution within one standard deviation
_NORMAL = math.sqrt(0.5 * math.pi)  # its standard deviation over its mean absolute deviation
_MULTIPLES = np.geomspace(0.05, 1.6, 12)  # of it among which that error is sought
_LEAST = 1e-6  # cents: no error is said to be smaller


@dataclass(frozen=True, slots=True)
class Course:
    """Ways the pitch may run: functions of time, and the sets of them that are tried."""

    integral: Signal  # shape (m, j): integral over time of each function; the first is 1, giving t
    expected: Signal  # shape (m,): what each coefficient usually is, in cents
    prior: Signal  # shape (m,): 1 / variance of each coefficient about that
    models: tuple[tuple[int, ...], ...]  # each a set of rows that holds the first; sorted by size
    odds: Signal  # shape (models,): prior probability
    stiffness: tuple[float, float]  # usual change of B against the expected one, and its deviation


def averaged(normal: Signal, right: Signal, course: Course, wander: float) -> tuple[Signal, Signal]:
    """Solve for every model and average.

    Parameters
    ----------
    normal, right : normal equations of all coefficients and, last, of the change of B;
        shapes (m + 1, m + 1) and (m + 1,)
    wander : factor on the variances

    Returns
    -------
    coefficients and their standard errors, (m + 1,) each. The error of the first is the half-width that
    holds 68 % of the averaged chance: a mixture has long tails, which would blow up its deviation.
    """
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
    shares = np.split(chance[:, None], np.cumsum([len(rows) for rows in groups])[:-1])
    mean = _summed(groups, [share * found for share, (found, _, _) in zip(shares, solved, strict=True)])
    error = _summed(
        groups,
        [
            share * np.sqrt(_NORMAL**2 * (found - mean[rows]) ** 2 + variance * wander)
            for share, rows, (found, variance, _) in zip(shares, groups, solved, strict=True)
        ],
    )
    off = np.concatenate([found[:, 0] for found, _, _ in solved]) - mean[0]
    own = np.sqrt(np.concatenate([variance[:, 0] for _, variance, _ in solved]) * wander)
    error[0] = _half_width(chance, off, own, float(error[0]))
    return mean, np.maximum(error, _LEAST)


def _summed(groups: tuple[Rows, ...], values: list[Signal]) -> Signal:
    """Values of all models added up by coefficient."""
    rows, flat = (np.concatenate([part.ravel() for part in parts]) for parts in (groups, values))
    return np.asarray(np.bincount(rows, flat), np.float64)


def _half_width(chance: Signal, off: Signal, own: Signal, deviation: float) -> float:
    """How far on either side of 0 as much of a mixture of normal distributions lies as within one deviation.

    Parameters
    ----------
    chance, off, own : share, mean and deviation of each, shape (n,)
    deviation : roughly that of the whole; the answer is sought among multiples of it
    """
    widths = deviation * _MULTIPLES[:, None]
    inside = chance @ (_normal((widths - off) / own) + _normal((widths + off) / own)).T
    return deviation * float(np.interp(2.0 * _WITHIN_ONE, inside, _MULTIPLES))


def _normal(x: Signal) -> Signal:
    """erf(x / sqrt 2), to 0.0004 (the usual tanh approximation of the normal distribution)."""
    return np.asarray(np.tanh(math.sqrt(2.0 / math.pi) * (x + 0.044715 * x**3)))


@lru_cache(maxsize=8)
def _groups(models: tuple[tuple[int, ...], ...], size: int) -> tuple[Rows, ...]:
    """Models of one size together, each with the change of B as its last row."""
    lengths = sorted({len(model) for model in models})
    return tuple(np.array([(*m, size - 1) for m in models if len(m) == length]) for length in lengths)


def _solved(normal: Signal, right: Signal, prior: Signal, expected: Signal, rows: Rows) -> Solved:
    """Coefficients, their variances, both (n, size), and the log evidence, (n,), of models of one size."""
    matrix = normal[rows[:, :, None], rows[:, None, :]]
    diagonal = np.arange(rows.shape[1])
    matrix[:, diagonal, diagonal] += prior[rows]
    covariance = np.linalg.inv(matrix)
    found = (covariance @ right[rows][:, :, None])[:, :, 0]
    evidence = (found * right[rows]).sum(axis=1) + (np.log(prior) - prior * expected**2)[rows].sum(axis=1)
    logs = 0.5 * (evidence + np.linalg.slogdet(covariance)[1])
    return found, np.asarray(covariance[:, diagonal, diagonal]), np.asarray(logs, np.float64)
