"""Work that may hang never holds up the loop."""

import threading
import time

import pytest

from device.errors import NotYetError, PartError, StuckError
from device.parts import microphone as module
from device.parts.microphone import MicrophoneSeeker
from device.parts.patience import Patiently

LIMIT_S = 5.0


def settled(work: Patiently):
    """The outcome, asked for until it is there."""
    for _ in range(500):
        try:
            return work()
        except NotYetError:
            time.sleep(0.01)
    raise AssertionError("the work does not end")


def test_the_result_is_there_once_the_work_is_done():
    assert settled(Patiently("counting", lambda: 7)) == 7


def test_a_failure_of_the_work_is_told_and_the_next_call_tries_again():
    outcomes = iter([PartError("not there"), 7])

    def work():
        outcome = next(outcomes)
        if isinstance(outcome, PartError):
            raise outcome
        return outcome

    patiently = Patiently("opening", work)
    with pytest.raises(PartError, match="not there"):
        settled(patiently)
    assert settled(patiently) == 7


def test_work_that_hangs_is_called_stuck_after_the_limit():
    enough, clock = threading.Event(), [0.0]
    patiently = Patiently("opening", lambda: enough.wait(10.0), LIMIT_S, lambda: clock[0])
    with pytest.raises(NotYetError):
        patiently()
    clock[0] = LIMIT_S + 0.1
    with pytest.raises(StuckError, match="opening has been hanging for 5 s"):
        patiently()
    enough.set()


class Opened:
    """A microphone whose closing takes as long as the test says."""

    made = 0

    def __init__(self, *_wanted):
        Opened.made += 1
        self.closed = threading.Event()

    def wait_closed(self):
        self.closed.wait(10.0)


def test_a_microphone_is_sought_anew_only_after_the_last_one_is_closed_and_listed_anew(monkeypatch):
    listed = []
    monkeypatch.setattr(module, "SoundCardMicrophone", Opened)
    monkeypatch.setattr(module, "list_anew", lambda: listed.append(Opened.made))
    seeker = MicrophoneSeeker("", 48000, 1)
    first = settled(seeker)
    assert (Opened.made, listed) == (1, [])
    with pytest.raises(NotYetError):
        seeker()
    time.sleep(0.05)
    assert (Opened.made, listed) == (1, [])  # still waiting for the first to close
    first.closed.set()
    assert settled(seeker) is not first
    assert (Opened.made, listed) == (2, [1])


def test_a_microphone_that_stays_away_for_long_ends_the_process_before_memory_does(monkeypatch):
    def missing(*_wanted):
        raise PartError("there is no microphone")

    monkeypatch.setattr(module, "SoundCardMicrophone", missing)
    monkeypatch.setattr(module, "list_anew", lambda: None)
    monkeypatch.setattr(module, "MOST_LISTS", 3)
    seeker = MicrophoneSeeker("", 48000, 1)
    for _ in range(4):
        with pytest.raises(PartError, match="there is no microphone"):
            settled(seeker)
    with pytest.raises(StuckError, match="no microphone after 3 lists"):
        settled(seeker)
