"""The microphone on a stand-in for the sound library: what is handed over, and what is refused.

The real library is met in test_sound_path.py.
"""

import threading
from types import SimpleNamespace

import numpy as np
import pytest

from device.errors import PartError
from device.parts import microphone as module
from device.parts import sound_library
from device.parts.microphone import SoundCardMicrophone

DEVICES = [
    {"index": 0, "name": "Screen", "max_input_channels": 0, "max_output_channels": 2},
    {"index": 1, "name": "Wall USB Audio", "max_input_channels": 1, "max_output_channels": 0},
    {"index": 2, "name": "I2S pair", "max_input_channels": 2, "max_output_channels": 0},
    {"index": 3, "name": "Four in a row", "max_input_channels": 4, "max_output_channels": 0},
]


class Library:
    """A sound library with one stream at a time, called back by the test."""

    class PortAudioError(Exception):
        pass

    class default:  # noqa: N801 - the library's own spelling
        device = (2, 0)

    def __init__(self, rates=(48000,)):
        self.rates, self.streams = rates, []

    def query_devices(self):
        return [{**device, "default_samplerate": 44100.0} for device in DEVICES]

    def InputStream(self, **asked):  # noqa: N802 - the library's own spelling
        """Refuse what PortAudio refuses (its error texts, pa_front.c)."""
        device = next((d for d in DEVICES if d["index"] == asked["device"]), None)
        if device is None or device["max_input_channels"] == 0:
            raise self.PortAudioError("Invalid device")
        if not 1 <= asked["channels"] <= device["max_input_channels"]:
            raise self.PortAudioError("Invalid number of channels")
        if asked["samplerate"] not in self.rates:
            raise self.PortAudioError("Invalid sample rate")
        if asked["dtype"] not in SCALES:
            raise self.PortAudioError("Sample format not supported")
        self.asked = asked
        stream = Stream(asked)
        self.streams.append(stream)
        return stream


SCALES = {"float32": 1.0, "int32": 2.0**31, "int16": 2.0**15, "int8": 2.0**7}  # full scale, of each format


class Stream:
    def __init__(self, asked):
        self.asked, self.closed, self.may_close = asked, threading.Event(), threading.Event()
        self.may_close.set()

    def start(self):
        pass

    def close(self, ignore_errors=True):
        assert ignore_errors
        self.may_close.wait(5.0)
        self.closed.set()

    def give(self, *channels, lost=False):
        """Call back as PortAudio does: shape (frames, channels asked for), in the format asked for."""
        dtype = self.asked["dtype"]
        block = (np.stack(channels, axis=1) * SCALES[dtype]).astype(dtype)
        assert block.shape[1] == self.asked["channels"]
        self.asked["callback"](block, len(block), None, SimpleNamespace(input_overflow=lost))
        block[:] = 9.0  # the library uses its memory again


@pytest.fixture(autouse=True)
def library(monkeypatch):
    library = Library()
    for place in (module, sound_library):
        monkeypatch.setattr(place, "loaded", lambda: library)
    return library


def test_a_block_is_copied_and_read_once(library):
    microphone = SoundCardMicrophone("usb")
    library.streams[0].give([0.1, 0.2])
    library.streams[0].give([0.3, 0.4])
    assert microphone.read().tolist() == pytest.approx([0.1, 0.2, 0.3, 0.4])
    assert len(microphone.read()) == 0


def test_full_scale_is_one_and_samples_are_32_bit_floats(library):
    microphone = SoundCardMicrophone("usb")
    library.streams[0].give([1.0, -1.0, 0.25, 2.0**-15])
    block = microphone.read()
    assert block.dtype == np.float32
    assert block.tolist() == [1.0, -1.0, 0.25, 2.0**-15]
    assert library.asked["dtype"] == "float32"


def test_a_block_is_short_beside_a_tick_and_the_stream_tells_its_end(library):
    SoundCardMicrophone("usb")
    assert 0 < library.asked["blocksize"] / library.asked["samplerate"] <= 0.01
    assert callable(library.asked["finished_callback"])


@pytest.mark.parametrize(
    ("change", "error"),
    [
        ({"dtype": "complex64"}, "Sample format not supported"),
        ({"channels": 3}, "Invalid number of channels"),
        ({"device": 0}, "Invalid device"),
        ({"device": 9}, "Invalid device"),
        ({"samplerate": 1}, "Invalid sample rate"),
    ],
)
def test_the_stand_in_refuses_what_the_library_refuses(library, change, error):
    SoundCardMicrophone("usb")
    with pytest.raises(library.PortAudioError, match=error):
        library.InputStream(**{**library.asked, **change})


def test_it_is_chosen_by_part_of_its_name_whatever_the_case():
    assert SoundCardMicrophone("wall usb").name == "Wall USB Audio"
    assert SoundCardMicrophone("I2S").name == "I2S pair"


def test_without_a_name_the_default_one_is_taken():
    assert SoundCardMicrophone("").name == "I2S pair"


def test_a_name_nobody_has_is_refused_with_what_there_is():
    with pytest.raises(
        PartError, match='no microphone with "mixer" in its name; there is "Wall USB Audio", "I2S'
    ):
        SoundCardMicrophone("mixer")


def test_a_loudspeaker_is_no_microphone():
    with pytest.raises(PartError, match="no microphone"):
        SoundCardMicrophone("screen")


def test_microphones_and_loudspeakers_are_listed_apart():
    """`wallpeg check` prints both lists, for whoever seeks the name to write into the settings."""
    assert sound_library.names() == (("Wall USB Audio", "I2S pair", "Four in a row"), ("Screen",))


def test_the_channel_asked_for_is_heard(library):
    microphone = SoundCardMicrophone("I2S", channel=2)
    library.streams[0].give([0.1], [0.7])
    assert microphone.read().tolist() == pytest.approx([0.7])


def test_without_a_channel_the_first_is_heard(library):
    microphone = SoundCardMicrophone("I2S")
    library.streams[0].give([0.1], [0.7])
    assert microphone.read().tolist() == pytest.approx([0.1])


def test_no_more_channels_are_opened_than_are_needed_for_the_one_asked_for(library):
    microphone = SoundCardMicrophone("four", channel=3)
    library.streams[0].give([0.1], [0.2], [0.3])
    assert microphone.read().tolist() == pytest.approx([0.3])
    assert library.asked["channels"] == 3
    SoundCardMicrophone("four")
    assert library.asked["channels"] == 2  # an I2S microphone is not opened with fewer


def test_a_channel_it_does_not_have_is_refused():
    with pytest.raises(PartError, match="has 1 of them, so channel = 2 is not there"):
        SoundCardMicrophone("usb", channel=2)


def test_a_rate_it_cannot_do_gives_way_to_its_own(library):
    library.rates = (44100,)
    assert SoundCardMicrophone("usb", 48000).sample_rate_hz == 44100


def test_no_rate_at_all_is_no_microphone(library):
    library.rates = ()
    with pytest.raises(PartError, match=r"does not open .Invalid sample rate"):
        SoundCardMicrophone("usb")


def test_a_stream_that_ends_gives_its_last_sound_and_is_then_gone(library):
    microphone = SoundCardMicrophone("usb")
    library.streams[0].give([0.5])
    library.streams[0].asked["finished_callback"]()
    assert len(microphone.read()) == 1
    with pytest.raises(PartError, match="Wall USB Audio is gone"):
        microphone.read()


def test_closing_does_not_wait_for_a_source_that_hangs(library):
    microphone = SoundCardMicrophone("usb")
    stream = library.streams[0]
    stream.may_close.clear()
    microphone.close()
    microphone.close()
    assert not stream.closed.is_set()
    stream.may_close.set()
    microphone.wait_closed()
    assert stream.closed.is_set()


def test_two_seconds_of_sound_wait_to_be_fetched_and_more_is_counted(library):
    microphone = SoundCardMicrophone("usb")
    for _ in range(20):
        library.streams[0].give(np.zeros(4800))
    assert len(microphone.read()) == 96000
    for _ in range(21):
        library.streams[0].give(np.zeros(4800))
    assert len(microphone.read()) == 0
    assert microphone.overflows == 1


def test_sound_the_library_lost_is_counted(library):
    microphone = SoundCardMicrophone("usb")
    for lost in (False, True, True):
        library.streams[0].give(np.zeros(256), lost=lost)
    assert microphone.overflows == 2
    assert len(microphone.read()) == 768
