"""When a string is plucked: the moment the level leaps.

The sound is cut into frames of some 2.5 ms. A pluck shows as a frame much louder than all those of
the 40 ms before, either as a whole or in its higher half (a string that still rings has little left
there when it is plucked again). Comparing with the loudest frame before, not the mean, keeps the
beat of a low string's own period from looking like plucks.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Signal = npt.NDArray[np.float64]

FRAMES = 4  # in a hop
MEMORY = 16  # frames remembered: 40 ms
_LEAP = 4.0  # in power (6 dB), whole band
_LEAP_HIGH = 8.0  # in power (9 dB), higher half of the band
_ABOVE_ROOM = 6.0  # in power, over the room's own level
_SILENCE = 1e-9  # power of -90 dBFS: quieter is nothing, whatever it leaps from
_FALLS = 0.1  # share of the way down to a quieter room's level taken in a hop: 0.1 s
_RISES = 0.005  # and up to a louder one's: 2 s
_GAP = 2  # frames just before, left out: the leap itself may take this long


@dataclass(frozen=True, slots=True)
class Frames:
    """Power of the last frames, oldest first, shape (MEMORY + FRAMES,)."""

    whole: Signal
    high: Signal
    room: float  # the level of the room when nothing sounds, power


def no_frames() -> Frames:
    """Nothing heard yet."""
    return Frames(np.zeros(MEMORY + FRAMES), np.zeros(MEMORY + FRAMES), 0.0)


def heard(frames: Frames, hop: Signal, *, sounding: bool) -> Frames:
    """The frames after one more hop of sound, shape (n,) with n a multiple of `FRAMES`."""
    pieces = hop.reshape(FRAMES, -1)
    whole = np.einsum("ij,ij->i", pieces, pieces) / pieces.shape[1]
    steps = pieces[:, 1:] - pieces[:, :-1]
    high = np.einsum("ij,ij->i", steps, steps) / steps.shape[1]
    level = float(whole.sum()) / FRAMES
    room = frames.room
    if not sounding:
        room += (level - room) * (_FALLS if level < room else _RISES)
    return Frames(
        np.concatenate([frames.whole[FRAMES:], whole]), np.concatenate([frames.high[FRAMES:], high]), room
    )


def leap(frames: Frames) -> int | None:
    """The frame of the newest hop, 0..FRAMES-1, in which a pluck began; None where none did."""
    for i in range(FRAMES):
        now = MEMORY + i
        before = slice(i, now - _GAP)
        loud = frames.whole[now] > max(
            _LEAP * frames.whole[before].max(), _ABOVE_ROOM * frames.room, _SILENCE
        )
        bright = frames.high[now] > max(_LEAP_HIGH * frames.high[before].max(), _SILENCE) and frames.whole[
            now
        ] > max(_ABOVE_ROOM * frames.room, _SILENCE)
        if loud or bright:
            return i
    return None


def swells(frames: Frames) -> bool:
    """Whether all that is remembered lies well above the room: a bowed string, perhaps."""
    return float(frames.whole.min()) > max(_ABOVE_ROOM * frames.room, _SILENCE)
