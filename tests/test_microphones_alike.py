"""Every microphone, real or made for a test or the demo, gives sound in the same form."""

import numpy as np
import pytest

from demo.parts import RecordedMicrophone, RoomMicrophone
from demo.parts import SteppedClock as DemoClock
from demo.room import Room
from device.parts import microphone as module
from device.parts import sound_library
from device.parts.microphone import SoundCardMicrophone
from dsp import Seconds
from tests.stand_ins import SteppedClock, ToldMicrophone
from tests.test_faults import PlayedMicrophone
from tests.test_microphone import Library


def real(monkeypatch):
    """The real one, over a stand-in for the sound library that refuses what PortAudio refuses."""
    library = Library()
    for place in (module, sound_library):
        monkeypatch.setattr(place, "loaded", lambda: library)
    microphone = SoundCardMicrophone("usb")
    return microphone, lambda: library.streams[0].give([0.1, -0.2])


def told(_monkeypatch):
    clock = SteppedClock()
    return ToldMicrophone(clock), lambda: clock.sleep(Seconds(0.01))


def stuck(_monkeypatch):
    clock = SteppedClock()
    microphone = ToldMicrophone(clock)
    microphone.stuck = 0.25
    return microphone, lambda: clock.sleep(Seconds(0.01))


def played(_monkeypatch):
    clock = SteppedClock()
    return PlayedMicrophone(clock, np.full(200, 0.1, np.float32)), lambda: clock.sleep(Seconds(0.01))


def room(_monkeypatch):
    clock = DemoClock()
    return RoomMicrophone(Room(8000, seed=1), clock), lambda: clock.sleep(Seconds(0.01))


def recorded(_monkeypatch):
    clock = DemoClock()
    blocks = iter([np.full(200, 0.1, np.float32)])
    return RecordedMicrophone(blocks, 8000, clock), lambda: clock.sleep(Seconds(0.01))


@pytest.mark.parametrize("make", [real, told, stuck, played, room, recorded])
def test_sound_is_a_row_of_32_bit_floats_that_is_the_readers_own(monkeypatch, make):
    microphone, wait = make(monkeypatch)
    assert len(microphone.read()) == 0
    blocks = []
    for _ in range(4):
        wait()
        blocks.append(microphone.read())
    blocks.append(microphone.read())
    assert [len(block) > 0 for block in blocks] == [True] * 4 + [False]
    for block in blocks:
        assert (type(block), block.dtype, block.ndim) == (np.ndarray, np.float32, 1)
        assert float(np.abs(block).max(initial=0.0)) <= 1.0
    assert type(microphone.sample_rate_hz) is int
    before = [block.copy() for block in blocks]
    wait()
    microphone.read()
    assert all(np.array_equal(block, kept) for block, kept in zip(blocks, before, strict=True))
    microphone.close()
    microphone.close()
