"""Which pitch, and in which octave, from a short piece of sound."""

import math

import numpy as np
import pytest

from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    Seconds,
    cents,
    coarse,
    string_frequencies,
    tracking_range,
)
from dsp.coarse import Coarse, coarse_pitch
from dsp.spectrum import peaks_of, power_spectrum
from dsp.synthesis import PIZZICATO, Manner, pluck, white_noise, with_noise
from dsp.units import shifted

RATE = 12000.0
BAND = Hz(5000.0)
VIOLIN = Instrument.VIOLIN
STRINGS = [(instrument, string.name) for instrument in Instrument for string in OPEN_STRINGS[instrument]]
SPAN_S = {VIOLIN: 0.06, Instrument.VIOLA: 0.08, Instrument.CELLO: 0.13, Instrument.DOUBLE_BASS: 0.2}


def limits(instrument: Instrument) -> tuple[Hz, Hz]:
    return tracking_range(string_frequencies(OPEN_STRINGS[instrument], Hz(440.0)))


def open_hz(instrument: Instrument, name: str) -> Hz:
    strings = OPEN_STRINGS[instrument]
    return string_frequencies(strings, Hz(440.0))[[s.name for s in strings].index(name)]


def guess(sound: np.ndarray, instrument: Instrument, span_s: float | None = None) -> Coarse | None:
    span = round((span_s or SPAN_S[instrument]) * RATE)
    lowest, highest = limits(instrument)
    spectrum = power_spectrum(sound[:span].astype(float), RATE)
    return coarse_pitch(peaks_of(spectrum, BAND, 0.4 * lowest, None), BAND, lowest, highest)


def note(
    instrument: Instrument, name: str, seed: int, snr_db: float, manner: Manner
) -> tuple[np.ndarray, Hz]:
    """A noisy pluck up to a semitone out of tune, and its pitch."""
    detuned = Cents(float(np.random.default_rng(seed).uniform(-50.0, 50.0)))
    frequency = shifted(open_hz(instrument, name), detuned)
    harmonics = PIZZICATO[instrument][name]
    clean = pluck(frequency, Seconds(0.6), RATE, harmonics=harmonics, manner=manner, seed=seed)
    return with_noise(clean, white_noise(clean.size, seed), snr_db, RATE)[60:], frequency


@pytest.mark.parametrize(("instrument", "name"), STRINGS, ids=lambda v: getattr(v, "value", v))
@pytest.mark.parametrize("point", [0.12, 0.21, 0.33, 0.5])
def test_an_open_string_is_found_in_its_octave_wherever_it_is_plucked(instrument, name, point):
    for seed in range(40, 44):
        sound, frequency = note(instrument, name, seed, 20.0, Manner(point=point))
        found = guess(sound, instrument)
        assert found is not None
        assert abs(cents(found.frequency_hz, frequency)) < 30.0, (seed, found)
        assert found.doubt < 0.5


@pytest.mark.parametrize("inharmonicity", [0.0, 5.7e-5, 5.7e-4])
def test_a_stiff_string_is_found_by_its_fundamental(inharmonicity):
    for seed in range(50, 58):
        sound, frequency = note(VIOLIN, "G3", seed, 20.0, Manner(inharmonicity=inharmonicity))
        found = guess(sound, VIOLIN)
        assert found is not None
        assert abs(cents(found.frequency_hz, frequency)) < 20.0, (seed, found)


@pytest.mark.parametrize("stiff", [0.0, 1.5e-4, 6e-4])
@pytest.mark.parametrize("pitch", [196.0, 440.0])
def test_of_a_string_as_stiff_as_the_formula_says_pitch_and_stiffness_are_found(pitch, stiff):
    """Partials at k f sqrt(1 + B k^2) exactly (Fletcher & Rossing, The Physics of Musical Instruments), 4
    dB apart."""
    time = np.arange(round(0.2 * RATE)) / RATE
    sound = 1e-5 * white_noise(time.size, 1).astype(float)
    for k in range(1, 21):
        partial = pitch * k * math.sqrt(1.0 + stiff * k * k)
        if partial < BAND:
            sound += 10.0 ** (-1.0 - 0.2 * k) * np.sin(2.0 * math.pi * partial * time + k)
    found = guess(sound, VIOLIN, 0.2)
    assert found is not None
    assert abs(cents(found.frequency_hz, Hz(pitch))) < 0.3
    assert found.inharmonicity == pytest.approx(stiff, rel=0.05, abs=5e-6)
    assert found.doubt < 0.01
    assert found.explained > 0.99
    assert 8 <= found.partials <= 24
    assert found.strength > 30.0


@pytest.mark.parametrize("frequency", [33.0, 49.0, 65.4, 78.0, 1350.0, 1760.0, 2637.0])
def test_a_pitch_outside_the_range_is_not_read_as_one_inside(frequency):
    sound = pluck(Hz(frequency), Seconds(0.6), RATE, harmonics=PIZZICATO[VIOLIN]["A4"])[60:]
    assert guess(sound, VIOLIN, 0.2) is None


@pytest.mark.parametrize(("lower", "upper"), [("G3", "D4"), ("D4", "A4"), ("A4", "E5")])
def test_two_strings_a_fifth_apart_are_not_the_bass_they_have_in_common(lower, upper):
    loud = pluck(open_hz(VIOLIN, lower), Seconds(0.5), RATE, harmonics=PIZZICATO[VIOLIN][lower])
    soft = pluck(open_hz(VIOLIN, upper), Seconds(0.5), RATE, harmonics=PIZZICATO[VIOLIN][upper])
    found = guess((loud + 0.2 * soft)[60:], VIOLIN, 0.15)
    assert found is None or abs(cents(found.frequency_hz, open_hz(VIOLIN, lower))) < 30.0


def test_partials_of_its_own_are_those_that_no_string_a_fifth_above_or_below_shares():
    """Two strings a fifth apart are 2 and 3 times their common bass, so they share what 2 or 3 divides."""
    assert coarse._ITS_OWN.tolist() == [k for k in range(1, 31) if math.gcd(k, 6) == 1]


def test_a_lone_sine_is_its_own_fundamental():
    time = np.arange(round(0.2 * RATE)) / RATE
    found = guess(0.1 * np.sin(2.0 * math.pi * 440.0 * time) + 1e-4 * white_noise(time.size, 3), VIOLIN, 0.2)
    assert found is None or abs(cents(found.frequency_hz, Hz(440.0))) < 10.0


def test_silence_has_no_pitch():
    assert guess(np.zeros(4000), VIOLIN) is None
