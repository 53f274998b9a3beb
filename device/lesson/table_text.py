"""Writes the lesson's table and its state diagram in words, from the code.

`python -m device.lesson.table_text` prints both.
"""

from device.events import LessonEvent
from device.lesson.memory import Task
from device.lesson.table import TABLE

_EVENTS = {
    "Plucked": "a pluck",
    "Heard": "a reading",
    "Tick": "time",
    "NextString": "next",
    "PreviousString": "previous",
    "StartOver": "start over",
    "TeacherHere": "teacher",
}
_TASKS = {
    "Surveying": "surveying",
    "Tuning": "tuning",
    "HearingOthers": "hearing others",
    "TellingApart": "telling apart",
    "ShowingRight": "showing right",
    "ShowingLeft": "showing left",
    "Asking": "asking",
    "Finished": "finished",
}


def lesson_in_words() -> str:
    """Every pair of task and event in words, one a line."""
    rows = [
        f"{_TASKS[task.__name__]:14} {_words(event):10} {entry.does}"
        for (task, event), entry in TABLE.items()
    ]
    return "\n".join(rows)


def diagram_in_words() -> str:
    """The state diagram: from every task to those that may follow it, one a line."""
    follow = dict.fromkeys((task for task, _event in TABLE), frozenset[type[Task]]())
    for (task, _event), entry in TABLE.items():
        follow[task] |= entry.leads_to
    rows = [(task, [_TASKS[then.__name__] for then in follow if then in follow[task]]) for task in follow]
    return "\n".join(f"{_TASKS[task.__name__]:14} -> {', '.join(then)}" for task, then in rows)


def _words(event: type[LessonEvent]) -> str:
    return _EVENTS[event.__name__]


if __name__ == "__main__":
    print(lesson_in_words(), diagram_in_words(), sep="\n\n")  # noqa: T201 - what this entry is for
