"""Many lessons: one row for each start, player, guide and whether pegs are allowed.

Every lesson is drawn from the seed, its row and its number alone, so any one can be played again. The
instrument of run number n is the same for all players and guides of a start.
"""

import random
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path

from demo.lessons.courses import TableReadings
from demo.lessons.ears import RoomEars, TrackerReadings
from demo.lessons.guides import BareNumber, CoachGuide, Guide
from demo.lessons.lesson import SimLesson
from demo.lessons.outcome import LessonOutcome
from demo.lessons.recorded import ReadFile, RecordedSounds
from demo.mechanics.build import USUAL_CORES, Build, Strings
from demo.mechanics.cores import CoreMaterial
from demo.mechanics.geometry import Seat
from demo.mechanics.instrument import SimInstrument
from demo.mechanics.starts import Start, found
from demo.players.characters import CHARACTERS, Character
from demo.players.player import Pegbox, Player
from device.config.settings import Cores, Order, Settings, Size
from dsp import Instrument

SIZES_BROUGHT = (
    "4/4",
    "4/4",
    "3/4",
    "1/2",
    "1/4",
)  # what pupils bring, the full size twice as often; invented
STRINGS = (*(Strings.USUAL,) * 4, *(Strings.STEEL,) * 2, Strings.GUT, *(Strings.MIXED,) * 3)  # invented
CORES_SET = {
    CoreMaterial.PLAIN_GUT: Cores.GUT,
    CoreMaterial.WOUND_GUT: Cores.GUT,
    CoreMaterial.SYNTHETIC: Cores.SYNTHETIC,
    CoreMaterial.STEEL_ROPE: Cores.STEEL,
}
BEHIND = {Instrument.CELLO, Instrument.DOUBLE_BASS}  # where the player sits


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
    guide: Told = Told.COACH
    pegs: PegRule = PegRule.ALLOWED
    strings: Strings | None = None  # None draws them anew for each lesson


@dataclass(frozen=True, slots=True)
class Hearing:
    """How plucks are heard, and from where their sound comes."""

    readings: Readings = Readings.TABLE
    recorded: Path | None = None  # a folder of recorded plucks, in place of the synthesis
    read: ReadFile | None = None  # how its files are read


USUAL = Hearing()


@dataclass(frozen=True, slots=True)
class Summary:
    """What came of all runs of a cell; shares from 0 to 1."""

    cell: Cell
    runs: int
    in_tune_share: float
    handed_over_share: float
    never_ended: int
    falsely_all_right: int
    misled: int  # of those, lessons in which a sounding was heard wrong and told as if right
    broken: int
    stopped_before_break: int
    nearest: float  # highest share of a breaking load that any turn took a string to
    plucks_median: float
    plucks_95: float
    seconds_median: float
    seconds_95: float
    overshoots: int
    dangerous: int
    steady_share: float
    changed_often: int
    stale: int

    def fields(self) -> dict[str, object]:
        """The row as it is written in JSON."""
        strings = None if self.cell.strings is None else self.cell.strings.value
        named: dict[str, object] = {
            "start": self.cell.start.value,
            "player": self.cell.player,
            "guide": self.cell.guide.value,
            "pegs": self.cell.pegs.value,
            "strings": strings,
        }
        return named | {name: getattr(self, name) for name in COUNTED}


COUNTED = tuple(name for name in Summary.__slots__ if name != "cell")


def all_cells() -> tuple[Cell, ...]:
    """Every start, player, guide and peg rule."""
    return tuple(
        Cell(start, player, guide, pegs)
        for pegs in PegRule
        for guide in Told
        for start in Start
        for player in CHARACTERS
    )


def lesson(cell: Cell, seed: int, run: int, hearing: Hearing = USUAL) -> SimLesson:
    """Lesson number `run` of a cell, not yet played."""
    luck = random.Random(f"{seed}/{cell.start.value}/{run}")
    hand = random.Random(f"{seed}/{cell.start.value}/{cell.player}/{cell.pegs.value}/{run}")
    strings = luck.choice(STRINGS) if cell.strings is None else cell.strings
    build = Build(size=luck.choice(SIZES_BROUGHT), cores=strings)
    settings = _settings(cell, build, luck)
    if cell.start is Start.ANOTHER_KIND:
        instrument = _renamed(found(cell.start, build, Settings().targets, luck), settings)
    else:
        instrument = found(cell.start, build, settings.targets, luck)
    character = CHARACTERS[cell.player]
    return staged(character, cell.guide, settings, instrument=instrument, hand=hand, hearing=hearing)


def _settings(cell: Cell, build: Build, luck: random.Random) -> Settings:
    """What the box is set to: half the time it knows the size, and half the time the cores of a plain set."""
    size = Size(build.size) if luck.random() < 0.5 else Size.UNKNOWN
    cores = cores_told(build) if luck.random() < 0.5 else Cores.UNKNOWN
    kind = build.kind
    if cell.start is Start.ANOTHER_SIZE:
        size = Size(luck.choice([other for other in SIZES_BROUGHT if other != build.size]))
    if cell.start is Start.ANOTHER_KIND:
        kind = luck.choice([other for other in Instrument if other is not kind])
    return Settings(
        instrument=kind,
        size=size,
        cores=cores,
        pegs_by_grown_up=cell.pegs is PegRule.BARRED,
        order=Order.WHICHEVER_IS_PLUCKED if CHARACTERS[cell.player].own_order else Order.HIGH_TO_LOW,
    )


def cores_told(build: Build) -> Cores:
    """What a teacher who knows the set tells the box: the core of all its wound strings; else nothing."""
    fitted = {core for choices in USUAL_CORES[build.kind][build.cores] for core in choices}
    kinds = {CORES_SET[core] for core in fitted - {CoreMaterial.STEEL_WIRE}}
    return kinds.pop() if len(kinds) == 1 else Cores.UNKNOWN


def _renamed(instrument: SimInstrument, settings: Settings) -> SimInstrument:
    """The same instrument to a player who takes each string for the one that the box names in its place."""
    names = zip(instrument.strings, settings.targets, strict=True)
    return replace(instrument, strings=tuple(replace(string, name=name) for string, name in names))


def staged(  # noqa: PLR0913 - everything that meets in a lesson, one thing a part
    character: Character,
    guide: Told,
    settings: Settings,
    *,
    instrument: SimInstrument,
    hand: random.Random,
    hearing: Hearing = USUAL,
) -> SimLesson:
    """A lesson of any player with any instrument; `hand` is the player's luck."""
    player = Player(character, pegbox_of(settings, instrument), hand)
    on_the_wall: Guide = CoachGuide(settings) if guide is Told.COACH else BareNumber(settings, hand)
    if hearing.readings is Readings.TABLE:
        return SimLesson(
            instrument, player, on_the_wall, RoomEars(TableReadings(hand), settings, hand), settings
        )
    seed = hand.randrange(1 << 30)
    sounds = None
    if hearing.recorded is not None and hearing.read is not None:
        sounds = RecordedSounds(hearing.recorded, hearing.read, hand)
    ears = RoomEars(TrackerReadings(settings, seed, sounds), settings, hand)
    return SimLesson(instrument, player, on_the_wall, ears, settings)


def pegbox_of(settings: Settings, instrument: SimInstrument) -> Pegbox:
    """The pegs as the player of that instrument has them."""
    seat = Seat.BEHIND if settings.instrument in BEHIND else Seat.FRONT
    return Pegbox({s.name: s.peg.shaft for s in instrument.strings}, seat)


def summary(cell: Cell, outcomes: Sequence[LessonOutcome]) -> Summary:
    """Count a cell's outcomes; at least one."""
    plucks = [outcome.plucks for outcome in outcomes]
    seconds = [outcome.seconds for outcome in outcomes]
    return Summary(
        cell,
        len(outcomes),
        in_tune_share=_share([outcome.in_tune for outcome in outcomes]),
        handed_over_share=_share([outcome.handed_over for outcome in outcomes]),
        never_ended=sum(not outcome.ended for outcome in outcomes),
        falsely_all_right=sum(outcome.falsely_all_right for outcome in outcomes),
        misled=sum(outcome.falsely_all_right and outcome.misled for outcome in outcomes),
        broken=sum(outcome.broken for outcome in outcomes),
        stopped_before_break=sum(outcome.stopped_before_break for outcome in outcomes),
        nearest=round(max(outcome.nearest for outcome in outcomes), 3),
        plucks_median=statistics.median(plucks),
        plucks_95=_ninety_five(plucks),
        seconds_median=round(statistics.median(seconds), 1),
        seconds_95=round(_ninety_five(seconds), 1),
        overshoots=sum(outcome.overshoots for outcome in outcomes),
        dangerous=sum(outcome.dangerous for outcome in outcomes),
        steady_share=_share([outcome.steady for outcome in outcomes]),
        changed_often=sum(outcome.changed_often for outcome in outcomes),
        stale=sum(outcome.stale for outcome in outcomes),
    )


def played(cell: Cell, seed: int, runs: int, hearing: Hearing = USUAL) -> Summary:
    """Play all lessons of a cell."""
    return summary(cell, [lesson(cell, seed, run, hearing).run() for run in range(runs)])


def _share(flags: Sequence[bool]) -> float:
    return round(sum(flags) / len(flags), 4)


def _ninety_five(values: Sequence[float]) -> float:
    """The value that 95 % of the runs do not pass."""
    ranked = sorted(values)
    return ranked[min(int(0.95 * len(ranked)), len(ranked) - 1)]
