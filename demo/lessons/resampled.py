"""A sound played faster or slower, with nothing folded back into it.

Between its samples a sound is what its spectrum says (C. E. Shannon, "Communication in the presence of
noise", Proc. IRE 37 (1949)). A straight line from sample to sample is not that: it adds images of the high
partials, and on a string played a little slower they fall half-way between its partials, as if it
sounded an octave lower. Here the spectrum is cut where the new sampling could not hold it, the sound is
worked out `UPSAMPLED` times as finely, and only then are straight lines drawn.
"""

import numpy as np
import numpy.typing as npt

from dsp import Samples

UPSAMPLED = 8  # a straight line between samples so near leaves images more than 40 dB below the partials
PADDED = 1024  # samples beyond the last place, and of silence: no end rings into what is played


def resampled(made: Samples, places: npt.NDArray[np.float64]) -> Samples:
    """The sound at `places`, in samples from its beginning, which never go back; 0 beyond its end."""
    made = made[: int(places[-1]) + PADDED]
    spectrum = np.fft.rfft(made, len(made) + PADDED)
    fastest = float(np.max(np.diff(places), initial=1.0))
    spectrum[int(len(spectrum) / fastest) :] = 0.0
    finely = UPSAMPLED * np.fft.irfft(spectrum, UPSAMPLED * (len(made) + PADDED))[: UPSAMPLED * len(made)]
    return np.asarray(np.interp(places * UPSAMPLED, np.arange(len(finely)), finely, right=0.0), np.float32)
