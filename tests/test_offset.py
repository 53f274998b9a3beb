"""A sound card's steady offset changes nothing, and its steps are no plucks."""

import numpy as np
import pytest

from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    PitchTracker,
    Seconds,
    cents,
    string_frequencies,
    tracking_range,
)
from dsp.offset import without_offset
from dsp.synthesis import Manner, pluck, white_noise

RATE = 48000
STRINGS = [(instrument, string.name) for instrument in Instrument for string in OPEN_STRINGS[instrument]]


def open_hz(instrument, name):
    strings = OPEN_STRINGS[instrument]
    return string_frequencies(strings, Hz(440.0))[[s.name for s in strings].index(name)]


def tracker(instrument):
    return PitchTracker(RATE, *tracking_range(string_frequencies(OPEN_STRINGS[instrument], Hz(440.0))))


@pytest.mark.parametrize("offset", [0.3, -0.3])
@pytest.mark.parametrize(("instrument", "name"), STRINGS)
def test_a_pluck_on_a_steady_offset_reads_as_without_it(instrument, name, offset):
    manner = Manner(lead_s=Seconds(0.4), level_dbfs=-26.0)
    clean = pluck(open_hz(instrument, name), Seconds(1.2), RATE, manner=manner, seed=41)
    noisy = (clean + 3e-4 * white_noise(clean.size, 41)).astype(np.float32)
    plain = tracker(instrument).feed(noisy)
    shifted = tracker(instrument).feed((noisy + np.float32(offset)).astype(np.float32))
    assert len(plain) > 5
    assert len(shifted) == len(plain)
    assert abs(cents(shifted[-1].frequency_hz, plain[-1].frequency_hz)) < Cents(0.01)
    assert shifted[-1].level_dbfs == pytest.approx(plain[-1].level_dbfs, abs=0.1)


@pytest.mark.parametrize("step", [0.05, 0.3, -0.6])
@pytest.mark.parametrize("instrument", list(Instrument))
def test_a_step_of_the_offset_is_no_pluck(instrument, step):
    sound = (3e-4 * white_noise(2 * RATE, 5)).astype(np.float32)
    sound[24000:] += np.float32(step)
    sound[70000:] -= np.float32(0.5 * step)
    assert tracker(instrument).feed(sound) == []


def test_the_offset_is_followed_over_tenths_of_a_second():
    before = None
    for _ in range(100):
        rest, before = without_offset(np.full(480, 0.3), before, RATE)
        assert np.allclose(rest, 0.0)
    rest, before = without_offset(np.full(480, 0.0), before, RATE)
    assert float(np.abs(rest).max()) > 0.25  # a string's own swing is not taken for an offset
    for _ in range(100):
        rest, before = without_offset(np.zeros(480), before, RATE)
    assert float(np.abs(rest).max()) < 0.001
