"""What a practice answers to: what is heard, what is pressed, and time; and what it sounds."""

from dataclasses import dataclass

from device.events import ChordHeld, Heard, Held, NoteHeld, Plucked, Pressed, Struck, Tick
from dsp import Hz, Seconds
from dsp.clicks import Click


@dataclass(frozen=True, slots=True)
class PracticeTone:
    """What a practice wants to be sounded."""

    frequency_hz: Hz | None  # None: clicks
    begins: Seconds
    duration_s: Seconds
    clicks: tuple[Click, ...] = ()  # left out where there is no loudspeaker


PracticeEvent = Plucked | Heard | Struck | NoteHeld | Tick | Pressed | Held | ChordHeld
"""Everything a practice answers to."""
