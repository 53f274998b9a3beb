"""The benchmark's own methods and its bound, against papers: a yardstick must be right itself."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dsp import Cents, Hz, Instrument, Seconds, cents
from dsp.synthesis import Harmonics, Manner, Swings, pluck
from dsp.units import CENTS_PER_OCTAVE
from tests.bench import bound
from tests.bench.common import RATE, Case
from tests.bench.published import fft_peak, harmonic_product, mcleod

TONE = Manner(swings=Swings.SIDEWAYS, glide_cents=Cents(0.0), attack_db=None, inharmonicity=0.0)
LOW, HIGH = 82.4, 1318.5  # Hz, the violin's range


@pytest.mark.parametrize("frequency", [196.0, 293.66, 440.0, 659.26])
@pytest.mark.parametrize(("method", "limit"), [(mcleod, 1.0), (harmonic_product, 3.0), (fft_peak, 1.0)])
def test_methods_written_from_papers_hear_a_clean_tone(method, limit, frequency):
    flat = Harmonics((0.0, -3.0, -6.0, -9.0, -12.0, -15.0), (0.3,) * 6)
    sound = pluck(Hz(frequency), Seconds(0.3), RATE, harmonics=flat, manner=TONE)
    assert abs(cents(Hz(method(sound[1440:], RATE, LOW, HIGH)), Hz(frequency))) < limit


def test_the_highest_peak_of_a_violin_g_is_its_octave():
    sound = pluck(Hz(196.0), Seconds(0.3), RATE, manner=TONE)
    assert cents(Hz(fft_peak(sound[1440:], RATE, LOW, HIGH)), Hz(196.0)) == pytest.approx(1200.0, abs=1.0)
    assert cents(Hz(harmonic_product(sound[1440:], RATE, LOW, HIGH)), Hz(196.0)) == pytest.approx(0, abs=5.0)


def one_partial(monkeypatch, decay):
    """A case of a single partial with a known decay, in dB/s."""
    table = {Instrument.VIOLIN: {"A4": Harmonics((0.0,), (0.7,))}}
    monkeypatch.setattr(bound, "PIZZICATO", table)
    monkeypatch.setattr(bound, "decay_rates", lambda _harmonic: (decay, decay))
    return Case(Instrument.VIOLIN, "A4", Hz(440.0), TONE, 20.0, 0)


def test_for_one_steady_tone_the_bound_is_that_of_rife_and_boorstyn(monkeypatch):
    # Rife & Boorstyn 1974: var(omega) >= 12 sigma^2 / (A^2 T^2 N (N^2 - 1)) for a complex tone with
    # noise sigma^2 in each part, amplitude and phase unknown; a real tone has half of the information,
    # so 24 sigma^2 / (A^2 N (N^2 - 1)) with sigma^2 the power of the real noise and T = 1 sample
    case = one_partial(monkeypatch, 0.0)
    count, noise_over_square = 14400, 0.5 * 10 ** (-20.0 / 10.0)
    deviation = math.sqrt(24.0 * noise_over_square / (count * (count**2 - 1.0))) * RATE / (2.0 * math.pi)
    expected = CENTS_PER_OCTAVE / math.log(2.0) * deviation / 440.0
    reached = bound.bound_cents(case, 0.03, 0.33, known_inharmonicity=True)
    assert reached == pytest.approx(expected, rel=0.01)


def test_the_bound_falls_by_ten_for_20_db_less_noise_and_with_a_longer_window():
    case = Case(Instrument.VIOLIN, "G3", Hz(196.0), replace(TONE, inharmonicity=5e-5), 20.0, 0)
    here = bound.bound_cents(case, 0.03, 0.33)
    assert 0.004 < here < 0.009
    assert bound.bound_cents(replace(case, snr_db=40.0), 0.03, 0.33) == pytest.approx(here / 10.0, rel=1e-6)
    assert bound.bound_cents(case, 0.03, 1.03) < 0.5 * here


def test_not_knowing_the_sharp_start_costs_much_in_a_short_window_and_little_in_a_long_one():
    start = replace(TONE, inharmonicity=5e-5, glide_cents=Cents(8.0), settle_s=Seconds(0.1))
    case = Case(Instrument.VIOLIN, "A4", Hz(440.0), start, 20.0, 0)
    short, long = (bound.gliding_bound_cents(case, 0.03, stop) for stop in (0.13, 1.03))
    assert short > 3.0 * bound.bound_cents(case, 0.03, 0.13)
    assert bound.bound_cents(case, 0.03, 1.03) < long < 2.0 * bound.bound_cents(case, 0.03, 1.03)
    quieter = bound.gliding_bound_cents(replace(case, snr_db=40.0), 0.03, 0.13)
    assert quieter == pytest.approx(short / 10.0, rel=1e-4)


def test_the_bound_is_reached_by_least_squares_on_one_tone(monkeypatch):
    # maximum likelihood reaches the bound above its threshold; here by the phase of a known window
    case = one_partial(monkeypatch, 0.0)
    time = np.arange(round(0.03 * RATE), round(0.13 * RATE)) / RATE
    rng = np.random.default_rng(1)
    sigma = math.sqrt(0.5 * 10 ** (-20.0 / 10.0))
    errors = []
    for _ in range(200):
        heard = np.cos(2 * math.pi * 440.0 * time + 0.7) + sigma * rng.standard_normal(time.size)
        angle = 2 * math.pi * 440.0 * time
        columns = np.stack([np.cos(angle), np.sin(angle), time * np.cos(angle), time * np.sin(angle)], axis=1)
        c, s, ct, st = np.linalg.lstsq(columns, heard, rcond=None)[0]
        middle = time.mean()
        real, imaginary = c + middle * ct, s + middle * st  # amplitude and its slope at the middle
        turning = (imaginary * ct - real * st) / (real**2 + imaginary**2)
        errors.append(CENTS_PER_OCTAVE / math.log(2.0) * turning / (2 * math.pi * 440.0))
    reached = float(np.sqrt(np.mean(np.square(errors))))
    least = bound.bound_cents(case, 0.03, 0.13, known_inharmonicity=True)
    assert reached == pytest.approx(least, rel=0.15)
