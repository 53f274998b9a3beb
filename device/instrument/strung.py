"""The strung instrument: one frozen value that says what is known of each string, and how surely.

Tension goes with the square of frequency (Mersenne's law), stretch with tension (Hooke's law), and a
turn winds up stretch: a peg by the circumference of its shaft, a screw by its thread and lever. So each
string has two kinds of figures. The lesson plans its turns with slopes, in relative tension for one degree
(1 is the tension at the pitch the string is made for), each with a least, a usual and a most. The monitor
reckons with loads, in shares of the least plausible breaking load; of everything that is not known it takes
the worst. The shaft of a small instrument's peg is thicker for its string than a full-size one's, so that
one degree of it adds more.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from device.config.settings import Cores, Settings, Size, StringSet
from device.instrument.cores import (
    CORES,
    TOP_LOAD,
    WOUND_LOAD,
    Core,
    plain_gut_load,
    plain_steel,
    plain_steel_load,
)
from device.instrument.rotation import away_of, has_fine_tuner, push_in_needed, rotation_of
from device.instrument.tuning_parts import (
    PEG_SPREAD,
    SCREW_MM,
    SCREW_SPREAD,
    SHAFT_MM,
    SHAFT_SHRINKS,
    Amount,
    Direction,
    Rotation,
    Slope,
    TuningPart,
    degrees_of,
    gear_of,
    one_degree_of,
    reach_of,
)
from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    OpenString,
    Temperament,
    cents,
    shifted,
    string_frequencies,
)

STANDARD_HZ = Hz(440.0)  # ISO 16:1975; strings are made for it
MARGIN = 0.8  # of the least plausible breaking load: from here on a string counts as near breaking
LENGTH_MM = {
    Instrument.VIOLIN: 328.0,  # nut to bridge, common practice
    Instrument.VIOLA: 375.0,  # common practice, 360 to 385
    Instrument.CELLO: 695.0,  # common practice
    Instrument.DOUBLE_BASS: 1060.0,  # common practice for the usual size
}
WHOLE = 1.29  # from tailpiece to peg over nut to bridge: a sixth behind the bridge, an eighth in the pegbox
RELATIVE_LENGTH = {  # string length over the full one's; violin makers' figures, from memory
    Size.FULL: 1.0,
    Size.THREE_QUARTER: 0.94,
    Size.HALF: 0.87,
    Size.QUARTER: 0.79,
    Size.EIGHTH: 0.72,
    Size.TENTH: 0.68,
    Size.SIXTEENTH: 0.64,
}
COUPLING = (0.01, 0.04)  # cents that another string gives way for each cent a string goes up, from memory
_LEAST_TENSION = 0.01  # a slack string is reckoned as one with a hundredth of its tension
_DOWN_AT_MOST = -300.0  # cents; further down than a minor third a string made for that note is fitted


@dataclass(frozen=True, slots=True)
class StrungString:
    """One string on its instrument."""

    name: str
    target_hz: Hz  # where it belongs
    made_hz: Hz  # the pitch it is made for; relative tension 1
    load: float  # share of its least plausible breaking load at `made_hz`, at the most
    strongest: float  # the strongest string bears so many times the least plausible load
    peg: Slope
    screw: Slope | None  # None without a fine tuner
    peg_load: float  # share of the breaking load that one degree adds, at the most
    screw_load: float  # the same for the fine tuner; 0 without one
    screw_reach: Cents  # how far the fine tuner surely takes the string; 0 without one
    plain: bool  # one wire or one gut, without a winding
    ends: tuple[tuple[float, float, float], ...]
    """Load at `made_hz`, and what one degree of peg and of screw adds, for each size that it may have."""

    @property
    def limit_hz(self) -> Hz:
        """Near breaking: above this pitch nothing is tightened."""
        return Hz(self.made_hz * math.sqrt(MARGIN / self.load))

    @property
    def highest_hz(self) -> Hz:
        """No string of this make sounds higher: the strongest has broken."""
        return Hz(self.made_hz * math.sqrt(self.strongest / min(end[0] for end in self.ends)))

    def load_at(self, hz: Hz) -> float:
        """Share of the least plausible breaking load at a pitch."""
        return self.load * (hz / self.made_hz) ** 2

    def carried(self, hz: Hz, peg: float, screw: float) -> float:
        """Share of the least plausible breaking load from a pitch and so many degrees up, at the most."""
        tension = (hz / self.made_hz) ** 2
        return max(load * tension + peg * by_peg + screw * by_screw for load, by_peg, by_screw in self.ends)

    def highest_after(self, hz: Hz, peg: float, screw: float) -> Hz:
        """The highest pitch from there and so many degrees up."""
        more = max((peg * by_peg + screw * by_screw) / load for load, by_peg, by_screw in self.ends)
        return Hz(self.made_hz * math.sqrt((hz / self.made_hz) ** 2 + more))

    def slope(self, part: TuningPart) -> Slope:
        """What one degree of a part does; raises ValueError for a part it does not have."""
        found = self.peg if part is TuningPart.PEG else self.screw if part is TuningPart.FINE_TUNER else None
        if found is None:
            raise ValueError(f"the {self.name} string has no {part.value} to turn; its peg is one")
        return found

    def tension(self, hz: Hz) -> float:
        """Relative tension at a pitch; 1 at the pitch it is made for."""
        return float((hz / self.made_hz) ** 2)

    def turned(self, hz: Hz, degrees: float, one_degree: float) -> Hz:
        """Where it sounds after `degrees` more (negative: less) at `one_degree` of slope."""
        after = max(self.tension(hz) + degrees * one_degree, _LEAST_TENSION)
        return Hz(self.made_hz * math.sqrt(after))

    def degrees_between(self, hz: Hz, to: Hz, one_degree: float) -> float:
        """How many degrees take it from `hz` to `to`; negative to go down."""
        return (self.tension(to) - self.tension(hz)) / one_degree


@dataclass(frozen=True, slots=True)
class Strung:
    """The whole instrument, strings low to high."""

    instrument: Instrument
    strings: tuple[StrungString, ...]
    peg_degrees: Mapping[Amount, float]
    screw_degrees: Mapping[Amount, float]
    raises: Mapping[tuple[str, TuningPart], tuple[Rotation | None, bool | None]]  # rotation, away
    loosens: Mapping[tuple[str, TuningPart], tuple[Rotation | None, bool | None]]
    push_in: bool  # wooden pegs

    @property
    def names(self) -> tuple[str, ...]:
        """The strings' names, low to high."""
        return tuple(string.name for string in self.strings)

    def of(self, name: str) -> StrungString:
        """One string; KeyError for a string it does not have."""
        for string in self.strings:
            if string.name == name:
                return string
        raise KeyError(name)

    def degrees(self, part: TuningPart) -> Mapping[Amount, float]:
        """What each amount stands for."""
        return self.peg_degrees if part is TuningPart.PEG else self.screw_degrees

    def way(self, name: str, part: TuningPart, direction: Direction) -> tuple[Rotation | None, bool | None]:
        """Rotation and whether away from the player, of a turn."""
        return (self.raises if direction is Direction.TIGHTEN else self.loosens)[name, part]

    def off(self, hz: Hz, name: str) -> Cents:
        """How far a pitch lies above the place of a string."""
        return cents(hz, self.of(name).target_hz)

    def nearest(self, hz: Hz) -> str:
        """The open string a pitch is closest to."""
        return min(self.strings, key=lambda string: abs(cents(hz, string.target_hz))).name


def strung(settings: Settings) -> Strung:
    """The instrument that these settings describe; built once for a lesson."""
    targets = settings.targets
    parts = (TuningPart.PEG, TuningPart.FINE_TUNER)

    def ways(direction: Direction) -> dict[tuple[str, TuningPart], tuple[Rotation | None, bool | None]]:
        return {
            (name, part): (
                rotation_of(name, part, direction, settings),
                away_of(part, direction, settings),
            )
            for name in targets
            for part in parts
        }

    return Strung(
        settings.instrument,
        tuple(_string(name, hz, settings) for name, hz in targets.items()),
        degrees_of(TuningPart.PEG, settings),
        degrees_of(TuningPart.FINE_TUNER, settings),
        ways(Direction.TIGHTEN),
        ways(Direction.LOOSEN),
        push_in_needed(TuningPart.PEG, settings),
    )


def _sizes(settings: Settings) -> tuple[float, ...]:
    """Relative lengths that the instrument may have."""
    return (
        tuple(RELATIVE_LENGTH.values())
        if settings.size is Size.UNKNOWN
        else (RELATIVE_LENGTH[settings.size],)
    )


def _string(name: str, target: Hz, settings: Settings) -> StrungString:
    usual = _made_for(name, settings)
    made = string_frequencies([OpenString.named(usual)], STANDARD_HZ, Temperament.EQUAL)[0]
    highest = name == settings.strings[-1].name
    if settings.instrument is Instrument.VIOLIN and highest and made >= shifted(STANDARD_HZ, Cents(650.0)):
        return _plain(name, target, made, settings)
    load = TOP_LOAD if highest or usual == "A4" else WOUND_LOAD
    cores = CORES.values() if settings.cores is Cores.UNKNOWN else (CORES[settings.cores],)
    return _of_cores(name, target, made, load, tuple(cores), settings, plain=False)


def _plain(name: str, target: Hz, made: Hz, settings: Settings) -> StrungString:
    """A plain E: its load follows from its length and pitch, and its stretch from its load.

    Whatever size is told, it may be a full-size one: a size may be set wrongly, and no smaller instrument's E
    needs to go higher than a full-size one can.
    """
    full_hz = LENGTH_MM[Instrument.VIOLIN] / 1000.0 * made  # length times pitch, at full size
    if settings.string_set is StringSet.PLAIN_GUT_E:
        load, core = plain_gut_load(full_hz), CORES[Cores.GUT]
        usual = core.strain_most
    else:
        load, core = plain_steel_load(full_hz), plain_steel()
        usual = plain_steel_load(full_hz) * core.breaks_at
    core = Core(core.breaks_at, usual / 1.15, usual, 1.15 * usual, core.strongest)
    return _of_cores(name, target, made, load, (core,), settings, plain=True)


def _of_cores(  # noqa: PLR0913, PLR0917 - what a string is, one thing each
    name: str, target: Hz, made: Hz, load: float, cores: tuple[Core, ...], settings: Settings, *, plain: bool
) -> StrungString:
    sizes, whole = _sizes(settings), LENGTH_MM[settings.instrument] * WHOLE
    peg_mm = math.pi * SHAFT_MM[settings.instrument] / 360.0 / gear_of(settings)
    screw_mm = SCREW_MM / 360.0
    weakest = min(core.breaks_at for core in cores)
    screwed = has_fine_tuner(name, settings)
    spread = PEG_SPREAD[settings.instrument]

    def end(size: float) -> tuple[float, float, float]:
        """At one size; the load of a wound string is as great at any, that of a plain one falls with it."""
        stretched = weakest * whole * size
        shaft = 1.0 - SHAFT_SHRINKS * (1.0 - size)
        by_screw = SCREW_SPREAD * screw_mm / stretched if screwed else 0.0
        return (
            load * size**2 if plain else load,
            spread * peg_mm * shaft / stretched,
            by_screw,
        )

    ends = tuple(end(size) for size in ({*sizes, 1.0} if plain else (min(sizes),)))
    flattest = screw_mm / (max(core.strain_usual for core in cores) * whole * max(sizes))
    return StrungString(
        name,
        target,
        made,
        load,
        max(core.strongest for core in cores),
        one_degree_of(peg_mm, spread, whole, cores, sizes, grows=True),
        one_degree_of(screw_mm, SCREW_SPREAD, whole, cores, sizes, grows=False) if screwed else None,
        max(by_peg for _, by_peg, _ in ends),
        max(by_screw for _, _, by_screw in ends),
        reach_of(flattest) if screwed else Cents(0.0),
        plain,
        ends,
    )


def _made_for(string: str, settings: Settings) -> str:
    """Name of the string that is really fitted where `string` is asked for.

    Four strings stand in the usual places, so a retuned one is the usual string taken up, or a little
    down; any other string is made for its own note.
    """
    usual = OPEN_STRINGS[settings.instrument]
    names = [s.name for s in settings.strings]
    if len(names) != len(usual) or string not in names:
        return string
    there = usual[names.index(string)]
    hz = string_frequencies([there, OpenString.named(string)], STANDARD_HZ)
    return there.name if cents(hz[1], hz[0]) >= _DOWN_AT_MOST else string
