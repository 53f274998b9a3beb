"""How the pitch of one note may run over time: settling after a sharp start, settled, or being turned."""

import numpy as np

from dsp.glides import BENT, SHAPES, glide_integrals
from dsp.models import Course
from dsp.reading import Signal
from dsp.units import Cents

_PITCH_SD = Cents(30.0)  # of the expected pitch
_GLIDE = Cents(8.0)  # a usual sharp start
_GLIDE_SD = Cents(10.0)  # about that: none to 15, and twice that when plucked hard
_BENT_SD = Cents(1.5)  # of the terms that bend a shape; chosen with the shapes, see `dsp.glides`
_NO_GLIDE = 0.2  # prior chance that there is none
GLIDE_GONE_S = 0.25  # age from which nothing is left of it
_USUAL_B = (
    6e-5  # inharmonicity of full-size violin strings: 5.7e-5 for a steel E by Fletcher & Rossing's formula
)
_B_SD = 2.5e-4  # small sizes reach ten times the usual
_TURN_SD = 150.0  # cents per second: hands turn at 20 to 200
TURNING_SIZE = 2

_COUNT = len(SHAPES)
_EXPECTED = np.array([0.0, *(_GLIDE, 0.0, 0.0) * _COUNT])
_PRIOR = np.array([_PITCH_SD, *(_GLIDE_SD, _BENT_SD, _BENT_SD) * _COUNT]) ** -2.0
_MODELS = ((0,), *((0, *range(1 + BENT * i, 1 + BENT * (i + 1))) for i in range(_COUNT)))
_ODDS = np.array([_NO_GLIDE] + [(1.0 - _NO_GLIDE) / _COUNT] * _COUNT)


def settling(time_s: Signal, inharmonicity: float) -> Course:
    """Pitch that settles; the first coefficient is the settled pitch.

    Parameters
    ----------
    time_s : block centres, from the pluck on, shape (j,)
    inharmonicity : the expected B, from which the fitted one is counted
    """
    integral = np.concatenate([time_s[None, :], glide_integrals(time_s)])
    return Course(integral, _EXPECTED, _PRIOR, _MODELS, _ODDS, _stiffness(inharmonicity))


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
