"""What sounded in the room just before something leapt up.

Whoever plucks into a quiet room, or into steady noise, is heard at once. Talk and other people's music
come in bursts, each of which may begin like a pluck: what leaps up among bursts as loud as itself has to
show more before it is believed (`dsp.acceptance`).
"""

import numpy as np

from dsp.reading import Signal
from dsp.sounding import Onset, Past

_FRAME_S = 0.05
_FRAMES = 24  # looked back over, 1.2 s: whoever talks seldom pauses for longer
_APART_S = 0.02  # before the leap that is left out: it may be its own beginning
_MOST_DB = 40.0  # a leap out of silence counts as this
_OURS_DB = 12.0  # a leap beside a string of ours counts as this at least; chosen: beats are not new plucks
_EARLY_S, _EARLY_STEPS = 0.01, 8  # the first 80 ms, in steps
_FLOOR = 1e-15  # power: digital silence


def levels_before(onset: Onset, past: Past) -> Signal:
    """Level of the frames before it began, dB, the oldest first; those that are kept."""
    size = round(_FRAME_S * past.rate_hz)
    stop = onset.start - round(_APART_S * past.rate_hz)
    sound = past.between(max(stop - _FRAMES * size, 0), stop)
    frames = sound[sound.size % size :].reshape(-1, size)
    return np.asarray(10.0 * np.log10((frames * frames).mean(axis=1) + _FLOOR))


def early_growth_db(onset: Onset, past: Past) -> float:
    """How far a sounding's loudest 20 ms up to an age of 80 ms lie above the louder half of its first 20, dB.

    A pluck is about as loud as it will be as soon as it has begun; a syllable swells.
    """
    step = round(_EARLY_S * past.rate_hz)
    sound = past.between(onset.start, onset.start + _EARLY_STEPS * step)
    if sound.size < 4 * step:
        return 0.0
    powers = (sound[: sound.size // step * step].reshape(-1, step) ** 2).mean(axis=1)
    later = 0.5 * (powers[2:-1] + powers[3:])
    return 10.0 * float(np.log10((later.max() + _FLOOR) / (powers[:2].max() + _FLOOR)))


def leap_db(onset: Onset, past: Past) -> float:
    """How far a sounding's first moments lie above the loudest of those before it; 40 at most."""
    before = levels_before(onset, past)
    if before.size == 0:
        return _MOST_DB
    sound = past.between(onset.start, onset.start + round(_FRAME_S * past.rate_hz))
    now = 10.0 * float(np.log10(float(sound @ sound) / max(sound.size, 1) + _FLOOR))
    leap = min(now - float(before.max()), _MOST_DB)
    return max(leap, _OURS_DB) if onset.follows else leap  # what was before is our own string
