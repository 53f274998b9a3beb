"""Strings that are meant to be one and are not quite: heard, but never surely."""

from dataclasses import replace

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
    shifted,
    string_frequencies,
    tracking_range,
)
from dsp.section_pitch import Glimpse, Section, agreed, pitch
from dsp.sounding import Onset
from dsp.synthesis import pluck
from dsp.synthesis.manner import Manner

RATE = 48000
VIOLIN = string_frequencies(OPEN_STRINGS[Instrument.VIOLIN], Hz(440.0))
APART = (-31.0, -12.0, 14.0, 29.0)  # cents: four players who tuned in a hurry
LATE_S = (0.0, 0.012, 0.019, 0.027)  # and who do not pluck at once


def section(frequency, seed):
    """Four dull strings about one pitch, one after the other."""
    manner = Manner(lead_s=Seconds(0.3), decay_factor=3.0)
    return sum(
        pluck(
            shifted(frequency, Cents(off)),
            Seconds(1.4),
            RATE,
            manner=replace(manner, lead_s=Seconds(0.3 + late)),
            seed=seed,
        )
        for off, late in zip(APART, LATE_S, strict=True)
    )


def glimpses(cents_per_s=0.0, fall_db_per_s=60.0, scatter_cents=8.0):
    """What short spectra would see of a sound that slides and dies away like this."""
    stray = np.random.default_rng(5).standard_normal(12)
    return tuple(
        Glimpse(
            age_s=age,
            frequency_hz=shifted(VIOLIN[1], Cents(cents_per_s * age + scatter_cents * off)),
            doubt=0.0,
            strength=12.0,
            level_db=-20.0 - fall_db_per_s * age,
        )
        for age, off in zip(np.arange(0.05, 0.41, 0.03), stray, strict=True)
    )


def heard(sound):
    tracker = PitchTracker(RATE, *tracking_range(VIOLIN))
    noise = 1e-4 * np.random.default_rng(3).standard_normal(sound.size)
    return tracker.feed((sound + noise).astype(np.float32))


@pytest.mark.parametrize("string", range(4))
def test_four_players_on_one_string_are_heard_as_that_string_and_never_as_in_tune(string):
    readings = heard(section(VIOLIN[string], seed=40))
    assert readings
    off = [cents(reading.frequency_hz, VIOLIN[string]) for reading in readings]
    assert max(map(abs, off)) < 35.0
    assert min(reading.std_error_cents for reading in readings) > 4.0  # no tolerance but 8 cents admits it
    assert {reading.pluck for reading in readings} == {1}
    assert readings[0].since_pluck_s < 0.9  # and before the last of them has died away
    assert {reading.drift_cents_per_s for reading in readings} == {0.0}  # nobody turns


def test_glimpses_that_stand_and_die_like_a_string_are_believed():
    assert agreed(Section(Onset(0, plucked=True), glimpses=glimpses()))


@pytest.mark.parametrize(
    "unlike",
    [
        {"cents_per_s": 150.0},
        {"cents_per_s": -150.0},
        {"fall_db_per_s": 0.0},
        {"fall_db_per_s": 220.0},
        {"scatter_cents": 40.0},
    ],
    ids=["a voice slides up", "a voice slides down", "hum does not die", "wood dies at once", "no pitch"],
)
def test_what_does_not_stand_or_die_like_a_string_is_not_believed(unlike):
    assert not agreed(Section(Onset(0, plucked=True), glimpses=glimpses(**unlike)))


def test_nothing_seen_is_nothing_believed():
    blind = tuple(replace(one, frequency_hz=None) for one in glimpses())
    assert not agreed(Section(Onset(0, plucked=True), glimpses=blind))
    assert pitch(Section(Onset(0, plucked=True), glimpses=blind)) is None
