"""When a reading is right, when its side is sure, and a turn with everything that follows from it."""

from device.coach.ways import away_of, push_in_needed, rotation_of
from device.config.settings import Settings, Tolerance
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.state import Advice, Say
from dsp import Cents

FINE_REACH = Cents(50.0)  # a fine tuner is for the last 50 cents (common practice)
MARGIN = Cents(0.5)  # what a panel and an ear round away; left out of the fine tolerance
SURE_ERRORS = 2.0  # two standard errors: 95 % of readings lie within


def in_tune(cents: Cents, std_error_cents: Cents, settings: Settings) -> bool:
    """Whether the reading lies inside the tolerance with everything that is unsure about it."""
    margin = Cents(0.0) if settings.tolerance is Tolerance.FINE else MARGIN
    return abs(cents) + SURE_ERRORS * std_error_cents + margin <= settings.tolerance.cents


def sure_of_side(cents: Cents, std_error_cents: Cents) -> bool:
    """Whether flat or sharp is certain; no turn is asked for otherwise."""
    return abs(cents) > SURE_ERRORS * std_error_cents


def turn_advice(
    string: str, turn: TuningPart, direction: Direction, amount: Amount | None, settings: Settings
) -> Advice:
    """A turn with everything that follows from the instrument."""
    return Advice(
        Say.TURN,
        turn,
        string,
        direction,
        rotation_of(string, turn, direction, settings),
        away_of(turn, direction, settings),
        amount,
        push_in=push_in_needed(turn, settings),
    )
