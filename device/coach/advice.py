"""What to say to one reading, seen by itself.

`advise` knows nothing of earlier readings: no other string was heard, so each may stand 200 cents
above its target, and nothing is known of what a turn does. It asks for a turn under the very rules of
the lesson; what the lesson asks only after a second pluck, or after a proof, it leaves to a teacher.
"""

import math
from dataclasses import replace

from device.coach.case import MOST_DOUBT, Case, heard_at
from device.coach.memory import Known, Lesson
from device.coach.stop import stop
from device.coach.tuned import in_tune, sure_of_side, turn_advice
from device.coach.turns import turn_for
from device.config.settings import Settings
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.state import Advice, Say
from dsp import Cents, Seconds, shifted

LONE_BELOW = Cents(-100.0)  # a lone reading further below its place may be an octave or a fifth misread
FARTHEST = 6000.0  # cents; five octaves off is no reading of this string


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

    Returns
    -------
    the advice; a string left for a grown-up says in its direction and rotation how to turn the peg,
    though it asks for no turn
    """
    numbers = (cents, std_error_cents, octave_doubt)
    if not all(math.isfinite(n) for n in numbers) or abs(cents) > FARTHEST or string not in settings.targets:
        return Advice(Say.PLUCK_AGAIN)
    case = _lone(string, cents, std_error_cents, octave_doubt, settings)
    near_breaking = stop(case)
    if near_breaking is not None:
        return near_breaking.advice
    if octave_doubt > MOST_DOUBT:
        return Advice(Say.PLUCK_AGAIN)
    if not case.in_place(string) or cents < LONE_BELOW:
        other = case.nearest
        far = other == string or not case.in_place(other)
        return Advice(Say.ASK_TEACHER) if far else Advice(Say.OTHER_STRING, string=string, heard=other)
    return _near(case)


def _lone(string: str, off: Cents, std_error: Cents, doubt: float, settings: Settings) -> Case:
    """A case without a lesson before it."""
    lesson = Lesson(known=tuple(Known(s.name) for s in settings.strings))
    return Case(
        settings,
        string,
        lesson,
        Seconds(0.0),
        shifted(settings.targets[string], off),
        std_error,
        doubt,
        drift_cents_per_s=0.0,
        level_dbfs=0.0,
        still=True,
        gap_s=None,
        others_heard=tuple(settings.targets),
    )


def _near(case: Case) -> Advice:
    """The advice for a reading near its place."""
    if in_tune(case.cents, case.std_error_cents, case.settings):
        return Advice(Say.RIGHT)
    if not sure_of_side(case.cents, case.std_error_cents):
        return Advice(Say.PLUCK_AGAIN)
    advice = turn_for(heard_at(case, case.string)).advice
    if advice.turn is not TuningPart.NONE:
        return advice
    if case.grown_up:
        return Advice(Say.ASK_TEACHER)
    direction = Direction.TIGHTEN if case.cents < 0 else Direction.LOOSEN
    return replace(
        turn_advice(case.string, TuningPart.PEG, direction, None, case.settings),
        say=Say.GROWN_UP,
        turn=TuningPart.NONE,
    )
