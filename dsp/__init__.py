"""Sound in, readings out: the signal half of Wallpeg.

Conventions of every module here: sound is mono float32, shape (n,), in [-1, 1], oldest sample
first; frequencies are in Hz, intervals in cents (sharp positive), times in seconds from the start
of the stream, levels in dB relative to full scale. Nothing here reads a clock, a file or a
setting, and no function writes into an array it was given.
"""

from dsp.bowing import Bowing, bowed
from dsp.harmonics import PIZZICATO, Harmonics
from dsp.manner import Glide, Manner, Swings, Turning, drawn_manner
from dsp.noise import pink_noise, white_noise, with_noise
from dsp.plucks import outside_stretch, pluck, true_stretch
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
    "PIZZICATO",
    "Bowing",
    "Cents",
    "Glide",
    "Harmonics",
    "Hz",
    "Instrument",
    "Manner",
    "OpenString",
    "PitchTracker",
    "Reading",
    "Samples",
    "Seconds",
    "Swings",
    "Temperament",
    "Turning",
    "bowed",
    "cents",
    "drawn_manner",
    "outside_stretch",
    "pink_noise",
    "pluck",
    "shifted",
    "string_frequencies",
    "tracking_range",
    "true_stretch",
    "white_noise",
    "with_noise",
]
