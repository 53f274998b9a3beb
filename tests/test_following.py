"""A sounding followed hop after hop, also where it was left alone for long."""

from itertools import pairwise

import pytest

from dsp import Hz, PitchTracker, Seconds, cents
from dsp.following import followed
from dsp.sounding import Sounding
from dsp.synthesis.plucks import pluck

RATE, PITCH = 48000, Hz(441.0)


def ringing() -> tuple[PitchTracker, Sounding]:
    """A tracker that follows an A, and what it knew of it after half a second."""
    tracker = PitchTracker(RATE, 82.0, 1319.0)
    sound = pluck(PITCH, Seconds(5.0), RATE, seed=301)
    tracker.feed(sound[: RATE // 2])
    known = tracker._note
    assert known is not None
    tracker.feed(sound[RATE // 2 :])
    return tracker, known


def test_a_string_left_alone_for_longer_than_sound_is_kept_is_followed_again():
    tracker, known = ringing()
    past = tracker._intake.past
    assert past.count - past.sound.size > known.first + known.taken * known.base.hop
    found = followed(known, past)
    assert found is not None
    assert cents(found.frequency_hz, PITCH) == pytest.approx(0.7, abs=0.8)  # it rings on between two swings


def test_blocks_are_taken_once_and_at_their_own_time():
    tracker, known = ringing()
    past = tracker._intake.past
    again = followed(followed(known, past), past)
    assert again.tracks.time_s[-1] == pytest.approx(again.age_s(past), abs=0.02)
    assert all(later > earlier for earlier, later in pairwise(again.tracks.time_s))
