"""The lesson as a table: what each event does in each phase.

Every pair of phase and event is listed, "stay" included, and each entry names the phases it may
lead to; a test holds the entries to that, and the printed diagram is made from them. The coach has
no clock: each event says when it happened. `advance` is pure and never raises.
"""

from collections.abc import Callable
from dataclasses import dataclass

from device.coach import actions
from device.coach.once import targets_of
from device.coach.rounds import begun
from device.config.settings import Settings
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
from device.lesson.state import Coach, Phase
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
    return begun(settings, at)


def advance(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The lesson after `event`. Pure; never raises.

    When the settings name other strings than the lesson does, a new lesson begins.
    """
    if tuple(string.name for string in coach.strings) != tuple(targets_of(settings)):
        coach = begun(settings, event.at)
    return TABLE[coach.phase, type(event)].action(coach, event, settings)


def _entry(does: str, action: Action, *leads_to: Phase) -> Entry:
    return Entry(does, action, frozenset(leads_to))


_W, _L, _G, _R, _F = Phase.WAITING, Phase.LISTENING, Phase.GUIDING, Phase.RIGHT, Phase.FINISHED

TABLE: dict[tuple[Phase, type[LessonEvent]], Entry] = {
    (_W, Plucked): _entry("listen", actions.listen, _L),
    (_W, Heard): _entry("judge", actions.judge, _W, _L, _G, _R),
    (_W, Tick): _entry("a new pupil after 60 s", actions.begin_if_gone, _W),
    (_W, NextString): _entry("ask for the next", actions.ask_next, _W, _F),
    (_W, PreviousString): _entry("ask for the one before", actions.ask_previous, _W),
    (_W, StartOver): _entry("begin", actions.begin, _W),
    (_W, TeacherHere): _entry("lift the bar on this peg", actions.lift_bar, _W),
    (_L, Plucked): _entry("listen", actions.listen, _L),
    (_L, Heard): _entry("judge", actions.judge, _L, _G, _R),
    (_L, Tick): _entry("wait again when nothing follows", actions.stop_listening, _L, _W),
    (_L, NextString): _entry("ask for the next", actions.ask_next, _W, _F),
    (_L, PreviousString): _entry("ask for the one before", actions.ask_previous, _W),
    (_L, StartOver): _entry("begin", actions.begin, _W),
    (_L, TeacherHere): _entry("lift the bar on this peg", actions.lift_bar, _W),
    (_G, Plucked): _entry("keep the advice, listen", actions.keep_and_listen, _G),
    (_G, Heard): _entry("judge", actions.judge, _G, _L, _R, _W),
    (_G, Tick): _entry("go on from a string that is left", actions.leave_it, _G, _W, _F),
    (_G, NextString): _entry("ask for the next", actions.ask_next, _W, _F),
    (_G, PreviousString): _entry("ask for the one before", actions.ask_previous, _W),
    (_G, StartOver): _entry("begin", actions.begin, _W),
    (_G, TeacherHere): _entry("lift the bar on this peg", actions.lift_bar, _W),
    (_R, Plucked): _entry("ask for the next, listen", actions.go_on_and_listen, _R, _L, _F),
    (_R, Heard): _entry("stay, unless surely off", actions.judge_if_off, _R, _G, _L, _W),
    (_R, Tick): _entry("ask for the next", actions.move_on, _R, _W, _F),
    (_R, NextString): _entry("ask for the next", actions.ask_next, _W, _F),
    (_R, PreviousString): _entry("ask for the one before", actions.ask_previous, _W),
    (_R, StartOver): _entry("begin", actions.begin, _W),
    (_R, TeacherHere): _entry("stay", actions.stay, _R),
    (_F, Plucked): _entry("stay", actions.stay, _F),
    (_F, Heard): _entry("stay", actions.stay, _F),
    (_F, Tick): _entry("a new pupil after 20 s", actions.begin_after_end, _F, _W),
    (_F, NextString): _entry("begin", actions.begin, _W),
    (_F, PreviousString): _entry("ask for the last again", actions.ask_again, _W),
    (_F, StartOver): _entry("begin", actions.begin, _W),
    (_F, TeacherHere): _entry("ask for the first that is left", actions.lift_bar, _F, _W),
}
