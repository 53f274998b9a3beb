"""Whether the microphone is driven beyond what it can say."""

import numpy as np

from dsp.reading import Samples

FULL_SCALE = 0.985  # of the largest sample; converters of sound cards stop a little short of 1
MANY = 0.01  # share of clipped samples that bends a waveform; a sine 1 dB too loud has 30 %


def clips(samples: Samples) -> bool:
    """Whether a good part of a block stands at full scale.

    Samples that are no numbers do not count; an empty block does not clip.

    >>> clips(np.array([0.1, 1.0, 1.0, -1.0], np.float32)), clips(np.zeros(4, np.float32))
    (True, False)
    """
    if samples.size == 0:
        return False
    return int(np.count_nonzero(np.abs(samples) >= FULL_SCALE)) > MANY * samples.size
