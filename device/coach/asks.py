"""Asking for a turn, and remembering that it was asked for."""

from dataclasses import replace

from device.coach.case import Case, Outcome, proof_at
from device.coach.makes import RELATIVE_LENGTH, sizes
from device.coach.memory import Known, Lesson, Turned
from device.coach.tuned import turn_advice
from device.coach.turning import (
    Slope,
    amount_for,
    degrees_between,
    degrees_of,
    flattest,
    slope,
    steepest,
    turned,
)
from device.config.settings import Size
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.state import Say
from dsp import Cents, Hz, shifted

LEARNED_MARGIN = 1.15  # a learned slope is taken so much steeper: err small
STEEPEST_LEARNED = 3.0  # times the steepest made; more than that was no single turn
LEAST_DEGREES = {TuningPart.FINE_TUNER: 10.0, TuningPart.PEG: 1.0}  # no hand turns less
NO_ANSWER = 0.6  # of the flattest slope, so a third of what was asked at the usual one
NO_ANSWER_LEARNED = 1.0 / 3.0  # of a learned one
BACKED_OUT = Cents(100.0)  # at most, when a fine tuner at its end is backed out
BACKED_OUT_TO = Cents(-140.0)  # and not further down than this, so that the string is still known


def slope_here(case: Case, turn: TuningPart) -> Slope:
    """What one degree does to the string asked for: as learned, or as made."""
    made = slope(case.string, turn, _smallest(case), case.settings)
    least = flattest(case.string, turn, case.settings).least
    learned = case.known.peg_slope if turn is TuningPart.PEG else case.known.screw_slope
    if learned is None:
        return Slope(NO_ANSWER * least, made.usual, made.most)
    usual = min(max(learned, least), STEEPEST_LEARNED * made.most)
    return Slope(min(NO_ANSWER_LEARNED * usual, NO_ANSWER * least), usual, LEARNED_MARGIN * usual)


def _smallest(case: Case) -> Size:
    """The smallest size the instrument may have, after what was learned of its strings.

    A string that was learned to be flatter than the softest one of a size could be rules that size out.
    """
    settings = case.settings
    learned = [
        (known.name, turn, least)
        for known in case.lesson.known
        for turn, least in ((TuningPart.PEG, known.peg_slope), (TuningPart.FINE_TUNER, known.screw_slope))
        if least is not None
    ]
    may = [
        size
        for size in sizes(settings)
        if all(least >= slope(name, turn, size, settings).least for name, turn, least in learned)
    ]
    return min(may or sizes(settings)[:1], key=lambda size: RELATIVE_LENGTH[size])


def asked(case: Case, turn: TuningPart, direction: Direction, amount: Amount, degrees: float) -> Outcome:
    """The turn as advice, and the lesson that waits for its answer."""
    settings, string = case.settings, case.string
    told = degrees_of(turn, settings)[amount]
    sign = 1 if direction is Direction.TIGHTEN else -1
    here = slope_here(case, turn)
    steep = turned(string, case.hz, sign * degrees, here.most, settings)
    wish = turned(string, case.hz, sign * degrees, here.usual, settings)
    least = turned(string, case.hz, sign * degrees, here.least, settings)
    done = Turned(case.at, string, turn is TuningPart.PEG, sign, degrees, told, case.hz, wish, least)
    known = tuple(_risked(k, done) for k in case.lesson.known)
    lesson = replace(case.lesson, known=known, turned=done, others=None, proof=proof_at(case, steep))
    advice = replace(turn_advice(string, turn, direction, amount, settings), say=case.say, degrees=degrees)
    return Outcome(lesson, advice, shown=case.cents)


def _risked(known: Known, done: Turned) -> Known:
    """After this turn `known` may stand higher than it was heard, and is not surely right any more."""
    known = replace(known, stale=True)
    if done.sign < 0:
        return known
    if done.peg:
        return replace(known, unheard_peg=known.unheard_peg + done.told)
    return replace(known, unheard_screw=known.unheard_screw + done.told)


def loosen_back(case: Case, name: str, before: Hz, done: Turned) -> Outcome:
    """The wrong peg or screw was turned: that one goes back, a peg by a hair."""
    settings = case.settings
    turn = TuningPart.PEG if done.peg else TuningPart.FINE_TUNER
    table = degrees_of(turn, settings)
    here = steepest(name, turn, settings)
    back = degrees_between(name, before, case.hz, here.most, settings)
    most = table[Amount.A_HAIR] if done.peg else done.told
    degrees = max(LEAST_DEGREES[turn], min(back, most))
    amount = amount_for(degrees, turn, settings)
    lesson = replace(case.lesson, turned=None, others=None)
    lesson = lesson.knowing(replace(lesson.of(name), stale=True))
    advice = turn_advice(name, turn, Direction.LOOSEN, amount, settings)
    return Outcome(lesson, replace(advice, say=Say.LOOSEN_BACK, degrees=degrees))


def back_out(case: Case) -> Outcome:
    """A grown-up backs the fine tuner out; the peg takes over from there."""
    known = replace(case.known, screw_ended=1, unanswered=0)
    case = replace(case, lesson=case.lesson.knowing(known), say=Say.BACK_OUT)
    down = min(BACKED_OUT, Cents(case.cents - BACKED_OUT_TO))
    here = slope_here(case, TuningPart.FINE_TUNER)
    to = shifted(case.hz, Cents(-down))
    wish = -degrees_between(case.string, case.hz, to, here.most, case.settings)
    table = degrees_of(TuningPart.FINE_TUNER, case.settings)
    amount = amount_for(wish, TuningPart.FINE_TUNER, case.settings)
    degrees = max(LEAST_DEGREES[TuningPart.FINE_TUNER], min(wish, table[amount]))
    return asked(case, TuningPart.FINE_TUNER, Direction.LOOSEN, amount, degrees)


def settled(lesson: Lesson, name: str) -> Lesson:
    """`name` is right: nothing is waited for, and nothing about it is in doubt."""
    known = replace(lesson.of(name), was_right=True, stale=False, unanswered=0, again=False, ended=False)
    return replace(lesson.knowing(known), turned=None, others=None, roll=None, strange=0, odd=0)
