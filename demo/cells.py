"""Many lessons: one row for each start, player, guide and whether pegs are allowed.

Every lesson is drawn from the seed, its row and its number alone, so any one can be played again. The
instrument of run number n is the same for all players and guides of a start.
"""

import random
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from demo.ears import Ears, TableEars, TrackerEars, WrongAtTimes
from demo.guides import BareNumber, CoachGuide
from demo.instrument import SimInstrument
from demo.lessons import Lesson
from demo.outcome import Outcome
from demo.players import CHARACTERS, Player
from demo.starts import Start, found
from demo.workshop import Build
from device.config.settings import Settings, Size

SIZES = ("4/4", "4/4", "3/4", "1/2", "1/4")  # what pupils bring, the full size twice as often; invented


class Told(Enum):
    """What is on the wall."""

    COACH = "coach"
    BARE_NUMBER = "bare-number"


class PegRule(Enum):
    """Whether the player may turn the pegs."""

    ALLOWED = "allowed"
    BARRED = "barred"


class Readings(Enum):
    """What hears the plucks."""

    REAL = "real"
    TABLE = "table"


@dataclass(frozen=True, slots=True)
class Cell:
    """One row of the table."""

    start: Start
    player: str
    guide: Told
    pegs: PegRule


@dataclass(frozen=True, slots=True)
class Summary:
    """What came of all runs of a cell; shares from 0 to 1."""

    cell: Cell
    runs: int
    in_tune_share: float
    handed_over_share: float
    plucks_median: float
    plucks_95: float
    seconds_median: float
    seconds_95: float
    overshoots: int
    broken: int
    stopped_before_break: int
    dangerous: int | None  # None for a bare number, which gives no advice

    def fields(self) -> dict[str, object]:
        """The row as it is written in JSON."""
        named = {
            "start": self.cell.start.value,
            "player": self.cell.player,
            "guide": self.cell.guide.value,
            "pegs": self.cell.pegs.value,
        }
        counted = (
            "runs",
            "in_tune_share",
            "handed_over_share",
            "plucks_median",
            "plucks_95",
            "seconds_median",
        )
        more = ("seconds_95", "overshoots", "broken", "stopped_before_break", "dangerous")
        return named | {name: getattr(self, name) for name in (*counted, *more)}


def all_cells() -> tuple[Cell, ...]:
    """Every start, player, guide and peg rule."""
    return tuple(
        Cell(start, player, guide, pegs)
        for pegs in PegRule
        for guide in Told
        for start in Start
        for player in CHARACTERS
    )


def lesson(cell: Cell, seed: int, run: int, readings: Readings) -> Lesson:
    """Lesson number `run` of a cell, not yet played."""
    strings = random.Random(f"{seed}/{cell.start.value}/{run}")
    hand = random.Random(f"{seed}/{cell.start.value}/{cell.player}/{cell.pegs.value}/{run}")
    size = Size(strings.choice(SIZES))
    told = size if strings.random() < 0.5 else Size.UNKNOWN
    settings = Settings(size=told, pegs_by_grown_up=cell.pegs is PegRule.BARRED)
    instrument = found(cell.start, Build(size=size.value), settings.targets, strings)
    return staged(cell, settings, instrument, hand, readings)


def staged(
    cell: Cell, settings: Settings, instrument: SimInstrument, hand: random.Random, readings: Readings
) -> Lesson:
    """A lesson of the cell's player and guide with any instrument; `hand` is the player's luck."""
    player = Player(CHARACTERS[cell.player], tuple(settings.targets), hand)
    guide = CoachGuide(settings) if cell.guide is Told.COACH else BareNumber(settings, hand)
    ears: Ears = (
        TableEars(settings, hand)
        if readings is Readings.TABLE
        else TrackerEars(settings, hand.randrange(1 << 30))
    )
    return Lesson(instrument, player, guide, WrongAtTimes(ears, hand), settings)


def summary(cell: Cell, outcomes: Sequence[Outcome]) -> Summary:
    """Count a cell's outcomes; at least one."""
    plucks = [outcome.plucks for outcome in outcomes]
    seconds = [outcome.seconds for outcome in outcomes]
    return Summary(
        cell,
        len(outcomes),
        _share([outcome.in_tune for outcome in outcomes]),
        _share([outcome.handed_over for outcome in outcomes]),
        statistics.median(plucks),
        _ninety_five(plucks),
        round(statistics.median(seconds), 1),
        round(_ninety_five(seconds), 1),
        sum(outcome.overshoots for outcome in outcomes),
        sum(outcome.broken for outcome in outcomes),
        sum(outcome.stopped_before_break for outcome in outcomes),
        sum(outcome.dangerous for outcome in outcomes) if cell.guide is Told.COACH else None,
    )


def played(cell: Cell, seed: int, runs: int, readings: Readings) -> Summary:
    """Play all lessons of a cell."""
    return summary(cell, [lesson(cell, seed, run, readings).run() for run in range(runs)])


def _share(flags: Sequence[bool]) -> float:
    return round(sum(flags) / len(flags), 4)


def _ninety_five(values: Sequence[float]) -> float:
    """The value that 95 % of the runs do not pass."""
    ranked = sorted(values)
    return ranked[min(int(0.95 * len(ranked)), len(ranked) - 1)]
