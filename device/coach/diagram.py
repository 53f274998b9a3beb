"""The lesson's state diagram, made from the table: `python -m device.coach.diagram` prints it."""

from collections import defaultdict

from device.coach.table import TABLE
from device.events import LessonEvent

_WORDS = {
    "Plucked": "a pluck",
    "Heard": "a reading",
    "Tick": "time",
    "NextString": "next",
    "PreviousString": "previous",
    "StartOver": "start over",
    "TeacherHere": "teacher",
}


def diagram() -> str:
    """The table as a Mermaid state diagram; one arrow for each pair of phases."""
    arrows: dict[tuple[str, str], list[str]] = defaultdict(list)
    for (phase, event), entry in TABLE.items():
        for after in sorted(entry.leads_to, key=lambda p: p.value):
            if after is not phase:
                arrows[phase.value, after.value].append(_words(event))
    lines = ["stateDiagram-v2", "    [*] --> waiting"]
    lines += [f"    {a} --> {b}: {', '.join(events)}" for (a, b), events in arrows.items()]
    return "\n".join(lines)


def table() -> str:
    """Every pair of phase and event in words, one a line."""
    rows = [f"{phase.value:10} {_words(event):11} {entry.does}" for (phase, event), entry in TABLE.items()]
    return "\n".join(rows)


def _words(event: type[LessonEvent]) -> str:
    return _WORDS[event.__name__]


if __name__ == "__main__":
    print(diagram(), table(), sep="\n\n")  # noqa: T201 - printing is what this entry is for
