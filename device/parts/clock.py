"""The board's clock: monotonic, so that a date that jumps by years changes nothing.

A board without a battery-backed clock wakes up in some past year and is set right, or never.
"""

import time

from dsp import Seconds


class MonotonicClock:
    """Real time, counted from an arbitrary moment."""

    def now(self) -> Seconds:
        """Seconds since the system started; never goes back, whatever the date does."""
        return Seconds(time.monotonic())

    def sleep(self, duration: Seconds) -> None:
        """Let `duration` pass."""
        time.sleep(duration)
