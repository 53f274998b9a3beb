"""Which stroke belongs to which note, and whether it came in time.

Each stroke belongs to the note nearest in time, at most `REACH_S` or half the way to that note's neighbour
away; of several at one note the nearest counts, the others are extra. The tolerance allows for age and is our
choice; the research community's usual window for onsets is 50 ms (mir_eval), beside which a test sets it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from dsp import Seconds

REACH_S = Seconds(0.35)  # chosen: further from any note a stroke is extra


class Timing(Enum):
    """How one note of the bar was met."""

    RIGHT = "right"
    EARLY = "early"
    LATE = "late"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class JudgedStroke:
    """One bar, judged: each note that had to be plucked, and strokes that belong to none."""

    timings: tuple[Timing, ...]
    off_s: tuple[Seconds | None, ...]  # late positive; None where it was missed
    extra_s: tuple[Seconds, ...]  # their moments

    @property
    def well(self) -> bool:
        """Whether all was right and nothing too much."""
        return not self.extra_s and all(timing is Timing.RIGHT for timing in self.timings)


def near_enough(near_s: Seconds, shortest_s: Seconds) -> Seconds:
    """The tolerance: the step's, or a third of the shortest time between two notes, whichever is less."""
    return Seconds(min(near_s, shortest_s / 3.0))


def judged_bar(wanted_s: Sequence[Seconds], strokes_s: Sequence[Seconds], near_s: Seconds) -> JudgedStroke:
    """Judge strokes against the moments they were wanted at; both in order of time."""
    nearest: dict[int, Seconds] = {}
    extra: list[Seconds] = []
    for stroke in strokes_s:
        place = _belongs(wanted_s, stroke)
        if place is None:
            extra.append(stroke)
            continue
        before = nearest.get(place)
        closer = before is None or abs(stroke - wanted_s[place]) < abs(before - wanted_s[place])
        if before is not None:
            extra.append(before if closer else stroke)
        if closer:
            nearest[place] = stroke
    off = tuple(Seconds(nearest[i] - wanted) if i in nearest else None for i, wanted in enumerate(wanted_s))
    return JudgedStroke(tuple(_timing(one, near_s) for one in off), off, tuple(sorted(extra)))


def _belongs(wanted_s: Sequence[Seconds], stroke: Seconds) -> int | None:
    place = min(range(len(wanted_s)), key=lambda i: abs(stroke - wanted_s[i]), default=None)
    return place if place is not None and abs(stroke - wanted_s[place]) <= REACH_S else None


def _timing(off: Seconds | None, near_s: Seconds) -> Timing:
    if off is None:
        return Timing.MISSED
    if abs(off) <= near_s:
        return Timing.RIGHT
    return Timing.EARLY if off < 0.0 else Timing.LATE
