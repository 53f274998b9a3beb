"""Recordings that are cut off, of unknown length, or whose channels cancel, to the frame and the page."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from device.errors import RecordingError
from device.parts.recording import open_recording
from device.parts.sound_file import frames_of, open_sound

soundfile = pytest.importorskip("soundfile", reason="the library for recordings is not installed (listen)")

RATE = 8000


class Sound:
    """What the library's object gives: `there` frames of the `declared` ones."""

    samplerate = RATE

    def __init__(self, there, declared):
        self._left, self.frames = there, declared

    def read(self, size, dtype, always_2d):
        assert (dtype, always_2d) == ("float64", True)
        given = min(size, self._left)
        self._left -= given
        return np.zeros((given, 1))


def test_a_recording_is_read_a_tenth_of_a_second_at_a_time():
    assert [len(block) for block in frames_of(Sound(2000, 2000), "a.wav")] == [800, 800, 400]


def test_one_that_ends_before_its_length_is_cut_off_and_says_where():
    with pytest.raises(RecordingError, match=r"a\.wav is cut off or damaged \(after 1\.50 of 2\.00 s\)"):
        list(frames_of(Sound(12000, 16000), "a.wav"))


@pytest.mark.parametrize("declared", [2**62, 2**63 - 1])
def test_a_length_that_a_program_could_not_know_is_none(declared):
    """libsndfile says its largest count, 2^63 - 1, where the file does not tell."""
    assert sum(len(block) for block in frames_of(Sound(900, declared), "a.wav")) == 900


def test_a_stream_that_breaks_says_how_far_it_was_read():
    def broken(*_args, **_more):
        raise RuntimeError("unspecified internal error")

    sound = SimpleNamespace(samplerate=RATE, frames=100, read=broken)
    with pytest.raises(RecordingError, match=r"after 0\.00 s"):
        list(frames_of(sound, "a.flac"))


@pytest.fixture(scope="module")
def ogg(tmp_path_factory):
    """An Ogg file of several pages, and where each page begins (RFC 3533: the capture pattern OggS)."""
    path = tmp_path_factory.mktemp("ogg") / "whole.ogg"
    noise = 0.3 * np.random.default_rng(1).standard_normal(8 * RATE)
    soundfile.write(path, noise, RATE, format="OGG", subtype="VORBIS")
    whole = path.read_bytes()
    pages = [at for at in range(len(whole)) if whole.startswith(b"OggS", at)]
    assert len(pages) >= 4
    return path, whole, pages


def test_an_ogg_file_is_whole_only_with_all_of_its_last_page(tmp_path, ogg):
    path, whole, pages = ogg
    open_sound(path).close()
    cuts = [pages[-1], pages[-1] + 3, pages[-1] + 20, pages[-1] + 30, len(whole) - 1, pages[-2]]
    for cut in cuts:
        short = tmp_path / "short.ogg"
        short.write_bytes(whole[:cut])
        with pytest.raises(RecordingError, match="its last page is missing"):
            open_sound(short)
    assert len(set(cuts)) == 6


@pytest.mark.parametrize(("left", "right", "channel"), [(0.5, -0.2, 0), (0.2, -0.5, 1), (0.3, 0.3, None)])
def test_channels_that_cancel_are_not_averaged_and_the_stronger_one_is_read(tmp_path, left, right, channel):
    tone = np.sin(2.0 * math.pi * 200.0 * np.arange(RATE) / RATE)
    both = np.stack([left * tone, right * tone], axis=1)
    if channel is not None:
        both[:, 1 - channel] = -both[:, channel] * 0.98
    soundfile.write(tmp_path / "two.wav", both, RATE, subtype="PCM_24")
    recording = open_recording(tmp_path / "two.wav")
    assert recording.channel == channel
    mono = np.concatenate(list(recording.blocks()))
    expected = both[:, channel] if channel is not None else both.mean(axis=1)
    assert mono == pytest.approx(expected, abs=1e-6)
