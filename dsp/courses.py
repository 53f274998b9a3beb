"""How the pitch of one note may run over time: settling after a sharp start, or being turned.

A hard pluck stretches the string, so it starts up to 15 cents sharp and settles within 40 to 150 ms
(measured on violins). How the start dies away is not known beforehand: at once fast, exp(-t / T), or
flat at first, exp(-(t / T)^2), with T in between; or there is none.
"""

import math

import numpy as np
import numpy.typing as npt

from dsp.fine import Course
from dsp.units import Cents

Signal = npt.NDArray[np.float64]

_PITCH_SD = Cents(30.0)  # of the expected pitch
_GLIDE = (5.0, 3.0, 1.5)  # cents: a usual sharp start, for the three powers
_GLIDE_SD = (6.0, 5.0, 4.0)  # cents, about that: none to 15
GLIDE_GONE_S = 0.25  # age from which nothing is left of it
_NO_GLIDE = 0.2  # prior chance that there is none
_TAUS = (0.006, 0.009, 0.014, 0.021, 0.032)  # s; with the powers below they settle in 40 to 150 ms
_POWERS = (
    0,
    1,
    2,
)  # exp(-t / T) times 1, t / T and half its square: any mix, from fast at once to flat at first
_FALLS = tuple((tau, power) for tau in _TAUS for power in _POWERS)
_USUAL_B = (
    6e-5  # inharmonicity of full-size violin strings: 5.7e-5 for a steel E by Fletcher & Rossing's formula
)
_B_SD = 2.5e-4  # small sizes reach ten times the usual
_TURN_SD = 150.0  # cents per second: hands turn at 20 to 200


def _fall(time: Signal, tau: float, power: int) -> Signal:
    x = time / tau
    return np.asarray(np.exp(-x) * x**power / math.factorial(power))


def _grid() -> tuple[Signal, Signal]:
    """Integrals of the falls on a fine grid of time, for interpolation."""
    time = np.arange(0.0, 0.6, 0.001)
    falls = np.stack([_fall(time, tau, power) for tau, power in _FALLS])
    steps = 0.5 * (falls[:, 1:] + falls[:, :-1]) * 0.001
    return time, np.concatenate([np.zeros((len(_FALLS), 1)), np.cumsum(steps, axis=1)], axis=1)


_TIME, _INTEGRALS = _grid()
_COUNT = len(_FALLS)
TURNING_SIZE = 2


def settling(time_s: Signal, inharmonicity: float) -> Course:
    """Pitch that settles; the first coefficient is the settled pitch.

    Parameters
    ----------
    time_s : block centres, from the pluck on, shape (j,)
    inharmonicity : the expected B, from which the fitted one is counted
    """
    at = np.clip(time_s / 0.001, 0.0, _TIME.size - 1.001)
    low = at.astype(np.intp)
    share = at - low
    integrals = _INTEGRALS[:, low] * (1.0 - share) + _INTEGRALS[:, low + 1] * share
    count = len(_TAUS)
    expected = np.array([0.0, *_GLIDE * count])
    prior = np.array([_PITCH_SD, *_GLIDE_SD * count]) ** -2.0
    odds = np.array([_NO_GLIDE] + [(1.0 - _NO_GLIDE) / count] * count)
    models = ((0,), *((0, 3 * i + 1, 3 * i + 2, 3 * i + 3) for i in range(count)))
    return Course(
        np.concatenate([time_s[None, :], integrals]), expected, prior, models, odds, _stiffness(inharmonicity)
    )


def _stiffness(inharmonicity: float) -> tuple[float, float]:
    return _USUAL_B - inharmonicity, _B_SD


def even(time_s: Signal, inharmonicity: float) -> Course:
    """Pitch that has settled: one coefficient."""
    prior = np.array([_PITCH_SD]) ** -2.0
    return Course(time_s[None, :], np.zeros(1), prior, ((0,),), np.ones(1), _stiffness(inharmonicity))


def turning(time_s: Signal, change_of_b: float) -> Course:
    """Pitch that moves evenly. The coefficients are the pitch at the end and cents per second."""
    late = time_s - time_s[-1]
    prior = np.array([1.0 / _PITCH_SD**2, 1.0 / _TURN_SD**2])
    return Course(
        np.stack([time_s, 0.5 * late**2]), np.zeros(2), prior, ((0, 1),), np.ones(1), (change_of_b, 1e-6)
    )


def still_sharp(x: Signal, course: Course, time_s: Signal, block: int = -1) -> Cents:
    """What is left of the sharp start just before a block, for coefficients of a settling course."""
    now, before = course.integral[1:, block], course.integral[1:, block - 1]
    return Cents(float(x[1:-1] @ (now - before)) / float(time_s[block] - time_s[block - 1]))
