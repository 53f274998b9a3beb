"""Which thing to turn, which way and how far, so that no string comes near breaking.

The hand may be on another peg or screw than the one asked for. So a TIGHTEN is asked for only if
every string whose peg or screw could be in the hand stays below its own limit after everything
asked of such things since that string was last heard, and this turn, all turned twice over.
"""

from dataclasses import replace

from device.coach.asks import LEAST_DEGREES, asked, slope_here
from device.coach.case import PLACE_ABOVE, PLACE_BELOW, Case, Outcome, left, no_turn
from device.coach.memory import Others, Why
from device.coach.safe import endangered, may_rise, unheard
from device.coach.tuned import FINE_REACH
from device.coach.turning import (
    amount_for,
    degrees_between,
    degrees_of,
    reach,
    turned,
)
from device.coach.ways import has_fine_tuner
from device.config.settings import Order
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.state import Advice, Say
from dsp import Cents, Instrument, cents, shifted

SCREW_HOLDS = Cents(10.0)  # beyond its reach a fine tuner in use is kept so far
MOST_LOOSENED = Cents(300.0)  # of a string, in one lesson
OVER = 0.4  # of the tolerance: so far above its place the steepest string may be taken, still right; a
# first turn from far, of a hand not known yet, aims at the place itself (chosen on few-cents, seed 5)
FAR = 1.5  # tolerances
UNDER = 0.5  # of the tolerance: so far under a sharp string is let down
HOLDS = 0.2  # of the turn shown: a wish that differs by less leaves it as it is
PAUSE_AFTER = 6  # answered turns of a slack string before it is left to stretch
SLACK = Cents(-100.0)  # below this a string counts as new or slack


def turn_for(case: Case) -> Outcome:
    """The turn that this reading deserves, or why there is none."""
    if case.known.ended:
        return left(case)
    turn = _thing(case)
    if (not_now := _not_now(case, turn)) is not None:
        return not_now
    return _loosen(case, turn) if case.cents > 0 else _tighten(case, turn)


def _not_now(case: Case, turn: TuningPart) -> Outcome | None:
    """Why this is not to be turned, or not yet."""
    if turn is TuningPart.PEG and not case.grown_up and not _by_machine_head(case):
        return left(case) if case.like_before or case.proved else no_turn(case, Say.PLUCK_AGAIN)
    too_sharp = case.cents > PLACE_ABOVE
    if too_sharp or (turn is TuningPart.PEG and case.settings.order is Order.WHICHEVER_IS_PLUCKED):
        return Outcome(case.lesson, Advice(Say.ASK_TEACHER), shown=case.cents)
    if case.proved and case.cents < SLACK and case.known.steps >= PAUSE_AFTER:
        known = replace(case.known, steps=0)
        return replace(no_turn(case, Say.WAIT), lesson=case.lesson.knowing(known), shown=case.cents)
    return None


def _thing(case: Case) -> TuningPart:
    """Fine tuner within its reach, where one is fitted and has travel left; otherwise the peg."""
    if not has_fine_tuner(case.string, case.settings) or case.known.screw_ended * case.cents < 0:
        return TuningPart.PEG
    in_use = case.known.screw_slope is not None
    within = reach(case.string, case.settings) + (SCREW_HOLDS if in_use else 0.0)
    return TuningPart.FINE_TUNER if abs(case.cents) <= within else TuningPart.PEG


def _by_machine_head(case: Case) -> bool:
    """A double bass has nothing finer than its machine heads: near its place anyone may turn them."""
    return case.settings.instrument is Instrument.DOUBLE_BASS and abs(case.cents) <= FINE_REACH


def _tighten(case: Case, turn: TuningPart) -> Outcome:
    """Up, in a step that no string in the hand would be hurt by."""
    tolerance = case.settings.tolerance.cents
    over = 0.0 if _first(case, turn) and -case.cents > FAR * tolerance else OVER
    target = shifted(case.targets[case.string], Cents(over * tolerance))
    wish = degrees_between(case.string, case.hz, target, slope_here(case, turn).most, case.settings)
    table = degrees_of(turn, case.settings)
    wish, amount = _held(case, turn, Direction.TIGHTEN, wish)
    if turn is TuningPart.PEG and _steel_top(case):
        amount = Amount.A_HAIR
    in_the_way = endangered(case, turn, table[amount])
    if in_the_way and (names := unheard(case, in_the_way)):
        return _hear_first(case, names)
    allowed = [a for a in Amount if table[a] <= table[amount] and not endangered(case, turn, table[a])]
    if not allowed:  # where another string is in the way, it may be right by the checking round
        return left(case, again=case.string not in endangered(case, turn, table[Amount.A_HAIR]))
    amount = max(allowed, key=lambda a: table[a])
    degrees = max(LEAST_DEGREES[turn], min(wish, table[amount]))
    return asked(case, turn, Direction.TIGHTEN, amount, degrees)


def _first(case: Case, turn: TuningPart) -> bool:
    """Whether nothing is known yet of what a turn does to the string, nor of the hand that turns."""
    return (case.known.peg_slope if turn is TuningPart.PEG else case.known.screw_slope) is None


def _held(case: Case, turn: TuningPart, direction: Direction, wish: float) -> tuple[float, Amount]:
    """The turn shown earlier in this sounding, while the wish is much the same; an arrow must not jump."""
    shown = case.shown
    if shown is not None and (shown.turn, shown.direction, shown.string) == (turn, direction, case.string):
        held, amount = shown.degrees, shown.amount
        if held is not None and amount is not None and abs(wish - held) <= HOLDS * held:
            return held, amount
    return wish, amount_for(wish, turn, case.settings)


def _steel_top(case: Case) -> bool:
    """A steel E by its peg is never more than a hair a pluck."""
    return case.settings.instrument is Instrument.VIOLIN and case.string == case.settings.strings[-1].name


def _hear_first(case: Case, names: tuple[str, ...]) -> Outcome:
    """Have the strings plucked that stand in the way of this turn."""
    lesson = replace(case.lesson, others=Others(Why.NEVER_HEARD, names))
    return no_turn(replace(case, lesson=lesson), Say.PLUCK_OTHERS, names[0])


def _loosen(case: Case, turn: TuningPart) -> Outcome:
    """Down: a peg by a hair only, and never while another string is slack.

    A fine tuner by so much that turned the wrong way round, twice over, it would hurt no string.
    """
    under = shifted(case.targets[case.string], Cents(-UNDER * case.settings.tolerance.cents))
    wish = -degrees_between(case.string, case.hz, under, slope_here(case, turn).most, case.settings)
    table = degrees_of(turn, case.settings)
    amount = Amount.A_HAIR
    if turn is TuningPart.FINE_TUNER:
        wish, most = _held(case, turn, Direction.LOOSEN, wish)
        may = [a for a in Amount if table[a] <= table[most] and may_rise(case, turn, table[a])]
        amount = max(may, key=lambda a: table[a], default=Amount.A_HAIR)
    degrees = max(LEAST_DEGREES[turn], min(wish, table[amount]))
    if (turn is TuningPart.PEG or case.cents > FINE_REACH) and not _may_fall(case, turn, degrees):
        return left(case)
    return asked(case, turn, Direction.LOOSEN, amount, degrees)


def _may_fall(case: Case, turn: TuningPart, degrees: float) -> bool:
    """Whether no other string is slack, and this one has not been let down too far already."""
    slack = any(
        known.hz is not None and cents(known.hz, case.targets[known.name]) < -PLACE_BELOW
        for known in case.lesson.known
        if known.name != case.string and known.name in case.targets
    )
    lower = turned(case.string, case.hz, -degrees, slope_here(case, turn).usual, case.settings)
    return not slack and case.known.loosened + cents(case.hz, lower) <= MOST_LOOSENED
