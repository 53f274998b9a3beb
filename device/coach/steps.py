"""What the entries of the transition table do: small functions from coach and event to coach."""

import math
from dataclasses import replace

from device.coach.case import Case, Outcome
from device.coach.follow import followed
from device.coach.memory import Lesson
from device.coach.once import targets_of
from device.coach.rounds import marked
from device.coach.verdict import verdict
from device.config.settings import Settings
from device.events import Heard
from device.lesson.state import Coach, Mark, Phase, StringState
from dsp import Cents, Hz, Seconds, cents

SETTLED_AFTER = Seconds(0.15)  # a plucked string starts sharp; before this no reading counts
STILL_FOR = Seconds(0.3)  # so long the pitch must have stood still to be called right
STILL_WITHIN = 3.0  # cents a second that count as standing still
DANCES = Cents(0.75)  # a number moved by less within one sounding teaches nothing
SURER = 0.5  # unless its standard error shrank to so much
LOWEST, HIGHEST = Hz(5.0), Hz(20000.0)  # beyond these nothing is the pitch of a string


def sounding(coach: Coach, pluck: int, at: Seconds) -> Coach:
    """A new sounding: what it shows is judged against what was known before it."""
    memory = coach.memory
    gap = None if memory.sounded_at is None else Seconds(at - memory.sounded_at)
    memory = replace(memory, pluck=pluck, sounded_at=at, gap_s=gap, steady_since=None, before=memory.lesson)
    return replace(coach, memory=memory)


def counts(coach: Coach, event: Heard) -> bool:
    """Whether a reading may be used: numbers, settled, of a sounding begun after the asking."""
    numbers = (
        event.at,
        event.std_error_cents,
        event.octave_doubt,
        event.drift_cents_per_s,
        event.level_dbfs,
        event.since_pluck_s,
    )
    asked_at = coach.memory.asked_at
    return (
        all(math.isfinite(number) for number in numbers)
        and LOWEST <= event.frequency_hz <= HIGHEST
        and event.std_error_cents >= 0.0
        and event.since_pluck_s >= SETTLED_AFTER
        and (
            event.pluck == coach.memory.pluck
            or asked_at is None
            or event.at - event.since_pluck_s >= asked_at
        )
    )


def judged(coach: Coach, event: Heard, settings: Settings) -> Coach:
    """A reading that counts: what is shown and said after it."""
    if event.pluck != coach.memory.pluck:
        coach = sounding(coach, event.pluck, Seconds(event.at - event.since_pluck_s))
    coach = followed(_steadied(coach, event), event, settings)
    outcome = verdict(_case(coach, event, settings))
    return _shown(coach, event, outcome, settings)


def _steadied(coach: Coach, event: Heard) -> Coach:
    """Remember since when the pitch has stood still."""
    still = abs(event.drift_cents_per_s) < STILL_WITHIN
    since = coach.memory.steady_since if coach.memory.steady_since is not None else event.at
    return replace(coach, memory=replace(coach.memory, steady_since=since if still else None))


def _case(coach: Coach, event: Heard, settings: Settings) -> Case:
    since = coach.memory.steady_since
    return Case(
        settings,
        coach.string,
        coach.memory.before,
        event.at,
        event.frequency_hz,
        event.std_error_cents,
        event.octave_doubt,
        event.drift_cents_per_s,
        event.level_dbfs,
        still=since is not None and event.at - since >= STILL_FOR,
        gap_s=coach.memory.gap_s,
        shown=coach.advice if _judged_before(coach) else None,
    )


def _judged_before(coach: Coach) -> bool:
    """Whether the sounding has had a verdict already."""
    return coach.memory.lesson is not coach.memory.before


def _shown(coach: Coach, event: Heard, outcome: Outcome, settings: Settings) -> Coach:
    """The coach after a verdict."""
    lesson = replace(outcome.lesson, like_hz=event.frequency_hz, like_level=event.level_dbfs)
    if outcome.mark is not Mark.GROWN_UP:
        lesson = replace(lesson, left_last=None)
    lesson = _still_at_risk(coach.memory.lesson, lesson)
    number, error = _at_rest(coach, outcome.shown, event.std_error_cents)
    same = outcome.phase is coach.phase and outcome.advice.say is coach.advice.say
    strings = coach.strings
    if outcome.mark is not None:
        strings = marked(strings, coach.string, outcome.mark)
    elif outcome.phase is Phase.GUIDING and outcome.shown is not None:
        strings = marked(strings, coach.string, _off_mark(lesson, coach.string))
    return replace(
        coach,
        phase=outcome.phase,
        since=coach.since if same else event.at,
        strings=tuple(_measured(s, lesson, settings) for s in strings),
        cents=number,
        std_error_cents=error,
        advice=outcome.advice,
        memory=replace(coach.memory, lesson=lesson),
    )


def _at_rest(coach: Coach, new: Cents | None, error: Cents) -> tuple[Cents | None, Cents | None]:
    """The number to show: within one sounding it moves only when it has to, or grows surer."""
    old, old_error = coach.cents, coach.std_error_cents
    if new is None:
        return None, None
    if old is None or old_error is None or not _judged_before(coach):
        return new, error
    rests = abs(new - old) <= DANCES and error > SURER * old_error
    return (old, old_error) if rests else (new, error)


def _off_mark(lesson: Lesson, string: str) -> Mark:
    return Mark.DRIFTED if lesson.of(string).was_right else Mark.TO_DO


def _still_at_risk(shown: Lesson, new: Lesson) -> Lesson:
    """A turn shown earlier in this sounding may have been done: for other strings it still counts."""
    if new.turned is not None or shown.turned is None or shown.turned.sign < 0:
        return new
    known = tuple(
        replace(
            k,
            unheard_peg=max(k.unheard_peg, shown.of(k.name).unheard_peg),
            unheard_screw=max(k.unheard_screw, shown.of(k.name).unheard_screw),
        )
        if k.name != shown.turned.string
        else k
        for k in new.known
    )
    return replace(new, known=known)


def _measured(string: StringState, lesson: Lesson, settings: Settings) -> StringState:
    known = lesson.of(string.name)
    if known.hz is None or known.first_hz is None:
        return string
    target = targets_of(settings)[string.name]
    first, last = cents(known.first_hz, target), cents(known.hz, target)
    if (first, last) == (string.first_cents, string.last_cents):
        return string
    return replace(string, first_cents=first, last_cents=last)
