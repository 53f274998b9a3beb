"""Makes sounds of known pitch: plucked and bowed strings and noise, for tests, demo and benchmark.

`import dsp` does not load this package; the box on the wall has no need of it.
"""

from dsp.synthesis.bowing import Bowing, bowed
from dsp.synthesis.harmonics import PIZZICATO, Harmonics
from dsp.synthesis.manner import Glide, Manner, Swings, Turning, drawn_manner
from dsp.synthesis.noise import pink_noise, white_noise, with_noise
from dsp.synthesis.plucks import outside_stretch, pluck, true_stretch
from dsp.synthesis.realistic import realistic_manner
from dsp.synthesis.strays import Strays

__all__ = [
    "PIZZICATO",
    "Bowing",
    "Glide",
    "Harmonics",
    "Manner",
    "Strays",
    "Swings",
    "Turning",
    "bowed",
    "drawn_manner",
    "outside_stretch",
    "pink_noise",
    "pluck",
    "realistic_manner",
    "true_stretch",
    "white_noise",
    "with_noise",
]
