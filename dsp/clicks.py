"""Clicks that a box may sound while it listens for strings: all above what `dsp.attacks` hears.

A click is a short tone of 6 to 8 kHz that swells and dies under a Hann window, so that nothing of it lies
near the strings (the window's spectrum falls by 18 dB an octave: F. J. Harris, On the use of windows, Proc.
IEEE 66, 1978). Children hear it well; what age takes of such pitches is in ISO 7029.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dsp.reading import Samples
from dsp.units import Hz, Seconds

CLICK_LASTS_S = Seconds(0.03)
STRONG_HZ, WEAK_HZ = Hz(7600.0), Hz(6600.0)  # the first beat of a bar, and the others; chosen


@dataclass(frozen=True, slots=True)
class Click:
    """One of a train of clicks."""

    at_s: Seconds  # when it begins, from the start of the train
    strong: bool = False  # the first beat of a bar


def clicks(train: Sequence[Click], sample_rate_hz: float, level_dbfs: float) -> Samples:
    """The sound of a train of clicks, float32, shape (n,), ending with the last one.

    `level_dbfs` is that of a click's loudest moment, 0 being a sine of full scale.
    """
    length = round(CLICK_LASTS_S * sample_rate_hz)
    ends = (round(click.at_s * sample_rate_hz) + length for click in train)
    sound = np.zeros(max(ends, default=0), np.float32)
    for click in train:
        first = round(click.at_s * sample_rate_hz)
        sound[first : first + length] += one_click(click.strong, sample_rate_hz, level_dbfs)
    return sound


def one_click(strong: bool, sample_rate_hz: float, level_dbfs: float) -> Samples:
    """One click, float32, shape (n,)."""
    length = round(CLICK_LASTS_S * sample_rate_hz)
    hertz = STRONG_HZ if strong else WEAK_HZ
    wave = np.sin(2.0 * np.pi * hertz * np.arange(length) / sample_rate_hz)
    return np.asarray(10.0 ** (level_dbfs / 20.0) * np.hanning(length) * wave, np.float32)
