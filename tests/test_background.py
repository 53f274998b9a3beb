"""How far something leaps out of what sounded before it."""

import numpy as np
import pytest

from dsp.background import leap_db
from dsp.sounding import Onset, Past
from dsp.units import Hz

RATE = 12000.0
START = 24000  # sample at which something leaps up


def past(levels_db, now_db, seed=3):
    """Noise in frames of 50 ms at these levels, then 0.2 s at `now_db`."""
    rng = np.random.default_rng(seed)
    before = np.repeat(10.0 ** (np.array(levels_db) / 20.0), 600)
    gain = np.concatenate(
        [np.full(START - before.size, 1e-6), before, np.full(2400, 10.0 ** (now_db / 20.0))]
    )
    return Past(gain * rng.standard_normal(gain.size), gain.size, RATE, Hz(5040.0))


@pytest.mark.parametrize(
    ("levels_db", "expected"),
    [
        ([-70.0] * 24, 40.0),
        ([-25.0] * 24, 5.0),
        ([-45.0, -30.0, -20.0, -22.0, -30.0, -45.0] * 4, 0.0),
        ([-60.0] * 4 + [-19.0] * 3 + [-60.0] * 17, -1.0),
    ],
    ids=["a quiet room", "noise 5 dB softer", "talk as loud", "a word a second ago"],
)
def test_a_leap_is_measured_from_the_loudest_moment_before_it(levels_db, expected):
    found = leap_db(Onset(START, plucked=True), past(levels_db, -20.0))
    assert found == pytest.approx(expected, abs=1.6)


def test_our_own_string_before_it_is_no_background():
    loud = past([-18.0] * 24, -20.0)
    assert leap_db(Onset(START, plucked=True), loud) < 0.0
    assert leap_db(Onset(START, plucked=True, follows=True), loud) == 12.0


def test_a_stream_that_has_just_begun_says_nothing():
    sound = np.random.default_rng(4).standard_normal(1800)
    assert leap_db(Onset(200, plucked=True), Past(sound, sound.size, RATE, Hz(5040.0))) == 40.0
