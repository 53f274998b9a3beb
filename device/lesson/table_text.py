"""Writes the lesson's table in words, from the code: `python -m device.lesson.table_text` prints it."""

from device.events import LessonEvent
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


def _words(event: type[LessonEvent]) -> str:
    return _EVENTS[event.__name__]


if __name__ == "__main__":
    print(lesson_in_words())  # noqa: T201 - printing is what this entry is for
