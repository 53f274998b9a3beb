"""What may happen to a recorded pluck on its way to the box; each takes a note and gives a scene."""

import io
from collections.abc import Callable

import numpy as np
import soundfile

from dsp import Seconds
from dsp.synthesis import white_noise, with_noise
from tests.bench.recorded_figures import Scene
from tests.bench.recorded_notes import LEAD_S, Note

SNR_DB = 20.0
SMALL_ROOM_S = 0.4  # until the room's sound has died by 60 dB
MICROPHONE_HZ = (150.0, 7000.0)  # a cheap microphone's corners
CODEC_RATE = 48000
CODEC_LEVEL = 0.9  # of 0 (best) to 1 (8 kbit/s): about 30 kbit/s; measured


def clean(note: Note) -> Scene:
    return Scene(note, note.sound, note.rate)


def in_noise(note: Note) -> Scene:
    """White noise 20 dB under the mean power of the first half second."""
    sound = note.sound
    noise = white_noise(sound.size, sound.size)
    return Scene(note, with_noise(sound, noise, SNR_DB, note.rate, start_s=Seconds(LEAD_S)), note.rate)


def in_a_room(note: Note) -> Scene:
    """A tail of noise that dies in 0.4 s, of the direct sound's energy."""
    rng = np.random.default_rng(note.sound.size)
    time = np.arange(round(SMALL_ROOM_S * note.rate)) / note.rate
    tail = rng.standard_normal(time.size) * 10.0 ** (-3.0 * time / SMALL_ROOM_S)
    tail[: round(0.002 * note.rate)] = 0.0
    tail[0] = np.sqrt(np.sum(tail**2))
    tail /= tail[0]
    size = 1 << (note.sound.size + tail.size).bit_length()
    wet = np.fft.irfft(np.fft.rfft(note.sound, size) * np.fft.rfft(tail, size), size)
    return Scene(note, np.asarray(wet[: note.sound.size], np.float32), note.rate)


def by_a_cheap_microphone(note: Note) -> Scene:
    """24 dB an octave lost below 150 Hz, 12 above 7 kHz, and the loudest third cut off."""
    from scipy.signal import butter, sosfilt

    high = butter(4, MICROPHONE_HZ[0], "highpass", fs=note.rate, output="sos")
    low = butter(2, MICROPHONE_HZ[1], "lowpass", fs=note.rate, output="sos")
    sound = sosfilt(low, sosfilt(high, note.sound))
    limit = 0.67 * float(np.max(np.abs(sound)))
    return Scene(note, np.clip(sound, -limit, limit).astype(np.float32), note.rate)


def at_half_the_rate(note: Note) -> Scene:
    """22.05 kHz."""
    from scipy.signal import resample_poly

    return Scene(note, np.asarray(resample_poly(note.sound, 1, 2), np.float32), note.rate / 2.0)


def in_a_small_file(note: Note) -> Scene:
    """Opus (IETF RFC 6716), about 30 kbit/s, there and back."""
    from scipy.signal import resample_poly

    up = np.asarray(resample_poly(note.sound, 160, 147), np.float32)
    file = io.BytesIO()
    soundfile.write(file, up, CODEC_RATE, format="OGG", subtype="OPUS", compression_level=CODEC_LEVEL)
    file.seek(0)
    back, rate = soundfile.read(file, dtype="float32")
    return Scene(note, np.asarray(back[: up.size], np.float32), rate)


CONDITIONS: dict[str, Callable[[Note], Scene]] = {
    "clean": clean,
    "white noise, 20 dB": in_noise,
    "a small room": in_a_room,
    "a cheap microphone": by_a_cheap_microphone,
    "22.05 kHz": at_half_the_rate,
    "a low-bitrate file": in_a_small_file,
}


def scenes(notes: list[Note], condition: Callable[[Note], Scene]) -> list[Scene]:
    return [condition(note) for note in notes]
