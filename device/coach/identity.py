"""Which string is really sounding.

A string is taken for the one asked for when its pitch lies nearest to it, at most 150 cents below and
250 above. Anything else asks for no turn: turning for one string while plucking another is one of the
two great ways to break a string. Far from its place a string is told by a roll call: all are plucked,
each twice as pictured; pitches that repeat and differ, all but one of them in their places, leave
only one string for the last one.
"""

from dataclasses import replace

from device.coach.case import MOST_DOUBT, PLACE_BELOW, Case, Outcome, heard_at, left, no_turn
from device.coach.memory import Proof, RollCall
from device.coach.tuned import FINE_REACH
from device.lesson.state import Say
from dsp import Hz, cents

REPEATED_WITHIN = 10.0  # cents; the two plucks of a roll call agree so well
APART = 30.0  # cents; nearer pitches may be one and the same string
PLUCKS_EACH = 2
MOST_ROLLS = 5  # roll calls for one string before it is left
MOST_CHECKS = 2  # times the strings in doubt are asked for again at its end
MOST_REPEATS = 8  # plucks asked for again before the roll call is given up
STRANGE_NEAR_OTHER = 3  # alike plucks near another open string before the roll call
STRANGE_FAR = 2  # alike plucks far from every open string
ODD = 5  # plucks that were not the string asked for, alike or not, since it was asked for
FARTHEST_LONE = 100.0  # cents below its place; more takes two like plucks


def doubtful(case: Case) -> Outcome | None:
    """The octave is in doubt: pluck again, and nothing is learned."""
    if case.octave_doubt <= MOST_DOUBT:
        return None
    if case.lesson.others is not None:
        return no_turn(case, Say.PLUCK_OTHERS, case.lesson.others.queue[0])
    if case.lesson.roll is not None:
        return no_turn(case, Say.PLUCK_ALL, case.lesson.roll.plan[0])
    return no_turn(case, Say.PLUCK_AGAIN)


def roll_call(case: Case) -> Outcome | Case | None:
    """One more pluck of a roll call under way; two plucks of each string must agree."""
    roll = case.lesson.roll
    if roll is None:
        return None
    name, rest = roll.plan[0], roll.plan[1:]
    before = [hz for other, hz in roll.heard if other == name]
    agrees = any(abs(cents(case.hz, hz)) <= REPEATED_WITHIN for hz in before)
    kept = tuple(pair for pair in roll.heard if not (agrees and pair[0] == name))
    roll = replace(roll, plan=rest, heard=(*kept, (name, case.hz)))
    if before and not agrees:
        if roll.repeats >= MOST_REPEATS:
            return left(case, again=True)
        roll = replace(roll, plan=(name, *rest), repeats=roll.repeats + 1)
    return _calling(case, roll) if roll.plan else _concluded(case, roll)


def _calling(case: Case, roll: RollCall) -> Outcome:
    return no_turn(replace(case, lesson=replace(case.lesson, roll=roll)), Say.PLUCK_ALL, roll.plan[0])


def _again(case: Case, roll: RollCall, names: tuple[str, ...]) -> Outcome:
    """Ask for `names` again, or give up."""
    if roll.repeats >= MOST_REPEATS:
        return left(case, again=True)
    heard = tuple(pair for pair in roll.heard if pair[0] not in names)
    plan = tuple(name for name in names for _ in range(PLUCKS_EACH))
    return _calling(case, replace(roll, plan=plan, heard=heard, repeats=roll.repeats + 1))


def _concluded(case: Case, roll: RollCall) -> Outcome | Case:
    """What a finished roll call says; the string asked for came last, so it may be turned at once."""
    pitches = dict(roll.heard)
    in_doubt = _in_doubt(case, pitches)
    if in_doubt and roll.checks < MOST_CHECKS:  # a slip of the finger is likelier than two slack strings
        return _again(case, replace(roll, checks=roll.checks + 1), in_doubt)
    lesson = replace(case.lesson, roll=None)
    case = replace(case, lesson=lesson)
    if in_doubt:
        return left(case, again=case.lesson.round == 0)
    for name, hz in pitches.items():
        case = heard_at(replace(case, hz=hz), name)
    hz = pitches[case.string]
    lesson = replace(case.lesson, proof=Proof(case.string, hz, hz), strange=0, odd=0)
    return replace(case, hz=hz, lesson=lesson)


def _in_doubt(case: Case, pitches: dict[str, Hz]) -> tuple[str, ...]:
    """The strings that stand in the way of a proof: out of their places, or like another one."""
    return tuple(
        name
        for name, hz in pitches.items()
        if (name != case.string and abs(cents(hz, case.targets[name])) > PLACE_BELOW)
        or any(abs(cents(hz, h)) <= APART for n, h in pitches.items() if n != name)
    )


def strange(case: Case) -> Outcome | Case | None:
    """Not the string asked for, as far as can be told."""
    if case.proved or case.in_place(case.string):
        return replace(case, lesson=replace(case.lesson, strange=0, odd=0))
    alike = case.lesson.strange + 1 if case.like_before else 1
    lesson = replace(case.lesson, strange=alike, odd=case.lesson.odd + 1)
    if case.like_before:  # one odd pluck may be a slip of the finger or misread; two alike end a proof
        lesson = replace(lesson, proof=None)
    case = replace(case, lesson=lesson)
    other = case.nearest if case.nearest != case.string and case.in_place(case.nearest) else None
    if other is not None and case.off(other) > PLACE_BELOW:
        other = None
    near = other is not None and lesson.rolls == 0
    if lesson.strange < (STRANGE_NEAR_OTHER if near else STRANGE_FAR) and lesson.odd < ODD:
        return no_turn(case, Say.OTHER_STRING, case.string, heard=other)
    if not case.grown_up or lesson.rolls >= MOST_ROLLS:
        return left(case, again=case.known.hz is None or lesson.rolls >= MOST_ROLLS)
    roll = _called(case)
    return _calling(replace(case, lesson=replace(lesson, rolls=lesson.rolls + 1)), roll)


def _called(case: Case) -> RollCall:
    """A new roll call, the string asked for last.

    Each string is plucked twice; where one was heard in its place before, that pluck is the first.
    """
    heard, plan = [], []
    for name in (s.name for s in case.settings.strings if s.name != case.string):
        known = case.lesson.of(name)
        if known.hz is not None and abs(cents(known.hz, case.targets[name])) <= PLACE_BELOW:
            heard.append((name, known.hz))
            plan.append(name)
        else:
            plan += [name] * PLUCKS_EACH
    return RollCall((*plan, *[case.string] * PLUCKS_EACH), tuple(heard))


def unlike(case: Case) -> Outcome | None:
    """A pitch that may be misread is believed on two like plucks only.

    It may be when nothing explains it, or when a string never heard before is out of a fine tuner's
    reach: a slack string, heard an octave or a fifth too high, comes out somewhere near its place.
    """
    if case.proved or case.like_before:
        return None
    far = -case.cents > FARTHEST_LONE or (case.known.hz is None and abs(case.cents) > FINE_REACH)
    return no_turn(case, Say.PLUCK_AGAIN) if far or not case.explained else None
