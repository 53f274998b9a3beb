"""How loud a stretch of sound is, and whether it moves at all, for a check of the microphone."""

import math
from collections.abc import Sequence

import numpy as np

from dsp.reading import Samples


def level_dbfs(blocks: Sequence[Samples]) -> float | None:
    """RMS level of all blocks together, any constant offset left out; None when nothing moves at all.

    >>> level_dbfs([np.tile(np.array([1.0, -1.0], np.float32), 50)])
    0.0
    >>> level_dbfs([np.full(100, 0.5, np.float32)]) is None
    True
    """
    sound = _finite(blocks)
    spread = float(np.std(sound)) if sound.size else 0.0
    return 20.0 * math.log10(spread) if spread > 0.0 else None


def peak(blocks: Sequence[Samples]) -> float:
    """The largest magnitude of all samples, 0 when there is none."""
    return float(np.max(np.abs(_finite(blocks)), initial=0.0))


def all_alike(samples: Samples) -> bool:
    """Whether every sample has the same value, as from a source that hears nothing.

    >>> all_alike(np.zeros(3, np.float32)), all_alike(np.array([0.0, 2.0**-15], np.float32))
    (True, False)
    """
    return bool(np.all(samples == samples[:1]))


def _finite(blocks: Sequence[Samples]) -> Samples:
    sound: Samples = np.concatenate([np.zeros(0, np.float32), *blocks])
    finite: Samples = sound[np.isfinite(sound)]
    return finite
