"""From what a lesson knows to what the coach shows: answer, number, and the strings' marks."""

from device.config.settings import Settings
from device.instrument.frozen import replace
from device.instrument.strung import Strung
from device.lesson.advice import Advice
from device.lesson.evidence import Context, Outcome
from device.lesson.memory import Known, Lesson
from device.lesson.state import Coach, Mark, Phase, StringState
from dsp import Cents, Seconds, cents


def instrument_of(coach: Coach) -> Strung:
    """What is strung; a lesson that was begun always has it."""
    if coach.memory.strung is None:
        raise ValueError("this lesson was never begun; start one with its settings")
    return coach.memory.strung


def now_of(coach: Coach, settings: Settings, at: Seconds) -> Context:
    """What everything is judged by at this moment."""
    return Context(instrument_of(coach), settings, coach.watch, at, settings.tolerance.cents)


def shown(  # noqa: PLR0913 - everything that a new picture is made of
    coach: Coach,
    outcome: Outcome,
    lesson: Lesson,
    at: Seconds,
    settings: Settings,
    *,
    decided: Advice | None = None,
) -> Coach:
    """The coach showing something new."""
    number, error = number_of(lesson, outcome.shows, instrument_of(coach))
    string = outcome.string or coach.string
    moved = string != coach.string or outcome.phase is Phase.WAITING
    memory = replace(
        coach.memory,
        lesson=lesson,
        decided=decided,
        asked_at=at if moved and decided is None else coach.memory.asked_at,
    )
    return replace(
        coach,
        phase=outcome.phase,
        string=string,
        since=at,
        strings=states(lesson, now_of(coach, settings, at)),
        cents=number,
        std_error_cents=error,
        advice=outcome.advice,
        memory=memory,
    )


def number_of(lesson: Lesson, name: str | None, strung_: Strung) -> tuple[Cents | None, Cents | None]:
    """How far off a string was heard, and the standard error; None where there is none to say."""
    known = lesson.of(name) if name else None
    if known is None or known.hz is None:
        return None, None
    return strung_.off(known.hz, known.name), known.error


def states(lesson: Lesson, now: Context) -> tuple[StringState, ...]:
    """How each string stands, for the strip along the bottom."""
    return tuple(_state(known, now) for known in lesson.known)


def _state(known: Known, now: Context) -> StringState:
    mark = Mark.TO_DO
    if known.left or known.struck:
        mark = Mark.GROWN_UP
    elif now.right(known):
        mark = Mark.RIGHT
    elif known.was_right:
        mark = Mark.DRIFTED
    target = now.strung.of(known.name).target_hz
    first = None if known.first_hz is None else cents(known.first_hz, target)
    return StringState(known.name, mark, first, None if known.hz is None else now.off(known))
