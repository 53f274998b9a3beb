"""The lesson as a table: what each event does in each task.

Every pair of task and event is listed, "stay" included, and each entry names the tasks that it may lead
to; a test holds the entries to that, and the printed table is made from them. The lesson has no clock:
each event says when it happened. `advance` is pure and never raises.
"""

from collections.abc import Callable
from dataclasses import dataclass

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
from device.lesson import actions, judging
from device.lesson.memory import (
    Asking,
    Finished,
    HearingOthers,
    ShowingLeft,
    ShowingRight,
    Surveying,
    Task,
    TellingApart,
    Tuning,
)
from device.lesson.state import Coach

LessonAction = Callable[[Coach, LessonEvent, Settings], Coach]


@dataclass(frozen=True, slots=True)
class Entry:
    """One cell of the table: what is done, and which tasks may follow."""

    does: str  # for the page
    action: LessonAction
    leads_to: frozenset[type[Task]]


def advance_lesson(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The lesson after `event`, as yet unchecked by the monitor. Pure; never raises.

    When the settings name another instrument than the lesson does, a new lesson begins.
    """
    if tuple(string.name for string in coach.strings) != tuple(s.name for s in settings.strings):
        coach = judging.begun(settings, event.at)
    return TABLE[type(coach.memory.lesson.task), type(event)].action(coach, event, settings)


def _entry(does: str, action: LessonAction, *leads_to: type[Task]) -> Entry:
    return Entry(does, action, frozenset(leads_to))


_S, _T, _O, _D, _R, _L, _A, _F = (
    Surveying,
    Tuning,
    HearingOthers,
    TellingApart,
    ShowingRight,
    ShowingLeft,
    Asking,
    Finished,
)
_NEXT = (_S, _T, _O, _L, _F)  # whatever the plan has next
_ANY = (_S, _T, _O, _D, _R, _L, _A, _F)

TABLE: dict[tuple[type[Task], type[LessonEvent]], Entry] = {
    (_S, Plucked): _entry("listen", judging.listen, _S, _F),
    (_S, Heard): _entry("note which string it is", judging.judge, _S, _T, _O, _L, _A, _F),
    (_S, Tick): _entry("a new pupil after 60 s", actions.pass_time, _S, _T, _O, _L, _A, _F),
    (_S, NextString): _entry("ask for another one first", actions.ask_next, _S, _F),
    (_S, PreviousString): _entry("ask for the one before", actions.ask_previous, _S),
    (_S, StartOver): _entry("begin", actions.begin, _S),
    (_S, TeacherHere): _entry("a grown-up is here; strike off a silent string", actions.teacher, *_NEXT),
    (_T, Plucked): _entry("take the arrow down, listen", judging.listen, _T, _L, _F),
    (_T, Heard): _entry("judge", judging.judge, *_ANY),
    (_T, Tick): _entry("a new pupil after 60 s", actions.pass_time, *_ANY),
    (_T, NextString): _entry("go on to the next", actions.ask_next, *_NEXT),
    (_T, PreviousString): _entry("go back to the one before", actions.ask_previous, *_NEXT),
    (_T, StartOver): _entry("begin", actions.begin, _S),
    (_T, TeacherHere): _entry("lift the bar on the pegs left", actions.teacher, *_NEXT),
    (_O, Plucked): _entry("listen", judging.listen, _O, _L, _F),
    (_O, Heard): _entry("did this one move?", judging.judge, *_ANY),
    (_O, Tick): _entry("a new pupil after 60 s", actions.pass_time, *_ANY),
    (_O, NextString): _entry("go on to the next", actions.ask_next, *_NEXT),
    (_O, PreviousString): _entry("go back to the one before", actions.ask_previous, *_NEXT),
    (_O, StartOver): _entry("begin", actions.begin, _S),
    (_O, TeacherHere): _entry("lift the bar on the pegs left", actions.teacher, *_NEXT),
    (_D, Plucked): _entry("listen", judging.listen, _D, _L, _F),
    (_D, Heard): _entry("which of them is this?", judging.judge, *_ANY),
    (_D, Tick): _entry("a new pupil after 60 s", actions.pass_time, *_ANY),
    (_D, NextString): _entry("go on to the next", actions.ask_next, *_NEXT),
    (_D, PreviousString): _entry("go back to the one before", actions.ask_previous, *_NEXT),
    (_D, StartOver): _entry("begin", actions.begin, _S),
    (_D, TeacherHere): _entry("lift the bar on the pegs left", actions.teacher, *_NEXT),
    (_R, Plucked): _entry("go on, listen", actions.go_on_and_listen, _R, *_NEXT),
    (_R, Heard): _entry("stay, unless surely off", judging.judge, *_ANY),
    (_R, Tick): _entry("go on after 1.5 s", actions.move_on, _R, *_NEXT),
    (_R, NextString): _entry("go on", actions.ask_next, *_NEXT),
    (_R, PreviousString): _entry("go back to the one before", actions.ask_previous, *_NEXT),
    (_R, StartOver): _entry("begin", actions.begin, _S),
    (_R, TeacherHere): _entry("lift the bar on the pegs left", actions.teacher, *_NEXT),
    (_L, Plucked): _entry("go on, listen", actions.go_on_and_listen, *_NEXT),
    (_L, Heard): _entry("judge", judging.judge, *_ANY),
    (_L, Tick): _entry("go on when it was seen", actions.leave_it, *_NEXT),
    (_L, NextString): _entry("go on", actions.ask_next, *_NEXT),
    (_L, PreviousString): _entry("go back to the one before", actions.ask_previous, *_NEXT),
    (_L, StartOver): _entry("begin", actions.begin, _S),
    (_L, TeacherHere): _entry("lift the bar on the pegs left", actions.teacher, *_NEXT),
    (_A, Plucked): _entry("go on as it is, listen", actions.answer_and_listen, *_NEXT),
    (_A, Heard): _entry("stay", judging.stay, _A),
    (_A, Tick): _entry("a new pupil after 60 s", actions.pass_time, _A, _S, _F),
    (_A, NextString): _entry("go on as it is", actions.ask_next, *_NEXT),
    (_A, PreviousString): _entry("stay", judging.stay, _A),
    (_A, StartOver): _entry("begin", actions.begin, _S),
    (_A, TeacherHere): _entry("stay", judging.stay, _A),
    (_F, Plucked): _entry("stay", judging.stay, _F),
    (_F, Heard): _entry("stay", judging.stay, _F),
    (_F, Tick): _entry("a new pupil after 20 s", actions.begin_after_end, _F, _S),
    (_F, NextString): _entry("begin", actions.begin, _S),
    (_F, PreviousString): _entry("ask for the last again", actions.ask_again, *_NEXT),
    (_F, StartOver): _entry("begin", actions.begin, _S),
    (_F, TeacherHere): _entry("lift the bar on the pegs left", actions.teacher, _F, *_NEXT),
}
