"""What a practice answers to: what is heard, what is pressed, and time."""

from device.events import ChordHeld, Heard, Held, Plucked, Pressed, Struck, Tick

PracticeEvent = Plucked | Heard | Struck | Tick | Pressed | Held | ChordHeld
"""Everything a practice answers to."""
