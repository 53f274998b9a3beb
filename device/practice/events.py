"""What a practice answers to: what is heard, what is pressed, and time."""

from dataclasses import dataclass

from device.events import ChordHeld, Heard, Held, Plucked, Pressed, Tick
from dsp import Seconds


@dataclass(frozen=True, slots=True)
class Struck:
    """A string was struck, by its sound alone: no pitch is known, nor whether it will have one."""

    at: Seconds  # the moment itself, not that at which it was known
    level_dbfs: float


PracticeEvent = Plucked | Heard | Struck | Tick | Pressed | Held | ChordHeld
"""Everything a practice answers to."""
