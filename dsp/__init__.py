"""Sound in, readings out: the signal half of Wallpeg.

Conventions of every module here: sound is mono float32, shape (n,), in [-1, 1], oldest sample
first; frequencies are in Hz, intervals in cents (sharp positive), times in seconds from the start
of the stream, levels in dB relative to full scale. Nothing here reads a clock, a file or a
setting, and no function writes into an array it was given.
"""

from dsp.reading import Reading, Samples
from dsp.strings import (
    OPEN_STRINGS,
    Instrument,
    OpenString,
    Temperament,
    string_frequencies,
    tracking_range,
)
from dsp.tracker import PitchTracker
from dsp.units import Cents, Hz, Seconds, cents, shifted

__all__ = [
    "OPEN_STRINGS",
    "Cents",
    "Hz",
    "Instrument",
    "OpenString",
    "PitchTracker",
    "Reading",
    "Samples",
    "Seconds",
    "Temperament",
    "cents",
    "shifted",
    "string_frequencies",
    "tracking_range",
]
