"""The lesson as a table: what each event does in each phase.

Every pair of phase and event is listed, "stay" included, and each entry names the phases it may
lead to; a test holds the entries to that, and the printed diagram is made from them. The coach has
no clock: each event says when it happened. `advance` is pure and never raises.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from device.coach import steps
from device.coach.state import Coach, Phase
from device.events import (
    Heard,
    LessonEvent,
    NextString,
    Plucked,
    PreviousString,
    StartOver,
    TeacherHere,
    Tick,
)
from device.settings import Settings
from dsp import Seconds

Action = Callable[[Coach, LessonEvent, Settings], Coach]


@dataclass(frozen=True, slots=True)
class Entry:
    """One cell of the table: what is done, and which phases may follow."""

    does: str  # for the diagram
    action: Action
    leads_to: frozenset[Phase]


def start(settings: Settings, at: Seconds) -> Coach:
    """A lesson at its beginning: the first string of the order is asked for."""
    return steps.begun(settings, at)


def advance(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The lesson after `event`. Pure; never raises."""
    entry = TABLE.get((coach.phase, type(event)))
    if entry is None or coach.string not in settings.targets:
        return coach if entry is None else steps.begun(settings, event.at)
    return entry.action(coach, event, settings)


def _stay(coach: Coach, _event: LessonEvent, _settings: Settings) -> Coach:
    return coach


def _listen(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    if not isinstance(event, Plucked):
        return coach
    heard = steps.sounding(coach, event)
    return replace(heard, phase=Phase.LISTENING, since=event.at, cents=None, std_error_cents=None)


def _keep_listening(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    return steps.sounding(coach, event) if isinstance(event, Plucked) else coach


def _judge(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    if not isinstance(event, Heard) or not steps.counts(coach, event):
        return coach
    return steps.judged(steps.steadied(coach, event), event, settings)


def _next(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    return steps.moved(coach, +1, settings, event.at)


def _previous(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    return steps.moved(coach, -1, settings, event.at)


def _last_again(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    return steps.asked(coach, coach.string, event.at)


def _begin(_coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    return steps.begun(settings, event.at)


def _begin_if_gone(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    last = coach.since if coach.memory.sounded_at is None else coach.memory.sounded_at
    gone = event.at - max(last, coach.since) >= steps.PUPIL_GONE_AFTER
    return steps.begun(settings, event.at) if gone else coach


def _begin_after_end(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    return steps.begun(settings, event.at) if event.at - coach.since >= steps.END_SHOWN_FOR else coach


def _move_on(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    if settings.move_on and event.at - coach.since >= steps.SHOW_RIGHT_FOR:
        return steps.moved(coach, +1, settings, event.at)
    return _begin_if_gone(coach, event, settings)


def _entry(does: str, action: Action, *leads_to: Phase) -> Entry:
    return Entry(does, action, frozenset(leads_to))


_W, _L, _G, _R, _F = Phase.WAITING, Phase.LISTENING, Phase.GUIDING, Phase.RIGHT, Phase.FINISHED
_JUDGED = (_L, _G, _R)

TABLE: dict[tuple[Phase, type[LessonEvent]], Entry] = {
    (_W, Plucked): _entry("listen", _listen, _L),
    (_W, Heard): _entry("judge", _judge, _W, *_JUDGED),
    (_W, Tick): _entry("a new pupil after 60 s", _begin_if_gone, _W),
    (_W, NextString): _entry("ask for the next", _next, _W, _F),
    (_W, PreviousString): _entry("ask for the one before", _previous, _W),
    (_W, StartOver): _entry("begin", _begin, _W),
    (_W, TeacherHere): _entry("stay", _stay, _W),
    (_L, Plucked): _entry("listen", _listen, _L),
    (_L, Heard): _entry("judge", _judge, *_JUDGED),
    (_L, Tick): _entry("a new pupil after 60 s", _begin_if_gone, _L, _W),
    (_L, NextString): _entry("ask for the next", _next, _W, _F),
    (_L, PreviousString): _entry("ask for the one before", _previous, _W),
    (_L, StartOver): _entry("begin", _begin, _W),
    (_L, TeacherHere): _entry("stay", _stay, _L),
    (_G, Plucked): _entry("keep the advice, listen", _keep_listening, _G),
    (_G, Heard): _entry("judge", _judge, *_JUDGED),
    (_G, Tick): _entry("a new pupil after 60 s", _begin_if_gone, _G, _W),
    (_G, NextString): _entry("ask for the next", _next, _W, _F),
    (_G, PreviousString): _entry("ask for the one before", _previous, _W),
    (_G, StartOver): _entry("begin", _begin, _W),
    (_G, TeacherHere): _entry("stay", _stay, _G),
    (_R, Plucked): _entry("keep showing it, listen", _keep_listening, _R),
    (_R, Heard): _entry("judge", _judge, _R, _G, _L),
    (_R, Tick): _entry("move on", _move_on, _R, _W, _F),
    (_R, NextString): _entry("ask for the next", _next, _W, _F),
    (_R, PreviousString): _entry("ask for the one before", _previous, _W),
    (_R, StartOver): _entry("begin", _begin, _W),
    (_R, TeacherHere): _entry("stay", _stay, _R),
    (_F, Plucked): _entry("stay", _stay, _F),
    (_F, Heard): _entry("stay", _stay, _F),
    (_F, Tick): _entry("a new pupil after 20 s", _begin_after_end, _F, _W),
    (_F, NextString): _entry("begin", _begin, _W),
    (_F, PreviousString): _entry("ask for the last again", _last_again, _W),
    (_F, StartOver): _entry("begin", _begin, _W),
    (_F, TeacherHere): _entry("stay", _stay, _F),
}
