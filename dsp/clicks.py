"""Clicks that a box may sound while it listens for strings: all above what `dsp.attacks` hears.

A click is a short tone of 6 to 8 kHz that swells and dies under a Hann window, so that nothing of it lies
near the strings (the window's spectrum falls by 18 dB an octave: F. J. Harris, On the use of windows, Proc.
IEEE 66, 1978). Children hear it well, and grown-ups up to some sixty years (ISO 7029 has the loss with age).
"""

from collections.abc import Sequence

import numpy as np

from dsp.reading import Samples
from dsp.units import Hz, Seconds

CLICK_LASTS_S = Seconds(0.03)
STRONG_HZ, WEAK_HZ = Hz(7800.0), Hz(6600.0)  # the first beat of a bar and the others; chosen


def clicks(
    moments_s: Sequence[Seconds], strong: Sequence[bool], sample_rate_hz: float, level_dbfs: float
) -> Samples:
    """Clicks at those moments, from the start of the sound on; float32, shape (n,), ending with the last.

    `strong` says of each whether it begins a bar; `level_dbfs` is that of a click's loudest moment.
    """
    if len(moments_s) != len(strong):
        raise ValueError(f"{len(moments_s)} moments and {len(strong)} strengths; hand in one for each click")
    length = round(CLICK_LASTS_S * sample_rate_hz)
    sound = np.zeros(max((round(at * sample_rate_hz) + length for at in moments_s), default=0), np.float32)
    time = np.arange(length) / sample_rate_hz
    swell = 10.0 ** (level_dbfs / 20.0) * np.hanning(length)
    for at, is_strong in zip(moments_s, strong, strict=True):
        first = round(at * sample_rate_hz)
        hertz = STRONG_HZ if is_strong else WEAK_HZ
        sound[first : first + length] += (swell * np.sin(2.0 * np.pi * hertz * time)).astype(np.float32)
    return sound
