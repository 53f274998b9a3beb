"""What the lesson shows: frozen values, replaced and never changed."""

from dataclasses import dataclass
from enum import Enum

from device.lesson.advice import Advice
from device.lesson.memory import NOTHING, Memory
from device.safety.string_bounds import Watch
from dsp import Cents, Seconds

PLUCK = Advice()
UNWATCHED = Watch()


class Phase(Enum):
    """Where a lesson stands with the string that is asked for."""

    WAITING = "waiting"  # the string is shown; nothing was plucked yet
    LISTENING = "listening"  # something sounds; it is not settled or not sure yet
    GUIDING = "guiding"  # a reading counts and advice is shown
    RIGHT = "right"  # the string is in tune; moves on by itself or by the button
    FINISHED = "finished"  # every string was asked for; the end picture


class Mark(Enum):
    """How one string stands in this lesson."""

    TO_DO = "to-do"
    RIGHT = "right"
    DRIFTED = "drifted"  # was right, moved since
    GROWN_UP = "grown-up"  # left for a grown-up


@dataclass(frozen=True, slots=True)
class StringState:
    """What is known of one string in this lesson."""

    name: str
    mark: Mark = Mark.TO_DO
    first_cents: Cents | None = None  # how far off it was at the start
    last_cents: Cents | None = None  # at the last reading that counted


@dataclass(frozen=True, slots=True)
class Coach:
    """A lesson at one moment. `strings` are low to high; `string` is the one asked for."""

    phase: Phase
    string: str
    since: Seconds  # when this phase began
    strings: tuple[StringState, ...]
    cents: Cents | None = None  # the reading shown; None when there is none, never zero
    std_error_cents: Cents | None = None
    advice: Advice = PLUCK
    memory: Memory = NOTHING  # the lesson's own; nobody else reads it
    watch: Watch = UNWATCHED  # the safety monitor's own; the lesson reads it and never writes it
