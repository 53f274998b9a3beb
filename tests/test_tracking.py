"""A sounding followed block after block, also where it was left alone for long."""

from itertools import pairwise

import pytest

from dsp import Hz, PitchTracker, Seconds, cents
from dsp.synthesis import pluck
from dsp.tracking import Followed, fitted, moved_to

RATE, PITCH = 48000, Hz(441.0)


def ringing() -> tuple[PitchTracker, Followed]:
    """A tracker that follows an A, and what it knew of it after half a second."""
    tracker = PitchTracker(RATE, 82.0, 1319.0)
    sound = pluck(PITCH, Seconds(5.0), RATE, seed=301)
    tracker.feed(sound[: RATE // 2])
    known = tracker._note
    assert known is not None
    tracker.feed(sound[RATE // 2 :])
    return tracker, known.follow


def test_a_string_left_alone_for_longer_than_sound_is_kept_is_followed_again():
    tracker, known = ringing()
    past = tracker._intake.past
    assert past.count - past.sound.size > known.first + known.taken * known.base.hop
    found = fitted(known, past)
    assert found.frequency_hz is not None
    assert cents(found.frequency_hz, PITCH) == pytest.approx(0.7, abs=1.2)  # it rings on between two swings


def test_blocks_are_taken_once_and_at_their_own_time():
    tracker, known = ringing()
    past = tracker._intake.past
    again = fitted(fitted(known, past), past)
    assert again.tracks is not None
    assert again.tracks.time_s[-1] == pytest.approx(again.onset.age_s(past), abs=0.02)
    assert all(later > earlier for earlier, later in pairwise(again.tracks.time_s))


@pytest.mark.parametrize("by", [-12.0, 12.0])
def test_a_string_expected_elsewhere_is_found_where_it_is(by):
    tracker, known = ringing()
    past = tracker._intake.past
    there = fitted(known, past)
    elsewhere = fitted(moved_to(known, by, past, 0.8), past)
    assert there.frequency_hz is not None
    assert elsewhere.frequency_hz is not None
    assert cents(elsewhere.frequency_hz, there.frequency_hz) == pytest.approx(0.0, abs=0.3)
