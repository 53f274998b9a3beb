"""Averages over ways the pitch may run, from mixtures whose spread is known."""

import math

import numpy as np
import pytest

from dsp.courses import settling
from dsp.glides import SHAPES, glide_integrals
from dsp.models import Course, averaged


def course_of(models: tuple[tuple[int, ...], ...], prior_sd: float = 1e3) -> Course:
    size = max(max(model) for model in models) + 1
    prior = np.full(size, prior_sd**-2.0)
    odds = np.full(len(models), 1.0 / len(models))
    return Course(np.zeros((size, 1)), np.zeros(size), prior, models, odds, (0.0, 1.0))


def test_one_way_alone_says_the_error_of_least_squares():
    # variance of a coefficient with information 1 / 0.25 is 0.25, so its standard error 0.5
    normal = np.diag([4.0, 1.0])
    mean, error = averaged(normal, np.array([8.0, 0.0]), course_of(((0,),)), 1.0)
    assert mean[0] == pytest.approx(2.0, rel=1e-5)
    assert error[0] == pytest.approx(0.5, rel=1e-5)


def test_of_two_like_ways_the_error_is_that_of_one():
    # a second coefficient that nothing depends on: both ways say the same of the first
    normal, right = np.diag([4.0, 1e-9, 1.0]), np.array([8.0, 0.0, 0.0])
    mean, error = averaged(normal, right, course_of(((0,), (0, 1))), 1.0)
    assert mean[0] == pytest.approx(2.0, rel=1e-4)
    assert error[0] == pytest.approx(0.5, rel=0.03)


def test_two_ways_that_disagree_widen_the_error_to_what_holds_68_in_100():
    """Two narrow distributions of equal chance at -1 and +1: 68 in 100 lie within 1 and 0.48 of one's width.

    Within 1 + z of 0 lies the share Phi(z) of each; Phi(0.476) = 0.683 by tables of the normal distribution.
    """
    width = 0.1
    # the second coefficient moves the first from -1 to +1 with evidence that makes up for its prior
    normal = np.array([[1.0, -1.0, 0.0], [-1.0, 1.0 + 1e-6, 0.0], [0.0, 0.0, 1.0]]) / width**2
    right = np.array([-1.0, 1.0, 0.0]) / width**2
    alone = Course(
        np.zeros((2, 1)),
        np.array([0.0, 2.0]),
        np.array([1e-9, 1e9]),
        ((0,), (0, 1)),
        np.array([0.5, 0.5]),
        (0.0, 1.0),
    )
    mean, error = averaged(normal, right, alone, 1.0)
    assert mean[0] == pytest.approx(0.0, abs=0.02)
    assert error[0] == pytest.approx(1.0 + 0.476 * width, rel=0.03)


def test_every_way_of_settling_ends_settled():
    late = glide_integrals(np.array([0.4, 0.5]))
    left = (late[:, 1] - late[:, 0])[::3] / 0.1
    assert left.size == len(SHAPES)
    assert float(np.abs(left).max()) < 0.005
    early = glide_integrals(np.array([0.0, 0.002]))[::3, 1] / 0.002
    assert np.all(early > 0.75)  # and begins as sharp as its coefficient says; the steepest falls at once


def test_the_integrals_are_those_of_the_shapes():
    # an exponential that leaves a twentieth at T: its integral is T / ln 20 (1 - 20^(-t / T))
    end = SHAPES[1][1]
    time = np.array([0.03, 0.1, 0.3])
    expected = end / math.log(20.0) * (1.0 - 20.0 ** (-time / end))
    assert SHAPES[1][2] == 1.0
    assert glide_integrals(time)[3] == pytest.approx(expected, rel=1e-3)


def test_models_of_a_settling_string_come_sorted_by_size():
    course = settling(np.linspace(0.01, 0.3, 40), 5e-5)
    sizes = [len(model) for model in course.models]
    assert sizes == sorted(sizes)
    assert course.odds.sum() == pytest.approx(1.0)
    assert max(max(model) for model in course.models) == course.prior.size - 1
