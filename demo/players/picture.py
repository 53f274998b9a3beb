"""What a player makes out of a picture on the panel, in the player's own terms."""

from collections.abc import Hashable
from dataclasses import dataclass
from enum import Enum

from demo.mechanics.geometry import Spin


class PicturedPart(Enum):
    """What a hand can take hold of; on a double bass the peg is a machine head."""

    PEG = "peg"
    SCREW = "screw"


class Asks(Enum):
    """What a picture wants of whoever stands before it."""

    PLUCK = "pluck"
    TURN = "turn"
    NOTHING = "nothing"  # it listens, or shows for a moment that a string is right
    WAIT = "wait"
    GROWN_UP = "grown-up"  # somebody else is to do this
    STOP = "stop"  # the hand comes off at once
    END = "end"


@dataclass(frozen=True, slots=True)
class PicturedTurn:
    """A turn as a picture shows it."""

    part: PicturedPart
    string: str
    tightens: bool
    degrees: float  # that the arrow's sweep or its marks stand for
    spin: Spin | None = None  # a round arrow, as seen by whoever faces the head
    away: bool | None = None  # a straight arrow: away from the player, or towards
    push_in: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """One look at the panel."""

    asks: Asks
    string: str  # the one the letter names
    turn: PicturedTurn | None = None  # where it asks for one
    pluck: str | None = None  # where it asks for one
    listening: bool = False
    helps: bool = False  # a grown-up could help on, who is not asked to
    corrects: bool = False  # it shows that something went wrong before
    all_right: bool = False  # the end: everything in tune
    left: frozenset[str] = frozenset()  # strings shown as left for a grown-up
    words: str = ""  # for a story told
    same: Hashable = None  # two pictures that say the same have this in common
