"""A row of pupils: whose pluck was that?

A neighbour's string at two metres arrives some 12 dB softer than ours at the wall (the inverse
square law alone gives 12 dB from 0.5 to 2 m). The gate learns how loud our plucks are and lets
through what is at most `gate_db` softer. The learned level rises fast and falls slowly; it sinks by
itself while nothing of ours is heard, so that a player who moved away is followed again, and is
forgotten with the pupil. A sounding that grows loud enough (a bow) is let through late.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from device.events import Heard, LessonEvent, Plucked, StartOver
from dsp import Seconds

_RISE, _FALL = 0.6, 0.2  # chosen; how much of the difference to a louder, and a softer, pluck is learned
_SINKS_DB_PER_S = 0.1  # chosen: 6 dB a minute
NOTICE_S = Seconds(2.0)  # so long the panel says that a pluck was not followed


@dataclass(frozen=True, slots=True)
class Gate:
    """What was learned, and what became of the last soundings."""

    level_dbfs: float | None = None  # of our plucks; None before the first
    learned_at: Seconds = Seconds(0.0)
    refused: int | None = None  # the sounding that is not followed
    refused_at: Seconds | None = None

    def threshold_dbfs(self, at: Seconds, gate_db: float) -> float | None:
        """What is softer is a neighbour's; None before anything was learned."""
        if self.level_dbfs is None:
            return None
        return self.level_dbfs - _SINKS_DB_PER_S * max(0.0, at - self.learned_at) - gate_db

    def says_so(self, at: Seconds) -> bool:
        """Whether the panel should say that a pluck was not followed."""
        return self.refused_at is not None and at - self.refused_at < NOTICE_S


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
        case Plucked(at, pluck, level):
            if _ours(gate, at, level, gate_db):
                return _learned(gate, at, level), (event,)
            return replace(gate, refused=pluck, refused_at=at), ()
        case Heard(at=at, pluck=pluck, level_dbfs=level) if pluck == gate.refused:
            if not _ours(gate, at, level, gate_db):
                return gate, ()
            return _learned(gate, at, level), (Plucked(at, pluck, level), event)
        case StartOver():
            return Gate(refused=gate.refused), (event,)
    return gate, (event,)


def _ours(gate: Gate, at: Seconds, level: float, gate_db: float) -> bool:
    threshold = gate.threshold_dbfs(at, gate_db)
    return threshold is None or level >= threshold


def _learned(gate: Gate, at: Seconds, level: float) -> Gate:
    known = level if gate.level_dbfs is None else gate.level_dbfs
    known += (_RISE if level > known else _FALL) * (level - known)
    return Gate(known, at)
