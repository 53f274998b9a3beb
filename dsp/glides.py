"""How a sharp start may die away: a family of shapes, wide enough for strings nobody has measured.

A hard pluck stretches the string, so it starts up to 15 cents sharp and settles within 40 to 150 ms
(measured on violins). How it dies away is not known beforehand, so many ways are tried:

- `exp(-c (t / T)^p)`, at its steepest at once (p below 1, as a sum of fast and slow decays is) or flat
  at first (p of 2), with c = ln 20, so that a twentieth is left at T;
- flat at both ends and over at T, `1 - 3 (t / T)^2 + 2 (t / T)^3`.

Each shape comes with its derivatives by ln T and ln p, so that it may be bent to what lies between the
few that are listed. The pitch is followed by its phase, so what is kept are the integrals over time.

The times and powers were chosen on `tests/bench` plucks of one swing, seeds 300 to 323, and on four kinds
of start that no part of this project makes (Gaussian, straight, logistic, and a sum of two decays), seeds
400 to 413.
"""

import math
from collections.abc import Callable

import numpy as np

from dsp.reading import Signal

Shape = Callable[[Signal, float, float], Signal]

_STEP_S = 0.001  # of the grid of time
_END_S = 0.6  # of that grid: by then nothing is left
_TWENTIETH = math.log(20.0)
_STEEP_S = (0.035, 0.055, 0.085, 0.13)  # T of the exponential shapes
_POWERS = (0.7, 1.0, 2.0)
_SMOOTH_S = (0.05, 0.07, 0.10, 0.14)  # T of the shapes that are over at T
_BEND = 1.05  # ratio of T or p over which the derivatives are taken
BENT = 3  # functions to a shape: itself and its two derivatives


def _exponential(time: Signal, end_s: float, power: float) -> Signal:
    return np.asarray(np.exp(-_TWENTIETH * (time / end_s) ** power))


def _smooth(time: Signal, end_s: float, power: float) -> Signal:
    x = np.minimum(time / end_s, 1.0) ** power
    return np.asarray(1.0 - 3.0 * x**2 + 2.0 * x**3)


SHAPES: tuple[tuple[Shape, float, float], ...] = (
    *((_exponential, end, power) for end in _STEEP_S for power in _POWERS),
    *((_smooth, end, 1.0) for end in _SMOOTH_S),
)


def _functions(shape: Shape, end_s: float, power: float) -> list[Signal]:
    """The shape and its derivatives by the logarithms of T and p, on the grid."""
    time = np.arange(0.0, _END_S, _STEP_S)
    width = 2.0 * math.log(_BEND)
    by_end = (shape(time, end_s * _BEND, power) - shape(time, end_s / _BEND, power)) / width
    by_power = (shape(time, end_s, power * _BEND) - shape(time, end_s, power / _BEND)) / width
    return [shape(time, end_s, power), by_end, by_power]


def _integrals() -> Signal:
    functions = np.stack([f for shape in SHAPES for f in _functions(*shape)])
    steps = 0.5 * (functions[:, 1:] + functions[:, :-1]) * _STEP_S
    return np.concatenate([np.zeros((len(functions), 1)), np.cumsum(steps, axis=1)], axis=1)


_GRID = _integrals()


def glide_integrals(time_s: Signal) -> Signal:
    """Integrals from the pluck to each time of all functions of all shapes, in seconds, (3 shapes, j)."""
    at = np.clip(time_s / _STEP_S, 0.0, _GRID.shape[1] - 1.001)
    low = at.astype(np.intp)
    share = at - low
    return np.asarray(_GRID[:, low] * (1.0 - share) + _GRID[:, low + 1] * share)
