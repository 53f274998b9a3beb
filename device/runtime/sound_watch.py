"""Notices a microphone whose stream looks healthy and is not: a wrong sample rate, or samples all alike.

A microphone that gives another number of samples a second than it says would make every reading
wrong by the same interval (44.1 for 48 kHz: 147 cents), which nobody at the wall could tell from a
string that is off. Blocks come in bursts, and a busy processor loses some, so a rate is called
wrong only when two stretches in a row are off alike.

A microphone whose samples are exactly alike for seconds hears nothing, however healthy its stream
looks: the noise of any converter that works moves its last step now and then.
"""

from dataclasses import dataclass

from dsp import Samples, Seconds
from dsp.level import all_alike

STRETCH_S = Seconds(5.0)  # chosen: bursts of 20 ms are half a percent of it
WRONG_RATE = (
    0.03  # share; sound cards are within 0.02 % (100 ppm and more are called bad), wrong rates 8 % off
)
SAME_ERROR = 0.01  # share
SAME_LIMIT_S = Seconds(5.0)
"""Chosen. White noise of 0.15 of a step (-107 dBFS at 16 bits, quieter than any microphone of the trade) is
beyond half a step in one sample of 1165, and in 5 s at 48 kHz there are 240,000."""


@dataclass(frozen=True, slots=True)
class RateWatch:
    """What was counted since the stretch began, and how far off the stretch before was."""

    since: Seconds
    samples: int = 0
    off_before: float | None = None  # share; None: nothing was off
    wrong: bool = False  # two stretches in a row
    right: bool = False  # a whole stretch was as it should be

    def counted(self, samples: int, at: Seconds, rate_hz: int) -> "RateWatch":
        """The same with `samples` more, fetched at the moment `at`."""
        total, length = self.samples + samples, at - self.since
        if length < STRETCH_S:
            return RateWatch(self.since, total, self.off_before, self.wrong, self.right)
        off = total / (length * rate_hz) - 1.0
        if abs(off) <= WRONG_RATE:
            return RateWatch(at, right=True)
        again = self.off_before is not None and abs(off - self.off_before) <= SAME_ERROR
        return RateWatch(at, 0, off, wrong=again)


@dataclass(frozen=True, slots=True)
class SameWatch:
    """Since when every sample has been the same."""

    value: float
    since: Seconds

    def looked_at(self, block: Samples, at: Seconds) -> "SameWatch":
        """The same with a block more, of at least one sample, that ends at the moment `at`."""
        last = float(block[-1])
        alike = last == self.value and all_alike(block)
        return self if alike else SameWatch(last, at)
