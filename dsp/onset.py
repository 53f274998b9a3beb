"""When a string is plucked: the moment the level leaps.

The sound is cut into frames of some 2.5 ms. A pluck shows as a frame much louder than all those of
the 40 ms before, either as a whole or in its higher half (a string that still rings has little left
there when it is plucked again). Comparing with the loudest frame before, not the mean, keeps the
beat of a low string's own period from looking like plucks.
"""

import math
from dataclasses import dataclass, replace

from dsp.reading import Signal

FRAMES = 4  # in a hop
MEMORY = 16  # frames remembered: 40 ms
_LEAP = 4.0  # in power (6 dB), whole band
_LEAP_HIGH = 8.0  # in power (9 dB), higher half of the band
_ABOVE_ROOM = 6.0  # in power, over the room's own level
_SILENCE = 1e-9  # power of -90 dBFS: quieter is nothing, whatever it leaps from
_FIRST_ROOM = 1e-6  # power of -60 dBFS: what a stream begins with is the room, up to so much; chosen
_FALLS = 0.1  # share of the way down to a quieter room's level taken in a hop: 0.1 s
_RISES = 0.005  # and up to a louder one's: 2 s
_GAP = 2  # frames just before, left out: the leap itself may take this long


@dataclass(frozen=True, slots=True)
class Frames:
    """Power of the last frames, oldest first: `MEMORY` remembered ones and `FRAMES` new ones."""

    whole: tuple[float, ...]
    high: tuple[float, ...]
    room: float  # the level of the room when nothing sounds, power; infinite before the first hop


def no_frames() -> Frames:
    """Nothing heard yet."""
    nothing = (0.0,) * (MEMORY + FRAMES)
    return Frames(nothing, nothing, math.inf)


def heard(frames: Frames, hop: Signal, *, sounding: bool) -> Frames:
    """The frames after one more hop of sound, shape (n,) with n a multiple of `FRAMES`."""
    pieces = hop.reshape(FRAMES, -1)
    steps = pieces[:, 1:] - pieces[:, :-1]
    whole = ((pieces * pieces).sum(axis=1) / pieces.shape[1]).tolist()
    high = ((steps * steps).sum(axis=1) / steps.shape[1]).tolist()
    level = sum(whole) / FRAMES
    room = min(level, _FIRST_ROOM) if math.isinf(frames.room) else frames.room
    if level < room:
        room += (level - room) * _FALLS
    elif not sounding:
        room += (level - room) * _RISES
    return Frames((*frames.whole[FRAMES:], *whole), (*frames.high[FRAMES:], *high), room)


def leap(frames: Frames) -> int | None:
    """The frame of the newest hop, 0..FRAMES-1, in which a pluck began; None where none did."""
    quiet = max(_ABOVE_ROOM * frames.room, _SILENCE)
    for now in range(MEMORY, MEMORY + FRAMES):
        whole, high = frames.whole[now], frames.high[now]
        if whole <= quiet:
            continue
        if _leaps(frames.whole, now, _LEAP) or (high > _SILENCE and _leaps(frames.high, now, _LEAP_HIGH)):
            return now - MEMORY
    return None


def _leaps(powers: tuple[float, ...], now: int, times: float) -> bool:
    """Whether a frame's power is so many times that of each before it; the nearest says no the cheapest."""
    before = now - _GAP
    power = powers[now]
    return power > times * powers[before - 1] and power > times * max(powers[now - MEMORY : before])


def swells(frames: Frames) -> bool:
    """Whether all that is remembered lies well above the room: a bowed string, perhaps."""
    return min(frames.whole) > max(_ABOVE_ROOM * frames.room, _SILENCE)


def without_pitch(frames: Frames) -> Frames:
    """What sounded had no pitch, so at least half of it is the room."""
    return replace(frames, room=max(frames.room, 0.5 * min(frames.whole)))
