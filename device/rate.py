"""Whether a microphone gives as many samples a second as it says.

One that does not would make every reading wrong by the same interval (44.1 for 48 kHz: 147 cents),
which nobody at the wall could tell from a string that is off. Blocks come in bursts, and a busy
processor loses some, so a rate is called wrong only when two stretches in a row are off alike.
"""

from dataclasses import dataclass

from dsp import Seconds

STRETCH_S = Seconds(5.0)  # chosen: bursts of 20 ms are half a percent of it
OFF = 0.03  # share; sound cards are within 0.02 % (100 ppm and more are called bad), wrong rates 8 % off
ALIKE = 0.01  # share


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
        if abs(off) <= OFF:
            return RateWatch(at, right=True)
        again = self.off_before is not None and abs(off - self.off_before) <= ALIKE
        return RateWatch(at, 0, off, wrong=again)
