"""A reading becomes advice: the rules in their order, the first that applies.

STOP comes first, then another instrument, a doubt about the octave, whatever the coach is in the
middle of finding out, which string it is, whether it is right, too fast, what the last turn did, and
only then a new turn.
"""

from collections.abc import Callable
from dataclasses import replace

from device.coach.answers import answered, unanswered, wrong_way
from device.coach.asks import settled
from device.coach.case import Case, Outcome, heard_at, no_turn, proof_at
from device.coach.danger import another_instrument, another_reference, slowly
from device.coach.identity import doubtful, roll_call, strange, unlike
from device.coach.others import plucked_others
from device.coach.stop import stop
from device.coach.tuned import in_tune, sure_of_side
from device.coach.turns import turn_for
from device.config.settings import Tolerance
from device.lesson.state import Advice, Mark, Phase, Say

Rule = Callable[[Case], Outcome | Case | None]


def right(case: Case) -> Outcome | None:
    """In tune with everything unsure about it; until it has stood still, only listened to."""
    if not in_tune(case.cents, case.std_error_cents, case.settings):
        return None
    if not case.explained and not case.like_before:  # a misread fifth lands in the right place, too
        return no_turn(case, Say.PLUCK_AGAIN)
    noted = heard_at(case, case.string)
    moved = answered(noted)  # then it was this thing that was turned, and no other
    noted = moved if isinstance(moved, Case) else noted
    if not case.still:
        return Outcome(noted.lesson, Advice(), Phase.LISTENING, shown=case.cents)
    lesson = replace(settled(noted.lesson, case.string), proof=proof_at(case))
    return Outcome(lesson, Advice(Say.RIGHT, string=case.string), Phase.RIGHT, Mark.RIGHT, case.cents)


def unsure(case: Case) -> Outcome | None:
    """Flat or sharp is not certain, or too unsure for the fine tolerance: pluck again."""
    fine = case.settings.tolerance is Tolerance.FINE
    inside = abs(case.cents) <= case.settings.tolerance.cents
    too_unsure = fine and inside and 4.0 * case.std_error_cents > case.settings.tolerance.cents
    if sure_of_side(case.cents, case.std_error_cents) and not too_unsure:
        return None
    return replace(no_turn(case, Say.PLUCK_AGAIN), shown=case.cents)


def noted(case: Case) -> Case:
    """From here on the reading is of the string asked for, and all its turning is in it."""
    return heard_at(case, case.string)


RULES: tuple[Rule, ...] = (
    stop,
    doubtful,
    roll_call,
    plucked_others,
    another_instrument,
    strange,
    another_reference,
    right,
    unsure,
    unlike,
    slowly,
    noted,
    answered,
    wrong_way,
    unanswered,
    turn_for,
)


def verdict(case: Case) -> Outcome:
    """What this reading deserves. The last rule always answers."""
    for rule in RULES:
        answer = rule(case)
        if isinstance(answer, Outcome):
            return answer
        case = case if answer is None else answer
    raise AssertionError("turn_for answers every case")
