"""Recordings: read whole in blocks, or refused in one sentence."""

import builtins
import os
import tracemalloc

import numpy as np
import pytest

from device.errors import RecordingError
from device.parts.recording import open_recording
from tests.each import each

soundfile = pytest.importorskip("soundfile", reason="reads recordings: pip install 'wallpeg[listen]'")

RATE = 16000


def tone(seconds=1.0, rate=RATE, hz=440.0, level=0.5):
    return level * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate)) / rate)


def written(path, sound, rate=RATE, subtype=None):
    soundfile.write(path, sound, rate, subtype=subtype)
    return path


def read_whole(path):
    recording = open_recording(path)
    return recording, np.concatenate(list(recording.blocks()))


KINDS = [
    ("a.wav", "PCM_U8", 0.01),
    ("a.wav", "PCM_16", 1e-4),
    ("a.wav", "PCM_24", 1e-6),
    ("a.wav", "PCM_32", 1e-6),
    ("a.wav", "FLOAT", 1e-6),
    ("a.wav", "DOUBLE", 1e-6),
    ("a.flac", "PCM_16", 1e-4),
    ("a.flac", "PCM_24", 1e-6),
    ("a.ogg", "VORBIS", 0.1),
]


@pytest.mark.parametrize(("name", "depth", "within"), KINDS, ids=[f"{n} {d}" for n, d, _ in KINDS])
def test_every_kind_and_depth_reads_as_the_same_sound(tmp_path, name, depth, within):
    recording, sound = read_whole(written(tmp_path / name, tone(), subtype=depth))
    assert recording.sample_rate_hz == RATE
    assert sound.dtype == np.float32
    assert sound == pytest.approx(tone(), abs=within)


@pytest.mark.parametrize("rate", [8000, 11025, 22050, 44100, 96000, 192000])
def test_any_rate_from_8_to_192_khz_is_read(tmp_path, rate):
    recording, sound = read_whole(written(tmp_path / "a.wav", tone(rate=rate), rate))
    assert (recording.sample_rate_hz, len(sound)) == (rate, rate)
    assert recording.duration_s == 1.0


@pytest.mark.parametrize("rate", [4000, 384000])
def test_other_rates_are_refused_with_the_range(tmp_path, rate):
    path = written(tmp_path / "a.wav", tone(rate=rate), rate)
    with pytest.raises(RecordingError, match=f"has {rate} samples a second; 8000 to 192000 can be read"):
        open_recording(path)


def test_channels_that_agree_are_averaged(tmp_path):
    both = np.stack([tone(level=0.2), tone(level=0.4)], axis=1)
    recording, sound = read_whole(written(tmp_path / "a.wav", both, subtype="FLOAT"))
    assert recording.mixing == "2 channels, averaged"
    assert sound == pytest.approx(tone(level=0.3), abs=1e-5)


def test_a_string_in_each_channel_is_kept(tmp_path):
    both = np.stack([tone(hz=440.0), tone(hz=660.0)], axis=1)
    recording, sound = read_whole(written(tmp_path / "a.wav", both, subtype="FLOAT"))
    assert recording.channel is None
    assert sound == pytest.approx((tone(hz=440.0) + tone(hz=660.0)) / 2, abs=1e-5)


@pytest.mark.parametrize("from_second", [0, 5])
def test_channels_in_opposite_phase_do_not_cancel(tmp_path, from_second):
    left = tone(8.0, level=0.3)
    right = np.where(np.arange(len(left)) < from_second * RATE, left, -1.1 * left)
    path = written(tmp_path / "a.wav", np.stack([left, right], axis=1), subtype="FLOAT")
    recording, sound = read_whole(path)
    assert recording.mixing == "2 channels that cancel each other; only the loudest, 2, is read"
    assert sound == pytest.approx(right, abs=1e-5)


def test_samples_beyond_full_scale_are_scaled_down(tmp_path):
    recording, sound = read_whole(written(tmp_path / "a.wav", tone(level=20000.0), subtype="FLOAT"))
    assert recording.peak == pytest.approx(20000.0, rel=1e-3)
    assert np.max(np.abs(sound)) == pytest.approx(1.0)


@pytest.mark.parametrize("channels", [1, 3, 8])
def test_silence_is_silence_in_any_number_of_channels(tmp_path, channels):
    recording, sound = read_whole(written(tmp_path / "a.wav", np.zeros((RATE, channels))))
    assert recording.silent
    assert not sound.any()


def test_a_whisper_is_not_silence(tmp_path):
    assert not open_recording(written(tmp_path / "a.wav", tone(level=1e-4), subtype="FLOAT")).silent


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_numbers_that_are_no_sound_are_refused(tmp_path, value):
    sound = tone()
    sound[9000] = value
    path = written(tmp_path / "a.wav", sound, subtype="FLOAT")
    with pytest.raises(RecordingError, match="holds numbers that are no sound"):
        open_recording(path)


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.ogg", "a.aiff"])
@pytest.mark.parametrize("part", [0.02, 0.5, 0.95])
def test_a_cut_off_file_is_refused_and_a_whole_one_is_not(tmp_path, name, part):
    noise = np.random.default_rng(7).uniform(-0.5, 0.5, 3 * RATE)
    path = written(tmp_path / name, noise)
    assert open_recording(path).frames == 3 * RATE
    os.truncate(path, round(part * path.stat().st_size))
    with pytest.raises(RecordingError, match="cut off"):
        open_recording(path)


def test_a_length_that_its_writer_could_not_know_is_not_cut_off(tmp_path):
    path = written(tmp_path / "a.wav", tone(), subtype="PCM_16")
    data = bytearray(path.read_bytes())
    at = data.index(b"data") + 4
    data[at : at + 4] = data[4:8] = b"\xff\xff\xff\xff"
    path.write_bytes(data)
    assert open_recording(path).frames == RATE


def test_what_is_no_recording_is_refused_in_one_sentence(tmp_path):
    (tmp_path / "empty.wav").touch()
    (tmp_path / "words.wav").write_text("not a sound at all, only words\n" * 50)
    written(tmp_path / "no-frames.wav", np.zeros(0))
    os.mkfifo(tmp_path / "pipe.wav")
    cases = {
        "empty.wav": "is empty",
        "words.wav": "is no sound file",
        "no-frames.wav": "holds no sound at all",
        "missing.wav": "cannot be read: No such file or directory",
        "pipe.wav": "cannot be read twice",
        ".": "is a folder; name a recording in it",
        "nul\0.wav": "cannot be read",
    }
    for name, words in each(cases.items()):
        with pytest.raises(RecordingError, match=words) as refusal:
            open_recording(tmp_path / name)
        assert "\n" not in str(refusal.value)


def test_without_the_library_one_sentence_says_how_to_get_it(tmp_path, monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name == "soundfile":
            raise ImportError(name)
        return real(name, *args, **kwargs)

    path = written(tmp_path / "a.wav", tone())
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(RecordingError, match=r"install it with: pip install 'wallpeg\[listen\]'"):
        open_recording(path)


def test_a_long_recording_is_never_held_in_memory(tmp_path):
    path = tmp_path / "long.wav"
    with soundfile.SoundFile(path, "w", 8000, 2, "PCM_16") as file:
        for _ in range(10 * 60):
            file.write(np.full((8000, 2), 0.1))
    tracemalloc.start()
    recording = open_recording(path)
    total = sum(len(block) for block in recording.blocks())
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert total == 10 * 60 * 8000
    assert peak < 1_000_000  # bytes; as float32 the sound alone is 38 MB
