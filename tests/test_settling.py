"""The settled pitch from partials whose course is known exactly."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dsp import Hz, settling
from dsp.columns import columns_of
from dsp.partials import basis, blocks
from dsp.settling import Settled, integrated, solved
from dsp.tracks import tracks_of
from tests.each import each

RATE, BAND = 12000.0, Hz(5000.0)
PITCH, EXPECTED_OFF = Hz(293.66), 4.0  # cents by which the true pitch lies above the expected one
PARTIALS = range(1, 11)
NOISE = 3e-4


def string(
    span_s: float, *, sharp: float = 0.0, fall_s: float = 0.1, scatter: float = 0.0, seed: int = 0
) -> Settled:
    """Ten decaying partials; `sharp` cents at first, dying with `fall_s`; each off by `scatter` cents."""
    rng = np.random.default_rng(seed)
    time = np.arange(round(span_s * RATE)) / RATE
    course = sharp * np.exp(-time / fall_s)
    sound = NOISE * rng.standard_normal(time.size)
    for k in PARTIALS:
        off = course + scatter * rng.standard_normal()
        pitch = PITCH * k * math.sqrt(1.0 + 6.9e-5 * k * k) * 2.0 ** (off / 1200.0)
        phase = 2.0 * math.pi * np.cumsum(pitch) / RATE + rng.uniform(0.0, 6.28)
        sound += 0.1 / k * np.exp(-time * (1.0 + 0.3 * k)) * np.cos(phase)
    base = basis(Hz(PITCH * 2.0 ** (-EXPECTED_OFF / 1200.0)), 6.9e-5, RATE, BAND)
    count = (sound.size - base.length) // base.hop + 1
    found = blocks(sound, count, base, 0.0, RATE)
    centre = (0.5 * (base.length - 1) + base.hop * np.arange(count)) / RATE
    trust, settled = None, None
    for _ in range(2):
        columns = columns_of(tracks_of(centre, found.phasor, found.noise, base), trust)
        assert columns is not None
        settled = solved(columns)
        trust = np.ones(base.harmonic.size)
        trust[columns.index] = settled.trust
    assert settled is not None
    return settled


def test_a_pitch_that_stands_is_found_to_a_tenth_of_a_cent_in_a_second():
    found = string(1.0)
    assert found.cents == pytest.approx(EXPECTED_OFF, abs=0.1)
    assert found.std_error < 1.0
    assert found.now_cents == pytest.approx(EXPECTED_OFF, abs=0.3)  # nothing is left of a start


@pytest.mark.parametrize("fall_s", [0.04, 0.1, 0.25, 0.5])
@pytest.mark.parametrize("sharp", [0.0, 8.0, 20.0, 40.0])
def test_a_start_of_any_depth_and_length_stays_within_three_stated_errors_or_a_quarter_of_it(sharp, fall_s):
    """Once a start has been heard for as long as it dies with; before that nobody can know it."""
    spans = [span_s for span_s in (0.1, 0.2, 0.3, 0.6) if span_s >= fall_s]
    for span_s in each(spans):
        found = string(span_s, sharp=sharp, fall_s=fall_s, scatter=1.0, seed=3)
        off = abs(found.cents - EXPECTED_OFF)
        assert off < max(3.0 * math.hypot(found.std_error, 1.0), 0.25 * sharp), (
            f"{off:.1f} +- {found.std_error:.1f}"
        )


def test_the_error_it_states_is_the_error_it_makes_where_partials_scatter():
    """A normal error lies within one standard error in 68 % of cases, within two in 95 % (tables)."""
    rng = np.random.default_rng(9)
    size = []
    for seed in range(60):
        sharp, fall_s = rng.uniform(0.0, 15.0), rng.uniform(0.04, 0.3)
        found = string(0.3, sharp=sharp, fall_s=fall_s, scatter=2.0, seed=seed)
        size.append(abs(found.cents - EXPECTED_OFF) / found.std_error)
    assert 0.55 < float(np.mean(np.array(size) < 1.0)) <= 0.95
    assert float(np.mean(np.array(size) < 2.0)) >= 0.9


def test_partials_that_scatter_make_the_error_larger_and_time_makes_it_smaller():
    errors = [string(0.3, scatter=scatter, seed=5).std_error for scatter in (0.0, 2.0, 8.0)]
    assert errors == sorted(errors)
    assert errors[2] > 1.5 * errors[0]
    spans = [string(span_s, scatter=2.0, seed=5).std_error for span_s in (0.08, 0.2, 0.6)]
    assert spans == sorted(spans, reverse=True)


def test_one_partial_that_does_not_belong_is_trusted_least_and_moves_little():
    rng = np.random.default_rng(2)
    time = np.arange(round(0.5 * RATE)) / RATE
    sound = NOISE * rng.standard_normal(time.size)
    for k in PARTIALS:
        off = 60.0 if k == 4 else 0.0
        pitch = PITCH * k * math.sqrt(1.0 + 6.9e-5 * k * k) * 2.0 ** (off / 1200.0)
        sound += 0.1 / k * np.cos(2.0 * math.pi * pitch * time + k)
    base = basis(PITCH, 6.9e-5, RATE, BAND)
    count = (sound.size - base.length) // base.hop + 1
    found = blocks(sound, count, base, 0.0, RATE)
    centre = (0.5 * (base.length - 1) + base.hop * np.arange(count)) / RATE
    columns = columns_of(tracks_of(centre, found.phasor, found.noise, base), None)
    assert columns is not None
    first = solved(columns)
    assert int(columns.harmonic[np.argmin(first.trust)]) == 4
    second = solved(replace(columns, trust=first.trust))
    third = solved(replace(columns, trust=second.trust))
    assert abs(third.cents) < abs(first.cents)
    assert abs(third.cents) < 2.0


def test_the_covariance_of_an_integrated_wander_is_that_of_many_made_ones():
    """Ornstein & Uhlenbeck, Physical Review 36, 1930, integrated; against 20,000 made ones."""
    rng = np.random.default_rng(7)
    step, tau = 0.002, 0.1
    keep = math.exp(-step / tau)
    value = rng.standard_normal(20000)
    total, kept = np.zeros(20000), []
    for i in range(150):
        new = keep * value + math.sqrt(1.0 - keep * keep) * rng.standard_normal(20000)
        total = total + 0.5 * step * (value + new)
        value = new
        if i in (49, 149):
            kept.append(total.copy())
    expected = integrated(np.array([0.1, 0.3]), tau)
    assert np.cov(np.stack(kept)) == pytest.approx(expected, rel=0.05)


def test_a_wander_summed_step_by_step_has_the_variance_of_the_integrated_process():
    """Ornstein & Uhlenbeck once more: 2 tau^2 (t / tau - 1 + exp(-t / tau)), whatever tau is chosen."""
    tau_s = settling.WANDER_S
    times = 0.1 * tau_s * np.arange(12)
    summed = settling._wandered(times, bowed=True)
    spans = times[1:] / tau_s
    by_hand = 2.0 * tau_s**2 * (spans - 1.0 + np.exp(-spans))
    assert np.diagonal(summed) == pytest.approx(by_hand, rel=0.04)
    early = settling._wandered(times, bowed=False)
    assert (np.diagonal(early) > np.diagonal(summed)).all()


def test_nothing_that_stands_out_is_nothing_solved():
    noise = np.random.default_rng(1).standard_normal(6000)
    base = basis(PITCH, 6.9e-5, RATE, BAND)
    count = (noise.size - base.length) // base.hop + 1
    found = blocks(noise, count, base, 0.0, RATE)
    centre = (0.5 * (base.length - 1) + base.hop * np.arange(count)) / RATE
    assert columns_of(tracks_of(centre, found.phasor, found.noise, base), None) is None


def test_what_is_left_of_a_start_sinks_as_long_as_the_swing_is_heard_to_last():
    """The last decay time is the amplitude's: here 1 / 1.3 s for the first partial, less for others."""
    assert 0.4 < string(0.6).fall_s[-1] < 1.0 / 1.3
    assert string(0.6).fall_s[-1] == pytest.approx(string(0.3).fall_s[-1], rel=0.2)
    found = string(0.6, sharp=15.0, fall_s=0.5)
    assert found.sharp(np.array([0.1]))[0] > 2.0 * found.sharp(np.array([0.6]))[0] > 0.0
