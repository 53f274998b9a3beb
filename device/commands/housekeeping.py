"""Collects garbage while nobody plays, so that memory stays flat for years.

The interpreter collects everything it could collect only once what is new outweighs a quarter of
what is old, which was not within 54 minutes of a busy room: meanwhile small objects in circles pile
up. What is there when the box is up stays for good and is not looked at again.
"""

import gc
from collections.abc import Callable

from device.events import Tick
from device.runtime.loop_interface import Snapshot
from dsp import Seconds

EVERY_S = Seconds(120.0)  # chosen: what piles up meanwhile is some kilobytes
LATEST_S = Seconds(1200.0)  # chosen: then it is done even while somebody plays
IDLE_S = Seconds(2.0)  # without a pluck, a reading or a press


class Housekeeping:
    """Watches the loop, and collects in a pause."""

    def __init__(self, collect: Callable[[], object] = gc.collect, settle: Callable[[], None] = gc.freeze):
        self._collect, self._settle = collect, settle
        self._collected: Seconds | None = None
        self._busy = Seconds(float("-inf"))  # when something happened last

    def watch(self, snapshot: Snapshot) -> None:
        """Called after every tick."""
        at = snapshot.at
        if self._collected is None:
            self._collect()
            self._settle()
            self._collected = at
        if not all(isinstance(event, Tick) for event in snapshot.events):
            self._busy = at
        since = at - self._collected
        if since >= LATEST_S or (since >= EVERY_S and at - self._busy >= IDLE_S):
            self._collect()
            self._collected = at
