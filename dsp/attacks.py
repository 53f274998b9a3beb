"""When strings are struck: every attack in a stream, at once and to a few milliseconds, with no pitch.

Rhythm needs the moment alone, also of notes too short or too close together for a pitch to be followed. The
sound is cut into frames of 2.5 ms; an attack is a frame much louder than all of the 25 to 40 ms before, as a
whole or in its higher half, where a string that is struck again stands out from its own ringing (energy and
high-frequency content as onset functions: Bello et al., A tutorial on onset detection in music signals,
IEEE Transactions on Speech and Audio Processing 13, 2005). A knock or a click is over within some 10 ms;
what is told as an attack still sounds after `KNOWN_AFTER_S`.

Constants marked as chosen were chosen on `dsp.synthesis` plucks of seeds 0 to 99 and on every other recorded
pluck; `tests/test_attacks.py` reports on others.
"""

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.reading import Samples
from dsp.units import Hz, Seconds

FRAME_S = 0.0025
KNOWN_AFTER_S = Seconds(0.04)  # so much later than it began an attack is told
_GAP = 2  # frames just before, left out of what is compared with, since an attack takes time
_ABOVE_ROOM = 8.0  # in power over the room, chosen
_SILENCE = 1e-9  # power of -90 dBFS
_BAND_RATE_HZ = 12_000.0  # plucked strings have little above 5 kHz; a room's hiss has most of its power there
_REFRACTORY = 24  # frames, 60 ms: an eighth at 160 to the minute lasts 188 ms
_STILL_SOUNDS = 0.02  # share of the attack's peak in power that is left at the end, chosen
_ROOM_FALLS, _ROOM_RISES = 0.05, 0.0004  # share a frame: 50 ms down, 6 s up


@dataclass(frozen=True, slots=True)
class _Limits:
    """What is an attack: frames to compare with, and leaps in power, as a whole and in the higher half."""

    memory: int
    leap: float
    leap_high: float


_LOW, _HIGH = _Limits(16, 4.0, 6.0), _Limits(10, 2.5, 3.0)  # chosen
_LOW_BELOW_HZ = 100.0
"""A string whose period is longer than 10 ms beats with itself: 40 ms hold a period and a half of the double
bass's E, and half of them do for violin and viola, where more of what is struck again is found."""


@dataclass(frozen=True, slots=True)
class Attack:
    """One string was struck."""

    time_s: Seconds  # from the start of the stream
    level_dbfs: float  # of its loudest frame; 0 dBFS is a full-scale square wave


class AttackWatch:
    """Finds attacks in mono sound of any block length.

    `sample_rate_hz` is 8000 or more; `lowest_hz` is the pitch of the lowest string.
    """

    def __init__(self, sample_rate_hz: float, lowest_hz: Hz) -> None:
        self._limits = _LOW if lowest_hz < _LOW_BELOW_HZ else _HIGH
        memory = self._limits.memory
        self._rate = sample_rate_hz
        self._thin = max(1, round(sample_rate_hz / _BAND_RATE_HZ))  # samples that are taken together
        self._size = round(FRAME_S * sample_rate_hz / self._thin) * self._thin
        self._rest = np.zeros(0, np.float64)
        self._frames = 0  # counted so far
        self._whole: deque[float] = deque([0.0] * (memory + 1), maxlen=memory + 1)
        self._high: deque[float] = deque([0.0] * (memory + 1), maxlen=memory + 1)
        self._room: float | None = None
        self._began: int | None = None  # the frame of an attack that is not told yet
        self._since: list[float] = []
        self._last = -_REFRACTORY

    def feed(self, samples: Samples) -> list[Attack]:
        """Take the next samples; the attacks that are known by now, in order of time."""
        sound = np.concatenate([self._rest, samples.astype(np.float64)])
        count = len(sound) // self._size
        frames = sound[: count * self._size].reshape(count, self._size)
        self._rest = sound[count * self._size :]
        found = [self._frame(*powers) for powers in _powers(frames, self._thin)]
        return [attack for attack in found if attack is not None]

    def _frame(self, whole: float, high: float) -> Attack | None:
        self._whole.append(whole)
        self._high.append(high)
        self._frames += 1
        number = self._frames - 1
        if self._began is None:
            if number - self._last >= _REFRACTORY and self._leaps(whole, high):
                self._began, self._since = number, [whole]
            else:
                self._learn_room(whole)
            return None
        self._since.append(whole)
        if len(self._since) * FRAME_S < KNOWN_AFTER_S:
            return None
        return self._told()

    def _leaps(self, whole: float, high: float) -> bool:
        if self._room is None or whole <= max(_ABOVE_ROOM * self._room, _SILENCE):
            return False
        limits = self._limits
        before = [list(memory)[: limits.memory - _GAP] for memory in (self._whole, self._high)]
        return whole > limits.leap * max(before[0]) or high > max(limits.leap_high * max(before[1]), _SILENCE)

    def _told(self) -> Attack | None:
        began, peak = self._began, max(self._since)
        left = max(self._since[-4:])
        assert began is not None
        self._began, self._last = None, began
        if left < _STILL_SOUNDS * peak:
            return None
        return Attack(Seconds(began * self._size / self._rate), 10.0 * math.log10(max(peak, 1e-20)))

    def _learn_room(self, whole: float) -> None:
        if self._room is None:
            self._room = whole
        self._room += (whole - self._room) * (_ROOM_FALLS if whole < self._room else _ROOM_RISES)


def _powers(frames: npt.NDArray[np.float64], thin: int) -> list[tuple[float, float]]:
    """Mean power of each frame, and of the steps between its samples, `thin` of them taken together."""
    frames = frames.reshape(len(frames), frames.shape[1] // thin, thin).mean(axis=2)
    steps = np.diff(frames, axis=1)
    whole = np.mean(frames**2, axis=1) if len(frames) else np.zeros(0)
    high = np.mean(steps**2, axis=1) if len(frames) else np.zeros(0)
    return list(zip(whole.tolist(), high.tolist(), strict=True))
