"""What a simulated player can do at the wall."""

from dataclasses import dataclass

from demo.mechanics.geometry import Spin
from demo.players.picture import PicturedPart
from dsp import Cents, Seconds

LISTENS = Seconds(1.2)  # from the pluck to the look at the panel
TURNS = Seconds(1.0)  # one turn of a hand


@dataclass(frozen=True, slots=True)
class HandTurn:
    """Turn something by `degrees`, as seen by whoever faces its head."""

    string: str
    part: PicturedPart
    spin: Spin
    degrees: float
    push_in: bool = True
    beyond: Cents = Cents(0.0)  # and on, by what is worth so much
    by_ear: bool = False  # not `degrees`, but until the string is right, where this way leads there
    duration: Seconds = TURNS


@dataclass(frozen=True, slots=True)
class Pluck:
    """Pluck a string and listen; `turning` meanwhile."""

    string: str
    listens: Seconds = LISTENS
    pitchless: bool = False  # a thud: a finger lies on the string
    other_child: bool = False  # somebody else's string sounds into it
    turning: HandTurn | None = None


@dataclass(frozen=True, slots=True)
class Wait:
    """Do nothing for a while."""

    duration: Seconds


@dataclass(frozen=True, slots=True)
class PressNext:
    """Press the button for the next string."""


@dataclass(frozen=True, slots=True)
class CallTeacher:
    """A grown-up comes to the pegs and says so with the buttons."""


@dataclass(frozen=True, slots=True)
class Leave:
    """Walk away from the wall."""


Action = HandTurn | Pluck | Wait | PressNext | CallTeacher | Leave
