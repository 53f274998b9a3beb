"""The lesson's table for people, made from the code: `python -m device.lesson.diagram` prints it."""

from collections import defaultdict

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


def diagram() -> str:
    """The table as a Mermaid state diagram; one arrow for each pair of tasks."""
    arrows: dict[tuple[str, str], list[str]] = defaultdict(list)
    for (task, event), entry in TABLE.items():
        for after in sorted(entry.leads_to, key=lambda t: list(_TASKS).index(t.__name__)):
            if after is not task:
                arrows[_id(task), _id(after)].append(_words(event))
    lines = ["stateDiagram-v2", "    [*] --> surveying"]
    lines += [f"    {a} --> {b}: {', '.join(events)}" for (a, b), events in arrows.items()]
    return "\n".join(lines)


def table() -> str:
    """Every pair of task and event in words, one a line."""
    rows = [
        f"{_TASKS[task.__name__]:14} {_words(event):10} {entry.does}"
        for (task, event), entry in TABLE.items()
    ]
    return "\n".join(rows)


def _id(task: type) -> str:
    return _TASKS[task.__name__].replace(" ", "_")


def _words(event: type[LessonEvent]) -> str:
    return _EVENTS[event.__name__]


if __name__ == "__main__":
    print(diagram(), table(), sep="\n\n")  # noqa: T201 - printing is what this entry is for
