"""What the player is told: one thing to do, or one thing to know.

Pictures that came with the lesson's rebuilding, each drawn from existing shapes first: CHECK, NO_PITCH,
TOO_FAST, CHECK_BRIDGE.
"""

from dataclasses import dataclass
from enum import Enum

from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart


class Alarm(Enum):
    """What takes the whole panel."""

    STOP = "stop"  # near the breaking load: take the hand away
    SLOWLY = "slowly"  # too much tension between two plucks
    ANOTHER_INSTRUMENT = "another-instrument"  # which instrument is this?
    ANOTHER_REFERENCE = "another-reference"  # all strings off alike: which reference pitch?


class Say(Enum):
    """What the player is told, one picture each. None of them asks for a turn but those so marked."""

    PLUCK = "pluck"  # pluck the string that is asked for
    PLUCK_AGAIN = "pluck-again"  # the reading is not sure enough
    TURN = "turn"  # a turn: what, which way and how far stand beside it
    COME_UP = "come-up"  # a turn: it went under on purpose, now tighten
    PUSH_IN = "push-in"  # a turn: the peg slipped back; push in and come up again
    LOOSEN_BACK = "loosen-back"  # a turn: the wrong peg was turned; loosen that one back
    BACK_OUT = "back-out"  # a turn: the fine tuner is at its end; a grown-up backs it out
    TURN_ON = "turn-on"  # it moved the wrong way: a turn, with the other arrow pointed at
    OTHER_STRING = "other-string"  # that sounded like `heard`: pluck the one asked for
    PLUCK_OTHERS = "pluck-others"  # nothing moved: which string did?
    PLUCK_ALL = "pluck-all"  # pluck all four, as pictured
    CHECK = "check"  # strings pull at each other: pluck this one once more
    NO_PITCH = "no-pitch"  # plucked three times without a pitch: is the string whole, and plucked well?
    TOO_FAST = "too-fast"  # let it ring before the next pluck
    CHECK_BRIDGE = "check-bridge"  # after big turns a grown-up looks whether the bridge stands straight
    WAIT = "wait"  # a new string stretches: leave it a moment
    GROWN_UP = "grown-up"  # only a grown-up turns this one
    ASK_TEACHER = "ask-teacher"  # too far off for a turn to be safe
    RIGHT = "right"  # in tune
    ALL_RIGHT = "all-right"  # the end: everything in tune
    STAYS_OFF = "stays-off"  # the end: some strings are left


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to do, or one thing to know. No turn is the answer whenever in doubt."""

    say: Say = Say.PLUCK
    turn: TuningPart = TuningPart.NONE
    string: str | None = None  # whose fine tuner or peg; None when there is no turn
    direction: Direction = Direction.NONE
    rotation: Rotation | None = None  # None without a turn, and for machine heads
    away: bool | None = None  # away from the player or towards; None for screws and machine heads
    amount: Amount | None = None
    degrees: float | None = None  # what `amount` stands for, of the peg or screw; None without a turn
    push_in: bool = False  # a wooden peg: push it in while turning
    heard: str | None = None  # the other open string it sounded like
    warning: Alarm | None = None

    @property
    def tightens(self) -> bool:
        """Whether it asks to tighten, whatever the words."""
        return self.turn is not TuningPart.NONE and self.direction is not Direction.LOOSEN
