"""Defines what happens at the wall as values; each says when it happened, and none reads a clock.

`at` is in seconds of the loop's monotonic time, which has no meaning but its differences.
"""

from dataclasses import dataclass
from enum import Enum

from dsp import Cents, Hz, Seconds


class Button(Enum):
    """The three push buttons, by what a short press does."""

    NEXT = "next"
    PREVIOUS = "previous"
    TONE = "tone"  # sounds the reference tone; held, it opens the settings


@dataclass(frozen=True, slots=True)
class Plucked:
    """A new sounding began; whether it has a pitch is not known yet."""

    at: Seconds
    pluck: int
    level_dbfs: float


@dataclass(frozen=True, slots=True)
class Heard:
    """The tracker has an estimate for the sounding `pluck`."""

    at: Seconds
    pluck: int
    frequency_hz: Hz
    std_error_cents: Cents
    octave_doubt: float
    drift_cents_per_s: float
    level_dbfs: float
    since_pluck_s: Seconds


@dataclass(frozen=True, slots=True)
class Struck:
    """A string was struck, by its sound alone: no pitch is known, nor whether it will have one."""

    at: Seconds  # the moment it began, not that at which it was known
    level_dbfs: float


@dataclass(frozen=True, slots=True)
class NoteHeld:
    """A pitch that stands, plucked or bowed; it says which note it is, and is not to be tuned by."""

    at: Seconds
    began: Seconds
    frequency_hz: Hz
    number: int  # one more for each note


@dataclass(frozen=True, slots=True)
class Tick:
    """Time passed and nothing else happened."""

    at: Seconds


@dataclass(frozen=True, slots=True)
class NextString:
    """The player asks for the next string."""

    at: Seconds


@dataclass(frozen=True, slots=True)
class PreviousString:
    """The player asks for the string before."""

    at: Seconds


@dataclass(frozen=True, slots=True)
class StartOver:
    """A new pupil: nothing of the last one is kept."""

    at: Seconds


@dataclass(frozen=True, slots=True)
class TeacherHere:
    """The teacher's chord of buttons: a grown-up is at the pegs of this string."""

    at: Seconds


LessonEvent = Plucked | Heard | Tick | NextString | PreviousString | StartOver | TeacherHere
"""Everything the coach answers to."""


@dataclass(frozen=True, slots=True)
class Pressed:
    """A button went down and up again before the holding time."""

    at: Seconds
    button: Button


@dataclass(frozen=True, slots=True)
class Held:
    """A button has been down for the holding time; said once, while it is still down."""

    at: Seconds
    button: Button


@dataclass(frozen=True, slots=True)
class ChordHeld:
    """The teacher's chord: next and previous down together for the chord's holding time."""

    at: Seconds


Press = Pressed | Held | ChordHeld
