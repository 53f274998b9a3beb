"""The steady offset that some sound cards add, taken out.

It is followed slowly, so that no string, not even a double bass's, is followed with it: the corner lies at
1 / (2 pi 0.15 s), that is 1 Hz.
"""

import math

import numpy as np

from dsp.reading import Signal

_FOLLOWS_S = 0.15  # time constant; chosen: a step is forgotten within a second


def without_offset(sound: Signal, before: float | None, rate_hz: float) -> tuple[Signal, float]:
    """The sound less its offset, and the offset at its end.

    Parameters
    ----------
    sound : shape (n,)
    before : the offset at its beginning, None at the start of the stream

    >>> without_offset(np.full(4, 0.25), None, 48000.0)
    (array([0., 0., 0., 0.]), 0.25)
    """
    mean = float(sound.sum()) / sound.size
    if before is None:
        return sound - mean, mean
    after = mean + (before - mean) * math.exp(-sound.size / (_FOLLOWS_S * rate_hz))
    step = (after - before) / max(sound.size - 1, 1)
    return sound - (before + step * np.arange(sound.size)), after
