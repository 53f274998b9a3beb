"""What the tracker says of a sounding string, and the type of what it is fed."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.units import Cents, Hz, Seconds

Samples = npt.NDArray[np.float32]
"""Mono sound, shape (n,), in [-1, 1], oldest first."""

Signal = npt.NDArray[np.float64]
"""Numbers that are worked on: sound, levels, phases, weights; the shape is said where it is used."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One estimate of the pitch of the string that is sounding."""

    time_s: Seconds  # of its last sample, from the start of the stream
    frequency_hz: Hz  # the settled fundamental, inharmonicity and glide removed
    std_error_cents: Cents  # one standard error of frequency_hz
    octave_doubt: float  # 0..1, how likely the octave is wrong
    drift_cents_per_s: float  # how fast the pitch moves because the string is being turned
    level_dbfs: float  # RMS level, 0 dBFS = a full-scale square wave
    since_pluck_s: Seconds  # time since this sounding began
    pluck: int  # grows by one at each new sounding, plucked or bowed; the first is 1
