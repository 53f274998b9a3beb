"""What a turn may do to every string whose peg or screw could be in the hand.

The hand may be on another thing than the one asked for, and may turn twice as far.
"""

from device.coach.case import Case
from device.coach.limits import NEAR
from device.coach.memory import Known
from device.coach.turning import worst_share
from device.coach.ways import has_fine_tuner
from device.instrument.tuning_parts import TuningPart


def endangered(case: Case, turn: TuningPart, degrees: float) -> tuple[str, ...]:
    """The strings that might pass their limit if the hand is on the wrong thing."""
    return tuple(
        name
        for name in (case.string, *case.others)
        if (turn is TuningPart.PEG or has_fine_tuner(name, case.settings))
        and share_after(case, name, turn, degrees) >= NEAR
    )


def share_after(case: Case, name: str, turn: TuningPart, degrees: float) -> float:
    """Share of its breaking load on `name` if the hand is on its peg or screw, all turned twice over."""
    known = case.lesson.of(name)
    peg, screw = (degrees, 0.0) if turn is TuningPart.PEG else (0.0, degrees)
    if name != case.string:  # the reading has in it whatever was turned of the string asked for
        peg, screw = peg + known.unheard_peg, screw + known.unheard_screw
    hz = case.hz if name == case.string else case.highest(name)
    return worst_share(name, hz, peg, screw, case.settings)


def unheard(case: Case, names: tuple[str, ...]) -> tuple[str, ...]:
    """Those of `names` that may stand lower than has to be reckoned with: hearing them would tell."""
    return tuple(
        name
        for name in names
        if name != case.string and name not in case.others_heard and _guessed(case.lesson.of(name))
    )


def _guessed(known: Known) -> bool:
    return known.hz is None or known.unheard_peg > 0.0 or known.unheard_screw > 0.0


def may_rise(case: Case, turn: TuningPart, degrees: float) -> bool:
    """Whether the string would stay below its limit if the hand turned the wrong way round."""
    return share_after(case, case.string, turn, degrees) < NEAR
