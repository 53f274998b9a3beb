"""What to say to one reading, seen by itself.

`advise` knows nothing of earlier readings, so it never asks for a peg: that needs proof of which
string is sounding, which only a lesson gathers. In doubt it asks for no turn.
"""

import math

from device.coach.state import Advice, Amount, Direction, Say, Turn
from device.coach.ways import away_of, has_fine_tuner, push_in_needed, rotation_of
from device.settings import Settings, Tolerance
from dsp import Cents, Instrument

FINE_REACH = Cents(50.0)  # a fine tuner is for the last 50 cents (common practice)
MARGIN = Cents(0.5)  # what a panel and an ear round away; left out of the fine tolerance
MOST_DOUBT = 0.1  # octave_doubt, 0..1: above it a reading asks for no turn
SURE_ERRORS = 2.0  # two standard errors: 95 % of readings lie within


def in_tune(cents: Cents, std_error_cents: Cents, settings: Settings) -> bool:
    """Whether the reading lies inside the tolerance with everything that is unsure about it."""
    margin = Cents(0.0) if settings.tolerance is Tolerance.FINE else MARGIN
    return abs(cents) + SURE_ERRORS * std_error_cents + margin <= settings.tolerance.cents


def sure_of_side(cents: Cents, std_error_cents: Cents) -> bool:
    """Whether flat or sharp is certain; no turn is asked for otherwise."""
    return abs(cents) > SURE_ERRORS * std_error_cents


def screw_amount(cents: Cents) -> Amount:
    """How far to turn a fine tuner for an error of `cents`."""
    if abs(cents) <= 12.0:  # cents; about an eighth of a turn of the screw, from memory
        return Amount.A_HAIR
    return Amount.A_LITTLE if abs(cents) <= 30.0 else Amount.MORE


def turn_advice(string: str, turn: Turn, direction: Direction, amount: Amount, settings: Settings) -> Advice:
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


def advise(
    string: str, cents: Cents, std_error_cents: Cents, octave_doubt: float, settings: Settings
) -> Advice:
    """What a lone reading deserves.

    Parameters
    ----------
    string : the open string aimed at, by name
    cents : distance from its target, sharp positive
    std_error_cents : one standard error of `cents`
    octave_doubt : 0..1, how likely the octave is wrong
    """
    known = math.isfinite(cents) and math.isfinite(std_error_cents) and octave_doubt <= MOST_DOUBT
    if known and in_tune(cents, std_error_cents, settings):
        return Advice(Say.RIGHT)
    if known and abs(cents) > FINE_REACH:
        return Advice(Say.ASK_TEACHER)
    if not known or not sure_of_side(cents, std_error_cents) or abs(cents) <= settings.tolerance.cents:
        return Advice(Say.PLUCK_AGAIN)
    direction = Direction.TIGHTEN if cents < 0 else Direction.LOOSEN
    if has_fine_tuner(string, settings):
        return turn_advice(string, Turn.FINE_TUNER, direction, screw_amount(cents), settings)
    if settings.instrument is Instrument.DOUBLE_BASS:
        return turn_advice(string, Turn.PEG, direction, Amount.A_HAIR, settings)
    return Advice(Say.ASK_TEACHER)
