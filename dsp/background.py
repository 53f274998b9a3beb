"""What sounded in the room just before something leapt up.

Whoever plucks into a quiet room, or into steady noise, is heard at once. Talk and other people's music
come in bursts, each of which may begin like a pluck: what leaps up among bursts as loud as itself has to
show more before it is believed.

The limits were chosen on an hour of the benchmark's speech (seed 3000) against plucks 5 dB louder than
speech (seeds 2200 to 2207).
"""

import numpy as np
import numpy.typing as npt

from dsp.sounding import Onset, Past

Levels = npt.NDArray[np.float64]

_FRAME_S = 0.05
_FRAMES = 24  # looked back over, 1.2 s: whoever talks seldom pauses for longer
_APART_S = 0.02  # before the leap that is left out: it may be its own beginning
_BURSTS_DB = 7.0  # over the softest of them: white noise in such frames strays by 1 dB
_LOUD_DB = 2.0  # a burst counts that lies at most this far under what leapt up
_LEAST = 4  # frames; a stream that has just begun says nothing


def levels_before(note: Onset, past: Past) -> Levels:
    """Level of the frames before it began, dB, the oldest first; those that are kept."""
    size = round(_FRAME_S * past.rate_hz)
    stop = note.start - round(_APART_S * past.rate_hz)
    sound = past.between(max(stop - _FRAMES * size, 0), stop)
    frames = sound[sound.size % size :].reshape(-1, size)
    return np.asarray(10.0 * np.log10((frames * frames).mean(axis=1) + 1e-15))


def among_bursts(note: Onset, past: Past) -> bool:
    """Whether bursts about as loud as itself came just before it."""
    before = levels_before(note, past)
    if before.size < _LEAST:
        return False
    sound = past.between(note.start, note.start + round(_FRAME_S * past.rate_hz))
    now = 10.0 * np.log10(float(sound @ sound) / max(sound.size, 1) + 1e-15)
    loudest, softest = float(before.max()), float(before.min())
    return bool(loudest > now - _LOUD_DB and loudest > softest + _BURSTS_DB)
