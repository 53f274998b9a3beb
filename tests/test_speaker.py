"""The loudspeaker on a stand-in for the sound library; the real one is met in test_sound_path.py."""

import threading

import numpy as np
import pytest

from device.errors import PartError
from device.parts import sound_library
from device.parts import speaker as module
from device.parts.speaker import SoundCardSpeaker

DEVICES = [
    {"index": 4, "name": "Desk", "max_input_channels": 2, "max_output_channels": 0},
    {"index": 5, "name": "Screen", "max_input_channels": 0, "max_output_channels": 2},
    {"index": 6, "name": "Wall USB Speaker", "max_input_channels": 0, "max_output_channels": 1},
]
PATIENCE_S = 5.0


class Library:
    class PortAudioError(Exception):
        pass

    class CallbackStop(Exception):  # noqa: N818 - the library's own spelling
        pass

    class default:  # noqa: N801 - the library's own spelling
        device = (4, 5)

    def __init__(self):
        self.streams, self.opens = [], True

    def query_devices(self):
        return DEVICES

    def OutputStream(self, **asked):  # noqa: N802 - the library's own spelling
        device = next((d for d in DEVICES if d["index"] == asked["device"]), None)
        if not self.opens or device is None or not 1 <= asked["channels"] <= device["max_output_channels"]:
            raise self.PortAudioError("Device unavailable")
        stream = Stream(self, asked)
        self.streams.append(stream)
        return stream


class Stream:
    """Calls back when it is told to; `entered` and `left` tell how far the one who plays has come."""

    def __init__(self, library, asked):
        self.library, self.asked = library, asked
        self.entered, self.left = threading.Event(), threading.Event()

    def __enter__(self):
        self.entered.set()
        return self

    def __exit__(self, *_):
        self.left.set()

    def takes(self, frames):
        """What one callback hands over, and whether it ends the stream."""
        out = np.full((frames, self.asked["channels"]), 9.0, self.asked["dtype"])
        try:
            self.asked["callback"](out, frames, None, None)
        except self.library.CallbackStop:
            self.asked["finished_callback"]()
            return out[:, 0].tolist(), True
        return out[:, 0].tolist(), False


@pytest.fixture(autouse=True)
def library(monkeypatch):
    library = Library()
    for place in (module, sound_library):
        monkeypatch.setattr(place, "loaded", lambda: library)
    return library


def begun(library, number=0):
    for _ in range(int(PATIENCE_S / 0.01)):
        if len(library.streams) > number and library.streams[number].entered.wait(0.01):
            return library.streams[number]
        threading.Event().wait(0.01)
    raise AssertionError("nothing is opened")


RAMP = np.arange(1, 11, dtype=np.float32) / 16.0


def test_a_tone_is_handed_over_whole_then_silence_then_the_end(library):
    speaker = SoundCardSpeaker("wall")
    speaker.play(RAMP, 48000)
    stream = begun(library)
    assert (stream.asked["samplerate"], stream.asked["channels"], stream.asked["dtype"]) == (
        48000,
        1,
        "float32",
    )
    assert stream.asked["device"] == 6
    assert stream.takes(4) == (RAMP[:4].tolist(), False)
    assert speaker.sounding
    assert stream.takes(4) == (RAMP[4:8].tolist(), False)
    assert stream.takes(4) == ([*RAMP[8:].tolist(), 0.0, 0.0], True)
    assert stream.left.wait(PATIENCE_S)


def test_a_tone_that_fills_its_last_block_ends_with_the_next(library):
    SoundCardSpeaker().play(RAMP[:4], 48000)
    stream = begun(library)
    assert stream.asked["device"] == 5  # the default one
    assert stream.takes(4) == (RAMP[:4].tolist(), False)
    assert stream.takes(4) == ([0.0] * 4, True)


def test_stopping_ends_the_stream_at_once(library):
    speaker = SoundCardSpeaker()
    speaker.play(np.zeros(48000 * 60, np.float32), 48000)
    stream = begun(library)
    assert not stream.left.is_set()
    speaker.stop()
    assert not speaker.sounding
    assert stream.left.wait(PATIENCE_S)
    speaker.close()


def test_another_tone_cuts_the_first_short(library):
    speaker = SoundCardSpeaker()
    speaker.play(np.zeros(48000 * 60, np.float32), 48000)
    first = begun(library)
    speaker.play(RAMP, 48000)
    assert first.left.wait(PATIENCE_S)
    assert begun(library, 1).takes(2) == (RAMP[:2].tolist(), False)


def test_a_library_that_never_asks_for_sound_is_not_waited_for_for_ever(library):
    speaker = SoundCardSpeaker()
    speaker.play(np.zeros(4800, np.float32), 48000)
    stream = begun(library)
    assert stream.left.wait(PATIENCE_S)


def test_a_loudspeaker_that_fails_is_told_of_in_a_sentence_and_may_be_tried_again(library):
    speaker = SoundCardSpeaker()
    library.opens = False
    speaker.play(RAMP, 48000)
    for _ in range(int(PATIENCE_S / 0.01)):
        if not speaker.sounding:
            break
        threading.Event().wait(0.01)
    with pytest.raises(PartError, match=r"the loudspeaker Screen does not sound .Device unavailable."):
        speaker.play(RAMP, 48000)
    library.opens = True
    speaker.play(RAMP, 48000)
    assert begun(library).takes(1) == (RAMP[:1].tolist(), False)


def test_a_microphone_is_no_loudspeaker():
    with pytest.raises(PartError, match='no loudspeaker with "desk" in its name; there is "Screen", "Wall'):
        SoundCardSpeaker("desk")


def test_the_thread_of_a_tone_does_not_keep_the_program_from_ending(library):
    before = set(threading.enumerate())
    speaker = SoundCardSpeaker()
    speaker.play(RAMP, 48000)
    begun(library)
    assert [thread.daemon for thread in set(threading.enumerate()) - before] == [True]
    speaker.stop()
