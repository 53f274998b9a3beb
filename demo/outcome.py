"""What came of a simulated lesson, by the simulation's own truth."""

from dataclasses import dataclass, field

from device.lesson.advice import Advice
from dsp import Cents, Seconds
from dsp.synthesis.ringing import SWING_SPLIT


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a lesson ended."""

    in_tune: bool  # all true pitches inside the tolerance
    handed_over: bool  # not so, but every string that is off is marked for a grown-up
    plucks: int
    seconds: Seconds
    overshoots: int  # turns that carried a string from out of tune to out of tune on the other side
    broken: int
    stopped_before_break: int  # of the broken ones: STOP was shown before it broke
    near_breaking: bool  # a string came over four fifths of its breaking load
    stop_shown: bool
    dangerous: int
    off: tuple[Cents | None, ...]  # each string at the end, low to high


@dataclass(slots=True)
class Counts:
    """What is counted while a lesson goes on."""

    plucks: int = 0
    overshoots: int = 0
    stopped: int = 0
    dangerous: int = 0
    stop_shown: bool = False
    near_breaking: bool = False
    judged: set[tuple[int, str, Advice]] = field(default_factory=set)


def inside(off: Cents | None, limit: Cents) -> bool:
    """Whether any pitch of the true stretch, from the sideways to the vertical swing, is inside."""
    return off is not None and -limit - SWING_SPLIT <= off <= limit
