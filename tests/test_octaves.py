"""What stands half-way between the partials speaks for the octave below."""

from dataclasses import replace

import numpy as np
import pytest

from dsp import Hz, Instrument, Seconds
from dsp.octaves import Evidence, doubt_of, evidence_of
from dsp.spectrum import power_spectrum
from dsp.synthesis import PIZZICATO, Manner, pluck, white_noise

RATE = 12000.0
BAND = Hz(5000.0)
B = 6e-5
G3, D4, A4, E5 = (Hz(196.0), Hz(293.66), Hz(440.0), Hz(659.26))


def spectrum(frequency, name, noise=3e-4, span_s=0.3, seed=40):
    manner = Manner(lead_s=Seconds(0.0))
    note = pluck(frequency, Seconds(0.35), RATE, harmonics=PIZZICATO[Instrument.VIOLIN][name], manner=manner)
    note = note + noise * white_noise(note.size, seed)
    return power_spectrum(note[48 : 48 + round(span_s * RATE)].astype(np.float64), RATE)


@pytest.mark.parametrize(("frequency", "name"), [(G3, "G3"), (D4, "D4"), (A4, "A4"), (E5, "E5")])
def test_a_string_speaks_against_the_octave_below_it_and_its_octave_does_not(frequency, name):
    sound = spectrum(frequency, name)
    right = evidence_of(sound, frequency, B, BAND, None)
    wrong = evidence_of(sound, Hz(2.0 * frequency), 4.0 * B, BAND, None)
    assert right.below < -4.0
    assert wrong.below > 8.0
    assert doubt_of(right, 8.0) < 0.02
    assert doubt_of(wrong, 4.0) > 0.9


def test_what_stood_there_before_the_pluck_says_nothing():
    sound = spectrum(G3, "G3")
    open_minded = evidence_of(sound, Hz(392.0), 4.0 * B, BAND, None)
    forewarned = evidence_of(sound, Hz(392.0), 4.0 * B, BAND, replace(sound, power=sound.power.copy()))
    assert open_minded.below > 8.0
    assert forewarned.below == 0.0


def test_noise_says_little_of_octaves_and_leaves_the_doubt():
    noise = power_spectrum(white_noise(3600, 41).astype(np.float64), RATE)
    evidence = evidence_of(noise, A4, B, BAND, None)
    assert abs(evidence.below) < 4.0
    assert evidence.standing_db < 3.0
    assert doubt_of(evidence, 0.0) > 0.5


def test_doubt_falls_with_the_strength_of_the_pitch_and_rises_with_what_speaks_for_the_octave_below():
    for strength in (-2.0, 2.0, 6.0):
        less, more = (doubt_of(Evidence(nats, 10.0), strength) for nats in (-2.0, 2.0))
        assert 0.0 <= less < more <= 1.0
        assert doubt_of(Evidence(0.0, 10.0), strength) > doubt_of(Evidence(0.0, 10.0), strength + 2.0)
