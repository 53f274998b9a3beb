"""By ear first: the reading stays hidden until the player has decided.

Only what tells how far off the string is gets hidden, and what would be guessed from it: a turn, or
that it is right. Warnings, and all that keeps a string from harm, are shown as always.
"""

from dataclasses import replace

from device.coach.state import Advice, Coach, Mark, Phase, Say

_TELLS = frozenset({Say.TURN, Say.TURN_ON, Say.COME_UP, Say.RIGHT, Say.PLUCK_AGAIN})
"""Advice that gives the reading away. What is not listed (other string, wrong peg, slipped peg, a
fine tuner at its end, wait, grown-up, teacher) is about harm or about the wrong string."""


def tells(coach: Coach) -> bool:
    """Whether what is shown would give the reading away."""
    return coach.advice.warning is None and (coach.cents is not None or coach.advice.say in _TELLS)


def hidden(coach: Coach) -> Coach:
    """The lesson as the player sees it: no reading, no turn, and the string still to do."""
    if coach.advice.warning is not None or coach.phase is Phase.FINISHED:
        return coach
    shown = replace(coach, cents=None, std_error_cents=None)
    if coach.advice.say not in _TELLS:
        return shown
    strings = tuple(
        replace(string, mark=Mark.TO_DO, last_cents=None) if string.name == coach.string else string
        for string in coach.strings
    )
    phase = Phase.LISTENING if coach.phase in {Phase.GUIDING, Phase.RIGHT} else coach.phase
    return replace(shown, phase=phase, strings=strings, advice=Advice())
