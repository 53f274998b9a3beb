"""Among bursts as loud as itself a leap in level says little."""

import numpy as np
import pytest

from dsp.room import among_bursts
from dsp.sounding import Past, Sounding
from dsp.units import Hz

RATE = 12000.0
START = 12000  # sample at which something leaps up


def past(levels_db, now_db, seed=3):
    """Noise in frames of 50 ms at these levels, then 0.2 s at `now_db`."""
    rng = np.random.default_rng(seed)
    before = np.repeat(10.0 ** (np.array(levels_db) / 20.0), 600)
    gain = np.concatenate(
        [np.full(START - before.size, 1e-6), before, np.full(2400, 10.0 ** (now_db / 20.0))]
    )
    return Past(gain * rng.standard_normal(gain.size), gain.size, RATE, Hz(5040.0))


@pytest.mark.parametrize(
    ("levels_db", "now_db", "expected"),
    [
        ([-70.0] * 10, -20.0, False),
        ([-25.0] * 10, -20.0, False),
        ([-22.0] * 10, -20.0, False),
        ([-45.0, -30.0, -20.0, -22.0, -30.0, -45.0, -28.0, -19.0, -35.0, -40.0], -20.0, True),
        ([-45.0, -40.0, -30.0, -32.0, -40.0, -45.0, -38.0, -29.0, -35.0, -40.0], -20.0, False),
    ],
    ids=["a quiet room", "noise 5 dB softer", "noise 2 dB softer", "talk as loud", "talk 9 dB softer"],
)
def test_only_bursts_as_loud_as_itself_make_a_leap_doubtful(levels_db, now_db, expected):
    assert among_bursts(Sounding(START, plucked=True), past(levels_db, now_db)) is expected


def test_a_stream_that_has_just_begun_says_nothing():
    note = Sounding(600, plucked=True)
    sound = np.random.default_rng(4).standard_normal(1800)
    assert not among_bursts(note, Past(sound, sound.size, RATE, Hz(5040.0)))
