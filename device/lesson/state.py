"""What the coach knows and says: frozen values, replaced and never changed."""

from dataclasses import dataclass
from enum import Enum

from device.coach.memory import NOTHING, Memory
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from dsp import Cents, Seconds


class Phase(Enum):
    """Where a lesson stands with the string that is asked for."""

    WAITING = "waiting"  # the string is shown; nothing was plucked yet
    LISTENING = "listening"  # something sounds; it is not settled or not sure yet
    GUIDING = "guiding"  # a reading counts and advice is shown
    RIGHT = "right"  # the string is in tune; moves on by itself or by the button
    FINISHED = "finished"  # every string was asked for; the end picture


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
    WAIT = "wait"  # a new string stretches: leave it a moment
    GROWN_UP = "grown-up"  # only a grown-up turns this one
    ASK_TEACHER = "ask-teacher"  # too far off for a turn to be safe
    RIGHT = "right"  # in tune
    ALL_RIGHT = "all-right"  # the end: everything in tune
    STAYS_OFF = "stays-off"  # the end: some strings are left


class Mark(Enum):
    """How one string stands in this lesson."""

    TO_DO = "to-do"
    RIGHT = "right"
    DRIFTED = "drifted"  # was right, moved since
    GROWN_UP = "grown-up"  # left for a grown-up


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
    advice: Advice = Advice()
    memory: Memory = NOTHING  # the coach's own; nobody else reads it
