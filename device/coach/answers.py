"""What the last turn did: answered, the wrong way, slipped back, or nothing at all.

A turn that nothing answered may have moved another string: no further turn is asked for until the
others were plucked. The one that rose is loosened back; when none did, the same turn is shown again.
"""

from dataclasses import replace

from device.coach.asks import back_out
from device.coach.case import Case, Outcome, left, no_turn, proof_at
from device.coach.limits import NEAR
from device.coach.memory import Known, Lesson, Others, Turned, Why
from device.coach.safe import share_after
from device.coach.tuned import FINE_REACH
from device.coach.turning import degrees_of, tension, worst_share
from device.coach.turns import turn_for
from device.coach.ways import has_fine_tuner
from device.config.settings import Pegs
from device.instrument.tuning_parts import Amount, TuningPart
from device.lesson.state import Say
from dsp import Cents, Hz, Seconds, cents, shifted

PULL = Cents(5.0)  # turning other strings pulls this one so far at most, from memory
SLIPPED_TIMES = 2.5  # a fall of so many times the turn is no hand: the peg slipped
MOST_TRIES = 5  # times the same turn is shown again
MOST_TRIES_PROVED = 8  # times, once a turn of this string was answered
SCREW_ENDS_AFTER = 3  # turns in vain, in a row, of a fine tuner that was proved to act
SOONEST = Seconds(1.5)  # from pluck to pluck, with a look, a grip and a turn between them; chosen
MOST_RISES = 3  # in a row, of a string that was to be loosened


def answered(case: Case) -> Outcome | Case | None:
    """The asked string moved as told: learn how steep it is, and trust the hand on it."""
    done = case.lesson.turned
    if done is None or done.string != case.string or not _moved(done, case.hz):
        return None
    lesson = _hand_known(case, done)
    known = replace(lesson.of(case.string), unanswered=0, rises=0, steps=lesson.of(case.string).steps + 1)
    sharp = cents(done.from_hz, case.targets[case.string]) > FINE_REACH
    if done.sign < 0 and (done.peg or sharp):
        known = replace(known, loosened=known.loosened + cents(done.from_hz, case.hz))
    learned = _at_most(case, done)
    known = replace(known, peg_slope=learned) if done.peg else replace(known, screw_slope=learned)
    back = done.sign < 0 and case.cents < 0
    lesson = replace(lesson.knowing(known), turned=None, others=None, rolls=min(lesson.rolls, 1))
    return replace(case, lesson=lesson, say=Say.COME_UP if back else case.say)


def _at_most(case: Case, done: Turned) -> float:
    """The steepest slope that fits what the turn did, so that the next step errs small."""
    reached = shifted(case.hz, Cents(done.sign * 3.0 * case.std_error_cents))
    before = tension(done.string, done.from_hz, case.settings)
    return abs(tension(done.string, reached, case.settings) - before) / done.degrees


def _moved(done: Turned, hz: Hz) -> bool:
    return done.sign * cents(hz, done.least_hz) >= 0.0


def _hand_known(case: Case, done: Turned) -> Lesson:
    """It was this peg or screw that was turned, so no other was."""
    lesson = case.lesson
    for name in case.others:
        lesson = lesson.knowing(_unrisked(lesson.of(name), done))
    return lesson


def _unrisked(known: Known, done: Turned) -> Known:
    if done.sign < 0:
        return known
    if done.peg:
        return replace(known, unheard_peg=max(0.0, known.unheard_peg - done.told))
    return replace(known, unheard_screw=max(0.0, known.unheard_screw - done.told))


def wrong_way(case: Case) -> Outcome | Case | None:
    """It moved against the advice by more than the other strings' pull."""
    done = case.lesson.turned
    if done is None or done.string != case.string:
        return None
    against = -done.sign * cents(case.hz, done.from_hz)
    if against <= PULL + 2.0 * case.std_error_cents:
        return None
    lesson = replace(_hand_known(case, done), turned=None, others=None, proof=proof_at(case))
    if done.sign > 0:
        asked = cents(done.wish_hz, done.from_hz)
        slipped = done.peg and case.settings.pegs is Pegs.WOODEN and against > SLIPPED_TIMES * asked
        return replace(case, lesson=lesson, say=Say.PUSH_IN if slipped else Say.TURN_ON)
    return _rose(replace(case, lesson=lesson), done)


def _rose(case: Case, done: Turned) -> Outcome | Case:
    """A rise after LOOSEN: the other way round, while even that could not hurt; otherwise the end of it."""
    known = replace(case.known, rises=case.known.rises + 1)
    turn = TuningPart.PEG if done.peg else TuningPart.FINE_TUNER
    least = degrees_of(turn, case.settings)[Amount.A_HAIR]
    peg, screw = (least, 0.0) if done.peg else (0.0, least)
    harmless = worst_share(case.string, case.hz, peg, screw, case.settings) < NEAR
    if harmless and known.rises < MOST_RISES:
        return replace(case, lesson=case.lesson.knowing(known), say=Say.TURN_ON)
    return left(
        replace(case, lesson=case.lesson.knowing(replace(known, ended=not harmless, rises=0))), again=harmless
    )


def unanswered(case: Case) -> Outcome | None:
    """Nothing moved: which string did? A pluck that came too soon for a turn only shows it again."""
    done = case.lesson.turned
    if done is None or done.string != case.string or case.lesson.others is not None:
        return None
    if case.gap_s is not None and case.gap_s < SOONEST:
        return turn_for(case)
    tries = case.known.unanswered + 1
    case = replace(case, lesson=case.lesson.knowing(replace(case.known, unanswered=tries)))
    proved = (case.known.peg_slope if done.peg else case.known.screw_slope) is not None
    if not done.peg and proved and tries > SCREW_ENDS_AFTER:
        return _screw_ended(case, done.sign)
    if tries > (MOST_TRIES_PROVED if proved else MOST_TRIES):
        return left(case, again=True)
    queue = tuple(name for name in case.others if done.peg or has_fine_tuner(name, case.settings))
    if not queue:
        return None
    turn = TuningPart.PEG if done.peg else TuningPart.FINE_TUNER
    if proved and tries == 1:  # the hand was on the right thing just now: hear the one nearest to breaking
        queue = (max(queue, key=lambda name: share_after(case, name, turn, done.told)),)
    return ask_others(case, queue, Why.NOTHING_MOVED)


def ask_others(case: Case, queue: tuple[str, ...], why: Why) -> Outcome:
    """Have the other strings plucked, one by one."""
    lesson = replace(case.lesson, others=Others(why, queue))
    return no_turn(replace(case, lesson=lesson), Say.PLUCK_OTHERS, queue[0])


def _screw_ended(case: Case, sign: int) -> Outcome:
    """The fine tuner is at its end: a child leaves it to a grown-up, who goes on with the peg.

    One that is screwed right down is backed out first.
    """
    known = replace(case.known, screw_ended=sign, unanswered=0)
    case = replace(case, lesson=replace(case.lesson.knowing(known), turned=None))
    if not case.grown_up:
        return left(case, again=True)
    return back_out(case) if sign > 0 else turn_for(case)
