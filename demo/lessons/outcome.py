"""What came of a simulated lesson, by the simulation's own truth."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

from dsp import Cents, Seconds
from dsp.synthesis.ringing import SWING_SPLIT

FALSE_BEYOND = Cents(3.0)  # of the tolerance: readings have errors of their own; chosen


@dataclass(frozen=True, slots=True)
class LessonOutcome:
    """How a lesson ended."""

    in_tune: bool  # all true pitches inside the tolerance
    handed_over: bool  # not so, but every string that is off is shown as left for a grown-up
    falsely_all_right: bool  # "all in tune" was shown with a string off by more than tolerance and margin
    misled: bool  # a sounding was heard an octave or a fifth wrong, or another child's, and told as if right
    ended: bool  # the end was shown, within the plucks that a lesson may take
    plucks: int
    seconds: Seconds
    overshoots: int  # turns that carried a string from out of tune to out of tune on the other side
    broken: int
    stopped_before_break: int  # of the broken ones: STOP was shown before it broke
    nearest: float  # highest share of its breaking load that a turn took a string to
    stop_shown: bool
    dangerous: int  # pictures that, done twice over, break what the hand is on
    changed_often: int  # plucks within which the picture changed more than twice
    steady: bool  # it never changed within a pluck, once there was one
    stale: int  # turns made by the picture of an earlier pluck, after one that gave no pitch
    off: Mapping[str, Cents | None]  # each string at the end, low to high


@dataclass(slots=True)
class Counts:
    """What is counted while a lesson goes on."""

    plucks: int = 0
    overshoots: int = 0
    stopped: int = 0
    dangerous: int = 0
    nearest: float = 0.0
    stop_shown: bool = False
    ended: bool = False
    falsely_all_right: bool = False
    changed: int = 0
    changed_often: int = 0
    stale: int = 0
    judged: set[Hashable] = field(default_factory=set)


def inside(off: Cents | None, limit: Cents) -> bool:
    """Whether any pitch of the true stretch, from the sideways to the vertical swing, is inside."""
    return off is not None and -limit - SWING_SPLIT <= off <= limit
