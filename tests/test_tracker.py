"""The tracker as the wall uses it."""

import numpy as np
import pytest

from dsp import (
    OPEN_STRINGS,
    PIZZICATO,
    Hz,
    Instrument,
    PitchTracker,
    Reading,
    Samples,
    Seconds,
    cents,
    pluck,
    string_frequencies,
    tracking_range,
)

RATE = 48000
VIOLIN = tracking_range(string_frequencies(OPEN_STRINGS[Instrument.VIOLIN], Hz(440.0)))


def read(sound: Samples, block: int = 480, rate: float = RATE) -> list[Reading]:
    tracker = PitchTracker(rate, *VIOLIN)
    return [r for i in range(0, sound.size, block) for r in tracker.feed(sound[i : i + block])]


def test_every_block_length_gives_the_same_readings():
    sound = pluck(Hz(196.0), Seconds(0.5), RATE)
    assert read(sound, 64) == read(sound, 1000) == read(sound, sound.size) != []


@pytest.mark.parametrize("name", ["G3", "D4", "A4", "E5"])
def test_an_open_violin_string_is_read_in_its_octave_within_a_cent(name):
    strings = OPEN_STRINGS[Instrument.VIOLIN]
    at = [s.name for s in strings].index(name)
    f = string_frequencies(strings, Hz(440.0))[at]
    readings = read(pluck(f, Seconds(0.5), RATE, harmonics=PIZZICATO[Instrument.VIOLIN][name]))
    assert readings
    assert abs(cents(readings[-1].frequency_hz, f)) < 1.0


@pytest.mark.parametrize("level", [0.0, 0.5, np.nan, np.inf])
def test_nothing_is_read_where_nothing_moves(level):
    assert read(np.full(RATE, level, np.float32)) == []
