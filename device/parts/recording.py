"""A recording, read block by block: WAV, FLAC, OGG and whatever else the library soundfile knows.

It is read twice. The first pass finds out what would otherwise be noticed too late: that the file
is cut off or holds numbers that are no sound, how loud it is, and how its channels can be mixed.
The second gives the blocks. Never more than a block is in memory.

Channels are averaged. Where that would cancel sound (two channels in opposite phase), the loudest
channel is read alone, and `mixing` says so.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from device.errors import RecordingError
from device.parts.sound_file import SoundFrames, frames_of, open_sound
from dsp import Samples, Seconds

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 192_000
SILENT_BELOW = 1e-5  # of full scale, -100 dBFS: under one step of 16 bits
_CANCELS_BELOW = 0.5  # of the power that the average of unrelated channels has
_CANCELS_FROM = 0.1  # of all power, in blocks that cancel: then the average is not used

Progress = Callable[[Seconds], None]
"""Told how many seconds of sound a pass has read."""


@dataclass(frozen=True, slots=True)
class Recording:
    """A whole, readable recording and how it is read."""

    path: Path
    sample_rate_hz: int
    frames: int
    channels: int
    channel: int | None  # read alone, counted from 0; None: the average of all
    peak: float  # largest magnitude in any channel, as stored

    @property
    def duration_s(self) -> Seconds:
        """Length in seconds."""
        return Seconds(self.frames / self.sample_rate_hz)

    @property
    def silent(self) -> bool:
        """Whether there is nothing at all to hear."""
        return self.peak < SILENT_BELOW

    @property
    def mixing(self) -> str | None:
        """How the channels become one, for a person; None for mono."""
        if self.channels == 1:
            return None
        if self.channel is None:
            return f"{self.channels} channels, averaged"
        return (
            f"{self.channels} channels that cancel each other; only the loudest, {self.channel + 1}, is read"
        )

    def blocks(self) -> Iterator[Samples]:
        """Mono float32 blocks in order, scaled down into [-1, 1] where samples lie beyond."""
        with open_sound(self.path) as sound:
            for frames in frames_of(sound, self.path):
                mono = frames.mean(axis=1) if self.channel is None else frames[:, self.channel]
                yield (mono / max(1.0, self.peak)).astype(np.float32)


def open_recording(path: Path, progress: Progress = lambda _done: None) -> Recording:
    """Look through a recording.

    Raises RecordingError, one sentence, for what is missing, a folder, empty, no sound file, cut
    off, or holds numbers that are no sound; and where soundfile is not installed.
    """
    with open_sound(path) as sound:
        rate, channels = int(sound.samplerate), int(sound.channels)
        if not LOWEST_RATE_HZ <= rate <= HIGHEST_RATE_HZ:
            raise RecordingError(
                f"{path} has {rate} samples a second; {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} can be read"
            )
        survey = _Survey(channels)
        for frames in frames_of(sound, path):
            survey.add(frames)
            progress(Seconds(survey.frames / rate))
    if survey.frames == 0:
        raise RecordingError(f"{path} holds no sound at all: its length is 0")
    if not survey.finite:
        raise RecordingError(f"{path} holds numbers that are no sound (not finite); export it again")
    return Recording(path, rate, survey.frames, channels, survey.channel, survey.peak)


class _Survey:
    """What the first pass adds up."""

    def __init__(self, channels: int) -> None:
        self.frames, self.peak, self.finite = 0, 0.0, True
        self._power = np.zeros(channels)
        self._cancelled = 0.0

    def add(self, frames: SoundFrames) -> None:
        self.frames += len(frames)
        peak = float(np.max(np.abs(frames)))
        self.finite = self.finite and bool(np.isfinite(peak))
        if not self.finite:
            return
        self.peak = max(self.peak, peak)
        scaled = frames / max(1.0, self.peak)
        power = np.sum(scaled**2, axis=0)
        unrelated = float(power.sum()) / len(power) ** 2
        if float(np.sum(scaled.mean(axis=1) ** 2)) < _CANCELS_BELOW * unrelated:
            self._cancelled += float(power.sum())
        self._power += power

    @property
    def channel(self) -> int | None:
        """The one to read alone, or None where the average loses nothing."""
        cancels = self._cancelled > _CANCELS_FROM * float(self._power.sum())
        return int(np.argmax(self._power)) if cancels else None
