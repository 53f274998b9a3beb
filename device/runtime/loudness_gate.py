"""Lets through the plucks of whoever stands at the wall, and not those of a softer neighbour.

A neighbour's string at two metres arrives some 12 dB softer than ours at the wall (the inverse
square law alone gives 12 dB from 0.5 to 2 m). The gate learns how loud our plucks are and lets
through what is at most `gate_db` softer. What counts is the loudest moment of a sounding: the first
reading may come before it. The learned level rises fast and falls slowly; it sinks by itself while
nothing of ours is heard, so that a player who moved away is followed again, and is forgotten with
the pupil. A sounding that grows loud enough (a bow) is let through late.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from device.events import Heard, LessonEvent, Plucked, StartOver
from dsp import Seconds

_RISE, _FALL = 0.6, 0.2  # chosen; how much of the difference to a louder, and a softer, pluck is learned
_SINKS_DB_PER_S = 0.1  # chosen: 6 dB a minute
NOTICE_AFTER_S = Seconds(0.25)  # chosen: a section's slow attack has reached its loudest by then
NOTICE_UNTIL_S = Seconds(2.25)  # so long the panel says that a pluck was not followed


@dataclass(frozen=True, slots=True)
class Gate:
    """What was learned, and what became of the last soundings."""

    before_dbfs: float | None = None  # of our plucks but the last; None before the first
    peak_dbfs: float | None = None  # the loudest moment of the last; None before the first
    learned_at: Seconds = Seconds(0.0)
    followed: int | None = None  # the last sounding that was followed
    refused: int | None = None  # the sounding that is not followed
    refused_at: Seconds | None = None

    @property
    def level_dbfs(self) -> float | None:
        """How loud our plucks are; None before the first."""
        if self.peak_dbfs is None or self.before_dbfs is None:
            return self.peak_dbfs
        louder = self.peak_dbfs - self.before_dbfs
        return self.before_dbfs + (_RISE if louder > 0.0 else _FALL) * louder

    def threshold_dbfs(self, at: Seconds, gate_db: float) -> float | None:
        """What is softer is a neighbour's; None before anything was learned."""
        level = self.level_dbfs
        if level is None:
            return None
        return level - _SINKS_DB_PER_S * max(0.0, at - self.learned_at) - gate_db

    def says_so(self, at: Seconds) -> bool:
        """Whether the panel should say that a pluck was not followed."""
        return self.refused_at is not None and NOTICE_AFTER_S <= at - self.refused_at < NOTICE_UNTIL_S

    def following(self, pluck: int, level_dbfs: float, at: Seconds) -> "Gate":
        """The same, with one more of our plucks."""
        return Gate(self.level_dbfs, level_dbfs, at, pluck)


def let_through(
    gate: Gate, events: Iterable[LessonEvent], gate_db: float
) -> tuple[Gate, tuple[LessonEvent, ...]]:
    """The events that are ours, in order; every other event passes."""
    passed: list[LessonEvent] = []
    for event in events:
        gate, kept = _judged(gate, event, gate_db)
        passed += kept
    return gate, tuple(passed)


def _judged(gate: Gate, event: LessonEvent, gate_db: float) -> tuple[Gate, tuple[LessonEvent, ...]]:
    match event:
        case Plucked(at, pluck, level) if not _ours(gate, at, level, gate_db):
            return replace(gate, refused=pluck, refused_at=at), ()
        case Plucked(at, pluck, level):
            gate = gate.following(pluck, level, at)
        case Heard(pluck=pluck) if pluck == gate.refused:
            return _grown(gate, event, gate_db)
        case Heard(pluck=pluck, level_dbfs=level) if pluck == gate.followed:
            gate = replace(gate, peak_dbfs=level if gate.peak_dbfs is None else max(level, gate.peak_dbfs))
        case StartOver():
            gate = Gate(refused=gate.refused)
    return gate, (event,)


def _grown(gate: Gate, event: Heard, gate_db: float) -> tuple[Gate, tuple[LessonEvent, ...]]:
    """A sounding that was refused is followed from now on, if it has become loud enough."""
    if not _ours(gate, event.at, event.level_dbfs, gate_db):
        return gate, ()
    late = Plucked(event.at, event.pluck, event.level_dbfs)
    return gate.following(event.pluck, event.level_dbfs, event.at), (late, event)


def _ours(gate: Gate, at: Seconds, level: float, gate_db: float) -> bool:
    threshold = gate.threshold_dbfs(at, gate_db)
    return threshold is None or level >= threshold
