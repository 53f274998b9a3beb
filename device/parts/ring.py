"""A ring of samples between the sound library's thread and the loop: bounded, no lock, no waiting.

One thread writes and one reads. Each owns one counter and only looks at the other's, and a counter
is a plain int, which Python replaces in one step; so neither can see half of a change. A reader
that was overtaken throws everything away and counts it: sound with a hole in it is no pitch.
"""

import numpy as np

from dsp import Samples


class Ring:
    """Up to `size` samples, each read once."""

    def __init__(self, size: int) -> None:
        self.overflows = 0  # times sound was thrown away because nobody read it in time
        self._size = size
        self._samples = np.zeros(2 * size, np.float32)  # a half to read while the other is written
        self._written = 0  # samples ever written; the writer's
        self._read = 0  # samples ever read; the reader's

    def write(self, block: Samples) -> None:
        """Copy a block of at most `size` samples in. Never waits."""
        room = len(self._samples)
        start = self._written % room
        head = min(len(block), room - start)
        self._samples[start : start + head] = block[:head]
        self._samples[: len(block) - head] = block[head:]
        self._written += len(block)

    def read(self) -> Samples:
        """A copy of everything written since the last call; nothing, and counted, if that is over `size`."""
        start, end = self._read, self._written
        self._read = end
        if end - start > self._size:
            self.overflows += 1
            start = end
        room = len(self._samples)
        first, last = start % room, end % room
        if first <= last:
            return self._samples[first:last].copy()
        return np.concatenate((self._samples[first:], self._samples[:last]))
