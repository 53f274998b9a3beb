"""What stands half-way between the partials speaks for the octave below."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from dsp import Hz, Instrument, Seconds
from dsp.coarse import coarse_pitch
from dsp.octaves import Evidence, doubt_of, evidence_of
from dsp.spectrum import peaks_of, power_spectrum
from dsp.synthesis import PIZZICATO, Manner, drawn_manner, pluck, white_noise, with_noise

RATE = 12000.0
BAND = Hz(5000.0)
B = 6e-5
G3, D4, A4, E5 = (Hz(196.0), Hz(293.66), Hz(440.0), Hz(659.26))


def spectrum(frequency, name, span_s=0.3, stiff=6.9e-5):
    manner, harmonics = Manner(lead_s=Seconds(0.0), inharmonicity=stiff), PIZZICATO[Instrument.VIOLIN][name]
    note = pluck(frequency, Seconds(span_s + 0.05), RATE, harmonics=harmonics, manner=manner)
    note = note + 3e-4 * white_noise(note.size, 40)
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


@pytest.mark.parametrize("inharmonicity", [0.0, 5.7e-5, 5.7e-4])
@pytest.mark.parametrize(("frequency", "name"), [(G3, "G3"), (A4, "A4")])
def test_the_partials_of_a_stiff_string_are_sought_where_stiffness_puts_them(frequency, name, inharmonicity):
    """Partial k lies at k f sqrt(1 + B k^2) (Fletcher & Rossing, The Physics of Musical Instruments); small
    sizes have ten times the B of full ones. Found, they stand out as far as those of a string that is not
    stiff.
    """
    usual = evidence_of(spectrum(frequency, name, stiff=0.0), frequency, 0.0, BAND, None)
    stiff = evidence_of(spectrum(frequency, name, stiff=inharmonicity), frequency, inharmonicity, BAND, None)
    assert stiff.standing_db == pytest.approx(usual.standing_db, abs=4.0)
    assert stiff.below < -13.0
    wrong = evidence_of(
        spectrum(frequency, name, stiff=inharmonicity), Hz(2.0 * frequency), 4.0 * inharmonicity, BAND, None
    )
    assert wrong.below > 35.0


@pytest.mark.parametrize("off", [-4.0, 4.0])
def test_partials_that_glide_or_lie_some_cents_off_are_found_all_the_same(off):
    """A pluck starts some ten cents sharp, and partials stray by 4 to 8 (recorded violins)."""
    sound = spectrum(G3, "G3", span_s=0.5)
    right = evidence_of(sound, G3, 6.9e-5, BAND, None)
    elsewhere = evidence_of(sound, Hz(G3 * 2.0 ** (off / 1200.0)), 6.9e-5, BAND, None)
    assert elsewhere.standing_db > right.standing_db - 8.0


@pytest.mark.parametrize(
    ("loud", "standing_db"),
    [
        ((0.0, 0.0), 8 * 18.0),
        ((0.0, 1025.0), 5 * 6.0 + 3 * 18.0),  # all on the left of the fifth partial, a quarter on its right
        ((975.0, 6000.0), 4 * 18.0 + 4 * 6.0),
    ],
)
def test_partials_that_stand_30_db_over_the_noise_on_both_their_sides_stand_out_by_18_each(loud, standing_db):
    """By hand: from 12 dB on a partial counts as standing out; white noise has its median at ln 2 of its
    mean. Where the noise is 12 dB louder on most of both sides, it stands out by so much less."""
    bin_hz, noise = 0.5, 1e-8
    power = np.full(12000, math.log(2.0) * noise)
    power[round(loud[0] / bin_hz) : round(loud[1] / bin_hz)] *= 10.0**1.2
    for k in range(1, 9):
        power[round(200.0 * k / bin_hz)] = 1e3 * noise
    flat = replace(spectrum(G3, "G3"), power=power, bin_hz=bin_hz, span_s=0.3)
    found = evidence_of(flat, Hz(200.0), 0.0, BAND, None)
    assert found.standing_db == pytest.approx(standing_db, abs=0.6)
    assert found.below < -10.0


def noisy(name, frequency, seed, snr_db):
    """The spectrum of 0.3 s of a pluck up to a semitone out of tune, drawn by the seed, and its pitch."""
    out = 2.0 ** (float(np.random.default_rng(seed).uniform(-50.0, 50.0)) / 1200.0)
    harmonics = PIZZICATO[Instrument.VIOLIN][name]
    manner = drawn_manner(seed)
    clean = pluck(Hz(frequency * out), Seconds(0.4), RATE, harmonics=harmonics, manner=manner, seed=seed)
    sound = with_noise(clean, white_noise(clean.size, seed), snr_db, RATE)[60:3660]
    return power_spectrum(sound.astype(np.float64), RATE), Hz(frequency * out)


def test_in_noise_louder_than_the_string_most_right_octaves_are_believed_and_hardly_any_wrong_one():
    """5 and 10 dB louder: a lesson takes a doubt of a tenth for sure."""
    right, wrong = [], []
    for name, frequency in (("G3", G3), ("D4", D4), ("A4", A4), ("E5", E5)):
        for seed, snr_db in itertools.product(range(40, 48), (-10.0, -5.0)):
            sound, pitch = noisy(name, frequency, seed, snr_db)
            for found, octave, stiff in ((right, 1.0, 6e-5), (wrong, 2.0, 2.4e-4)):
                limits = (Hz(0.6 * octave * pitch), Hz(1.4 * octave * pitch))
                guess = coarse_pitch(peaks_of(sound, BAND, 0.4 * 82.0, None), BAND, *limits)
                strength = 0.0 if guess is None else guess.strength
                evidence = evidence_of(sound, Hz(octave * pitch), stiff, BAND, None)
                found.append(doubt_of(evidence, strength))
    assert len(right) == len(wrong) == 64
    assert sum(doubt < 0.1 for doubt in right) >= 42
    assert sum(doubt > 0.1 for doubt in wrong) >= 63
