"""What a practice answers to: what is heard, what is pressed, and time; and what it sounds."""

from dataclasses import dataclass

from device.events import ChordHeld, Heard, Held, Plucked, Pressed, Struck, Tick
from dsp import Hz, Seconds


@dataclass(frozen=True, slots=True)
class PracticeTone:
    """What a practice wants to be sounded."""

    frequency_hz: Hz
    begins: Seconds
    duration_s: Seconds
    click: bool = False  # left out where there is no loudspeaker


PracticeEvent = Plucked | Heard | Struck | Tick | Pressed | Held | ChordHeld
"""Everything a practice answers to."""
