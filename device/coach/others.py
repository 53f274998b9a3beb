"""The other strings are plucked: one of them rose, or none did."""

from dataclasses import replace

from device.coach.asks import loosen_back
from device.coach.case import Case, Outcome, heard_at, left, no_turn
from device.coach.limits import largest_size
from device.coach.memory import Others, Turned
from device.coach.turning import slope, turned
from device.coach.turns import turn_for
from device.instrument.tuning_parts import TuningPart
from device.lesson.state import Say
from dsp import Cents, Hz, cents

MOST_MISSES = 6  # plucks that were none of the strings asked for
LEAST_RISE = Cents(4.0)  # less than this is no movement
SAME_AS_HEARD = Cents(60.0)  # a string out of its place is known again by its last pitch


def plucked_others(case: Case) -> Outcome | None:
    """One more pluck while the others are asked for."""
    others = case.lesson.others
    if others is None:
        return None
    name = next((n for n in others.queue if _is(case, n)), None)
    if name is None:
        return _missed(case, others)
    done = case.lesson.turned
    before = case.lesson.of(name).hz
    case = heard_at(case, name)
    if done is not None and before is not None and _rose(case, name, before, done):
        return loosen_back(case, name, before, done)
    return _next(case, others, name)


def _next(case: Case, others: Others, name: str) -> Outcome:
    """`name` is done with: the next one, or none of them moved."""
    queue = tuple(n for n in others.queue if n != name)
    heard = (*others.heard, name)
    if queue:
        lesson = replace(case.lesson, others=replace(others, queue=queue, heard=heard))
        return no_turn(replace(case, lesson=lesson), Say.PLUCK_OTHERS, queue[0])
    return _none_moved(replace(case, lesson=replace(case.lesson, others=None, turned=None)), heard)


def _is(case: Case, name: str) -> bool:
    """Whether the reading may be taken for `name`: in its place, or where it was last heard."""
    known = case.lesson.of(name).hz
    there = known is not None and abs(cents(case.hz, known)) <= SAME_AS_HEARD
    return there or case.in_place(name)


def _rose(case: Case, name: str, before: Hz, done: Turned) -> bool:
    """Whether `name` went up by a third of what the turn would have done to it."""
    if done.sign < 0:
        return False
    turn = TuningPart.PEG if done.peg else TuningPart.FINE_TUNER
    usual = slope(name, turn, largest_size(case.settings), case.settings).usual
    would = cents(turned(name, before, done.degrees, usual, case.settings), before)
    return cents(case.hz, before) >= max(LEAST_RISE + 2.0 * case.std_error_cents, would / 3.0)


def _none_moved(case: Case, heard: tuple[str, ...]) -> Outcome:
    """None moved: the steps are cleared, and the string asked for is judged as it was last heard."""
    hz = case.known.hz
    if hz is None:
        return no_turn(case, Say.PLUCK, case.string)
    return turn_for(replace(case, hz=hz, say=Say.TURN, others_heard=heard))


def _missed(case: Case, others: Others) -> Outcome:
    """None of those asked for: perhaps the string asked for before, which may have moved by now."""
    done = case.lesson.turned
    moved = done is not None and done.sign * cents(case.hz, done.least_hz) >= 0.0
    if moved and case.explained and (case.proved or case.in_place(case.string)):
        lesson = replace(case.lesson, others=None)  # or misread: it has to be plucked when it is asked for
        return no_turn(replace(case, lesson=lesson), Say.PLUCK, case.string)
    asked_again = case.known.hz is not None and abs(cents(case.hz, case.known.hz)) <= SAME_AS_HEARD
    if case.like_before and not asked_again:  # far from its place and never heard: nothing can be said of it
        return _next(case, others, others.queue[0])
    if others.misses + 1 >= MOST_MISSES:
        return left(case, again=True)
    lesson = replace(case.lesson, others=replace(others, misses=others.misses + 1))
    return no_turn(replace(case, lesson=lesson), Say.PLUCK_OTHERS, others.queue[0])
