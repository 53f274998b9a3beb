"""Plays notes of Debian's sound fonts with fluidsynth: real recorded strings, though sections of them."""

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile

from dsp import Samples

RATE = 48000.0
FONTS = {
    "fluid-soundfont-gm": Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),
    "musescore-general-soundfont": Path("/usr/share/sounds/sf3/MuseScore_General_Full.sf3"),
}
PIZZICATO = 45  # General MIDI program "Pizzicato Strings", counted from 0; bank 0
Note = tuple[float, float, int, int, int]  # start s, length s, key, velocity, channel


def missing() -> str | None:
    """Why the fonts cannot be played here, or None."""
    if shutil.which("fluidsynth") is None:
        return "fluidsynth is not installed"
    absent = [package for package, path in FONTS.items() if not path.exists()]
    return f"Debian package {absent[0]} is not installed" if absent else None


def notes(font: Path, program: int, keys: Sequence[int]) -> dict[int, Samples]:
    """Each key alone: half a second of silence, two seconds held, three in all."""
    apart = 10.0  # seconds, so that one note has died away before the next
    played = [(apart * i + 0.5, 2.0, key, 100, 0) for i, key in enumerate(keys)]
    sound = rendered(played, font, program, apart * len(keys))
    starts = [round(apart * i * RATE) for i in range(len(keys))]
    return {key: sound[s : s + round(3.0 * RATE)] for key, s in zip(keys, starts, strict=True)}


def rendered(played: list[Note], font: Path, program: int, length_s: float) -> Samples:
    """The notes played by fluidsynth, without its reverberation and chorus; mono."""
    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder, "notes.mid"), Path(folder, "notes.wav")
        midi.write_bytes(midi_file(played, program))
        command = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", str(int(RATE))]
        command += ["-T", "wav", "-F", str(wav), str(font), str(midi)]
        subprocess.run(command, check=True, capture_output=True)
        stereo = soundfile.read(wav, dtype="float32", always_2d=True)[0]
    return np.asarray(stereo.mean(axis=1)[: round(length_s * RATE)], np.float32)


def midi_file(played: list[Note], program: int) -> bytes:
    """A standard MIDI file (format 0, 480 ticks a quarter, 120 quarters a minute: 960 ticks a second)."""
    events = [(0, bytes([0xC0 | c, program])) for c in sorted({n[4] for n in played})]
    for start, length, key, velocity, channel in played:
        events.append((round(960 * start), bytes([0x90 | channel, key, velocity])))
        events.append((round(960 * (start + length)), bytes([0x80 | channel, key, 0])))
    track, now = b"", 0
    for tick, data in sorted(events, key=lambda e: e[0]):
        track += _variable_length(tick - now) + data
        now = tick
    track += b"\x00\xff\x2f\x00"
    return b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk" + len(track).to_bytes(4, "big") + track


def _variable_length(number: int) -> bytes:
    groups = [number & 0x7F]
    while number := number >> 7:
        groups.insert(0, number & 0x7F | 0x80)
    return bytes(groups)
