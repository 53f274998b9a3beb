"""One pluck is one sounding: a note whose start sinks, or whose body still builds up, is not begun anew."""

from itertools import pairwise

import pytest

from demo.room import Room
from dsp import OPEN_STRINGS, Hz, Instrument, PitchTracker, Reading, Seconds, cents, string_frequencies
from tests.each import each

RATE = 48000
APART_S = 1.25
STRINGS = tuple(reversed(string_frequencies(OPEN_STRINGS[Instrument.VIOLIN], Hz(440.0))))
SEEDS = range(1, 5)


def readings_of(seed: int) -> list[Reading]:
    """Four strings, each twice, plucked one after the other as a pupil does; each pluck damps the last."""
    room = Room(RATE, seed)
    for k in range(8):
        room.pluck(Seconds(0.5 + APART_S * k), Hz(STRINGS[k // 2] * 0.993))
    tracker = PitchTracker(RATE, 130.0, 1000.0)
    end = round((0.5 + APART_S * 8) * RATE)
    return [r for i in range(0, end, 480) for r in tracker.feed(room.sound(i, i + 480))]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_pluck_is_one_sounding(seed):
    readings = readings_of(seed)
    begun = [b for a, b in pairwise(readings) if a.pluck != b.pluck]
    assert len(begun) >= 5
    for reading in each(begun):
        since = (reading.time_s - reading.since_pluck_s - 0.5) % APART_S
        assert min(since, APART_S - since) < 0.05, "begun where nothing was plucked"


def test_they_are_the_strings_that_were_plucked():
    heard = {round(cents(r.frequency_hz, Hz(STRINGS[0])) / 700.0) for r in readings_of(1)}
    assert heard == {0, -1, -2, -3}
