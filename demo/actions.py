"""What a simulated player can do at the wall, and what a picture of a turn asks of a hand."""

from dataclasses import dataclass

from demo.geometry import Spin
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice
from dsp import Seconds

DEGREES: dict[tuple[TuningPart, Amount], float] = {  # how far the arrow in the picture reaches
    (TuningPart.PEG, Amount.A_HAIR): 2.0,
    (TuningPart.PEG, Amount.A_LITTLE): 6.0,
    (TuningPart.PEG, Amount.MORE): 20.0,
    (TuningPart.FINE_TUNER, Amount.A_HAIR): 30.0,
    (TuningPart.FINE_TUNER, Amount.A_LITTLE): 120.0,
    (TuningPart.FINE_TUNER, Amount.MORE): 360.0,
}
SPIN = {Rotation.CLOCKWISE: Spin.CLOCKWISE, Rotation.COUNTER_CLOCKWISE: Spin.COUNTER_CLOCKWISE}


@dataclass(frozen=True, slots=True)
class Pluck:
    """Pluck a string and listen."""

    string: str


@dataclass(frozen=True, slots=True)
class Turned:
    """TuningPart something by `degrees`, as seen by whoever faces its head."""

    string: str
    what: TuningPart
    spin: Spin
    degrees: float
    push_in: bool


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


Action = Pluck | Turned | Wait | PressNext | CallTeacher | Leave


def asked_turn(advice: Advice, hand_on: str) -> Turned | None:
    """The turn a picture asks for, on whatever the hand is on; None where it asks for none.

    Machine heads have no rotation in the picture: the player knows that theirs tighten clockwise.
    """
    if advice.turn is TuningPart.NONE or advice.direction is Direction.NONE or advice.warning is not None:
        return None
    if advice.rotation is not None:
        spin = SPIN[advice.rotation]
    else:
        spin = Spin.CLOCKWISE if advice.direction is Direction.TIGHTEN else Spin.COUNTER_CLOCKWISE
    usual = DEGREES[advice.turn, advice.amount or Amount.A_HAIR]
    degrees = advice.degrees or usual
    return Turned(hand_on, advice.turn, spin, degrees, advice.push_in)
