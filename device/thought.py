"""The pure half of the box as four functions, so that a test may put something simpler in its place."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from PIL import Image

from device import screen
from device.coach import table
from device.coach.state import Coach
from device.events import LessonEvent
from device.scene import Scene
from device.settings import Settings
from dsp import Hz, PitchTracker, Reading, Samples, Seconds


class Tracker(Protocol):
    """What makes readings of blocks; `dsp.PitchTracker`."""

    def feed(self, samples: Samples) -> Sequence[Reading]:
        """Take the next block and return the readings it completes."""
        ...


@dataclass(frozen=True, slots=True)
class Thought:
    """What the loop asks; it decides nothing itself."""

    tracker: Callable[[int, Hz, Hz], Tracker]  # sample rate, lowest and highest pitch, in Hz
    start: Callable[[Settings, Seconds], Coach]
    advance: Callable[[Coach, LessonEvent, Settings], Coach]
    draw: Callable[[Scene, Seconds], Image.Image]


def real_thought() -> Thought:
    """The box's own signal path, coach and screen."""
    return Thought(PitchTracker, table.start, table.advance, screen.draw)
