"""The queue's arithmetic, by hand: what a slow processor is behind by and what it drops."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.runtime.audio_in import BACKLOG_LIMIT_S
from tests.backlog import dropped_s, waits

BLOCK_S = 0.01


def test_a_processor_that_keeps_up_waits_for_nothing():
    assert waits([0.009] * 50, BLOCK_S).max() == 0.0


def test_each_late_block_makes_the_next_wait_and_a_short_one_catches_up():
    """30 ms for one block: 20 ms behind; two blocks of 5 ms give back 5 ms each."""
    assert waits([0.03, 0.005, 0.005, 0.0, 0.0], BLOCK_S) == pytest.approx([0.0, 0.02, 0.015, 0.01, 0.0])


def test_a_processor_half_as_fast_as_it_should_be_is_half_the_sound_behind():
    assert waits([0.02] * 101, BLOCK_S)[-1] == pytest.approx(1.0)


def test_what_has_queued_is_dropped_as_a_whole_once_it_is_longer_than_allowed():
    """20 ms for 10 ms of sound: after 51 blocks 0.51 s have queued, and so again after 51 more."""
    assert dropped_s([0.02] * 51, BLOCK_S, BACKLOG_LIMIT_S) == pytest.approx(0.51)
    assert dropped_s([0.02] * 102, BLOCK_S, BACKLOG_LIMIT_S) == pytest.approx(1.02)
    assert dropped_s([0.02] * 49, BLOCK_S, BACKLOG_LIMIT_S) == 0.0


@given(st.lists(st.floats(0.0, 0.2), min_size=1, max_size=200))
def test_nothing_is_dropped_exactly_when_no_block_and_no_end_waits_too_long(spent):
    longest = max(float(waits([*spent, 0.0], BLOCK_S).max()), 0.0)
    assert (dropped_s(spent, BLOCK_S, BACKLOG_LIMIT_S) > 0.0) == (longest > BACKLOG_LIMIT_S)
    assert np.all(waits(spent, BLOCK_S) >= 0.0)
