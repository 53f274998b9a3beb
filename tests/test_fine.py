"""The pitch to a fraction of a cent, from partials whose course is known exactly."""

import math

import numpy as np
import pytest

from dsp import Cents, Hz, cents
from dsp.courses import even, settling, still_sharp, turning
from dsp.fine import Fit, first_fit, fit
from dsp.partials import basis, blocks, fewer
from dsp.sounding import moved
from dsp.tracks import Tracks

RATE, BAND = 12000.0, Hz(5000.0)
PARTIALS = range(1, 9)


def string(  # noqa: PLR0913 - by keyword only
    pitch_hz: float,
    *,
    span_s: float,
    sharp: float = 0.0,
    slope: float = 0.0,
    noise: float = 0.0,
    seed: int = 0,
) -> np.ndarray:
    """Eight decaying partials; `sharp` cents at first, gone after some 0.1 s; `slope` in cents per second."""
    time = np.arange(round(span_s * RATE)) / RATE
    course = sharp * np.exp(-time / 0.02) + slope * time
    cycles = np.cumsum(pitch_hz * np.exp2(course / 1200.0)) / RATE
    sound = np.zeros(time.size)
    for k in PARTIALS:
        stretch = k * math.sqrt(1.0 + 5.7e-5 * k**2)
        sound += np.exp(-3.0 * time) / k * np.cos(2.0 * math.pi * stretch * cycles + k)
    return sound + noise * np.random.default_rng(seed).standard_normal(time.size)


def tracks(sound: np.ndarray, expected_hz: float, b: float = 5e-5) -> Tracks:
    base = basis(Hz(expected_hz), b, RATE, BAND)
    count = (sound.size - base.length) // base.hop + 1
    found = blocks(sound, count, base, 0.0, RATE)
    time = (0.5 * (base.length - 1) + base.hop * np.arange(count)) / RATE
    return Tracks(time, found.phasor, found.noise, base)


def settled(sound: np.ndarray, expected_hz: float) -> tuple[Hz, Fit]:
    """As the tracker does it: a short stretch first, then all of it."""
    t = tracks(sound, expected_hz)
    first = t.time_s.searchsorted(0.1)
    young = Tracks(t.time_s[:first], t.phasor[:, :first], t.noise[:first], t.base)
    course = settling(young.time_s, t.base.inharmonicity)
    result = fit(young, course, first_fit(course.prior.size), rounds=4)
    result = fit(t, settling(t.time_s, t.base.inharmonicity), result, rounds=2)
    return moved(t.base.frequency_hz, float(result.x[0])), result


LIMITS = [  # cents off the expected pitch, sharp start in cents, noise, limit in cents
    (0.0, 0.0, 1e-4, 0.005),
    (4.0, 0.0, 1e-4, 0.005),
    (-4.0, 0.0, 1e-4, 0.005),
    (2.0, 8.0, 1e-4, 0.05),
    (2.0, 15.0, 1e-4, 0.10),
    (2.0, 8.0, 3e-2, 0.15),
]


@pytest.mark.parametrize("pitch", [98.0, 196.0, 440.0])
@pytest.mark.parametrize(("off", "sharp", "noise", "limit"), LIMITS)
def test_the_settled_pitch_is_found_whatever_the_start(pitch, off, sharp, noise, limit):
    expected = pitch * 2.0 ** (-off / 1200.0)
    found, _ = settled(string(pitch, span_s=0.45, sharp=sharp, noise=noise), expected)
    assert abs(cents(found, Hz(pitch))) < limit


def test_the_standard_error_is_honest_in_white_noise():
    """A normal error lies within one standard error in 68 % of cases, within two in 95 % (tables)."""
    sure = []
    for seed in range(80):
        found, result = settled(string(196.0, span_s=0.3, noise=0.1, seed=seed), 195.9)
        sure.append(abs(cents(found, Hz(196.0))) / float(result.std_error[0]))
    inside_one, inside_two = (float(np.mean(np.array(sure) < limit)) for limit in (1.0, 2.0))
    assert 0.5 < inside_one < 0.95
    assert inside_two > 0.88


def test_the_error_comes_near_the_bound_of_one_tone():
    """Rife & Boorstyn, Single-tone parameter estimation, IEEE Trans. Information Theory, 1974.

    For a real tone of amplitude 1 in white noise of variance s^2, sampled at r for T seconds:
    var(f) >= 24 s^2 / ((2 pi)^2 r T^3).
    """
    span, noise, pitch = 0.4, 0.1, 440.0
    time = np.arange(round(span * RATE)) / RATE
    errors = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        sound = np.cos(2.0 * math.pi * pitch * time + rng.uniform(0.0, 6.0)) + noise * rng.standard_normal(
            time.size
        )
        t = tracks(sound, pitch * 1.0001, 0.0)
        t = Tracks(t.time_s, t.phasor[:1], t.noise, fewer(t.base, np.array([0])))
        course = even(t.time_s, 0.0)
        start = first_fit(1)
        start.std_error[:] = 0.2, 1e-9
        result = fit(t, course, start, rounds=3)
        stretch = math.sqrt(1.0 + float(result.x[-1]))
        errors.append(moved(t.base.frequency_hz, float(result.x[0])) * stretch - pitch)
    bound = math.sqrt(24.0 * noise**2 / (RATE * (2.0 * math.pi) ** 2 * span**3))
    assert float(np.sqrt(np.mean(np.square(errors)))) < 1.25 * bound


@pytest.mark.parametrize("slope", [-200.0, -20.0, 20.0, 200.0])
def test_a_turned_string_is_followed_in_pitch_and_speed(slope):
    sound = string(440.0, span_s=0.15, slope=slope, noise=1e-3)
    t = tracks(sound, 440.0 * 2.0 ** (0.075 * slope / 1200.0))
    result = fit(t, turning(t.time_s, 0.0), first_fit(2), rounds=4)
    now = float(t.time_s[-1])
    assert float(result.x[1]) == pytest.approx(slope, rel=0.1)
    assert abs(cents(moved(t.base.frequency_hz, float(result.x[0])), Hz(440.0)) - slope * now) < 0.4


def test_what_is_left_of_a_sharp_start_is_known():
    t = tracks(string(440.0, span_s=0.2, sharp=10.0, noise=1e-4), 440.0)
    course = settling(t.time_s, t.base.inharmonicity)
    result = fit(t, course, first_fit(course.prior.size), rounds=4)
    middle = 0.5 * float(t.time_s[1] + t.time_s[2])
    assert still_sharp(result.x, course, t.time_s, 2) == pytest.approx(
        10.0 * math.exp(-middle / 0.02), abs=1.0
    )


def test_the_blocks_say_how_loud_the_noise_is():
    t = tracks(string(196.0, span_s=0.4, noise=0.05), 196.0)
    assert float(np.mean(t.noise)) == pytest.approx(0.05**2, rel=0.15)


def test_a_few_cents_are_a_share_of_the_frequency():
    assert abs(cents(moved(Hz(440.0), 3.0), Hz(440.0)) - Cents(3.0)) < 0.003
