"""STOP, the first rule of all: a string is near breaking, or the next turn may take it there."""

from dataclasses import replace

from device.coach.case import PLACE_ABOVE, PLACE_BELOW, UNTURNED, Case, Outcome, heard_at, warned
from device.coach.limits import NEAR, PACE, highest_hz, limit_hz, load_share
from device.coach.turning import degrees_of, worst_share
from device.instrument.tuning_parts import Amount, TuningPart
from device.lesson.state import Alarm, Mark
from dsp import Cents, cents

HEARD_IN_PLACE = Cents(100.0)  # a string heard so near to its place surely is that one


def stop(case: Case) -> Outcome | None:
    """Near the breaking load of the string asked for, or of the one it sounds like.

    What was found out so far is kept: one misread pluck must not undo a proof.
    """
    if _near_breaking(case, case.string) or _running_away(case) or _next_may_break(case):
        searching = case.lesson.roll is not None or case.lesson.others is not None
        explained = case.explained and not searching  # else it may be another string, misread
        return _stopped(case, case.string, sure=case.like_before or explained)
    name = case.nearest
    if case.proved or not _near_breaking(case, name) or not _may_have_risen(case, name):
        return None
    return _stopped(case, name, sure=case.like_before)


def _stopped(case: Case, name: str, *, sure: bool) -> Outcome:
    """STOP; a pitch that may be misread is not taken for the string's: it has to be heard again."""
    if sure:
        mark = Mark.GROWN_UP if name == case.string and case.like_before else None
        return replace(warned(heard_at(case, name), Alarm.STOP), mark=mark)
    unknown = replace(case.lesson.of(name), hz=None)
    return warned(replace(case, lesson=case.lesson.knowing(unknown)), Alarm.STOP)


def _near_breaking(case: Case, name: str) -> bool:
    if not limit_hz(name, case.settings) <= case.hz <= highest_hz(name, case.settings):
        return False
    return not any(_may_be(case, other) for other in case.targets if other != name)


def _may_be(case: Case, name: str) -> bool:
    """Whether this may be `name`: in its place, or, when it was not turned since, where it was heard."""
    known, others = case.lesson.of(name), case.lesson.others
    if known.hz is None and others is not None and others.queue[0] == name:
        return True  # it is being asked for, and nobody knows how slack it is
    if known.hz is None or known.unheard_peg > 0.0 or known.unheard_screw > 0.0:
        return -PLACE_BELOW <= case.off(name) <= PLACE_ABOVE
    return abs(cents(case.hz, known.hz)) <= UNTURNED


def _running_away(case: Case) -> bool:
    """Whether the string asked for rose so far since the last pluck that another such step is too much."""
    before = case.known.hz or case.lesson.like_hz
    if before is None or case.hz > highest_hz(case.string, case.settings):
        return False
    others = [case.targets[name] for name in case.others]
    if any(abs(cents(hz, other)) <= HEARD_IN_PLACE for hz in (before, case.hz) for other in others):
        return False  # another string was plucked, then or now
    now = load_share(case.string, case.hz, case.settings)
    step = now - load_share(case.string, before, case.settings)
    return step > PACE and now + step >= NEAR


def _next_may_break(case: Case) -> bool:
    """Whether it is too sharp for any turn, and one more long turn of its peg may take it near breaking."""
    if case.cents <= PLACE_ABOVE or case.hz > highest_hz(case.string, case.settings):
        return False
    if any(_may_be(case, other) for other in case.others):
        return False
    told = degrees_of(TuningPart.PEG, case.settings)[Amount.MORE]
    return worst_share(case.string, case.hz, told, 0.0, case.settings) >= NEAR


def _may_have_risen(case: Case, name: str) -> bool:
    """Whether `name` may sound so high: never heard, high already, or perhaps turned since."""
    known = case.lesson.of(name)
    if known.hz is None or known.unheard_peg > 0.0 or known.unheard_screw > 0.0:
        return True
    return cents(case.hz, known.hz) <= PLACE_ABOVE
