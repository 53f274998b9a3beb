"""Draws instruments: framed, strung, worn.

Every draw comes from the generator handed in, so a seed gives the same instrument again; without one,
every range stands in its middle, pegs are smooth and nothing sinks.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from itertools import permutations

from demo.mechanics.cores import AGEING, BEARS, MAKES, CoreMaterial, Range, Solid
from demo.mechanics.dimensions import (
    BODY_FRAMES,
    GEARED_PEG,
    LEVER,
    SCREW_TURNS,
    SIZE_LENGTHS,
    SIZES_DIFFER,
    SMALLER_SHAFT,
    SMALLER_TENSION,
    TENSION_N,
    THINNER_CORE,
    THREAD_MM,
    Frame,
)
from demo.mechanics.geometry import Spin, pegs
from demo.mechanics.instrument import SimInstrument
from demo.mechanics.strings import Peg, Screw, SimString, pull_of
from dsp import OPEN_STRINGS, Cents, Hz, Instrument, OpenString, cents, string_frequencies

CONCERT_HZ = Hz(440.0)  # what the strings are made for: ISO 16:1975
RETUNED_AT_MOST = 300.0  # cents; beyond, a string made for that note is fitted (common practice)
COUPLING_RANGE: Range = (0.01, 0.04)  # of a string's change, off each other; the design's figure
WIDE_COUPLING: Range = (0.01, 0.10)  # as loose bodies may have it; invented
JUMP_CENTS: Range = (5.0, 20.0)  # of a peg that sticks; the design's figure
HARD_JUMPS: Range = (20.0, 20.0)  # the upper end of that
AT_AN_END = 1 / 30  # share of fine tuners screwed right in or backed right out; invented
SLIPS_PUSHED: Range = (0.0, 0.06)  # share of a wooden peg's turns; invented
SLIPS_UNPUSHED: Range = (0.2, 0.6)  # the same where it is not pushed in; invented


class Strings(Enum):
    """Which strings are on."""

    USUAL = "usual"  # what most instruments of the kind have
    STEEL = "steel"  # steel cores throughout
    GUT = "gut"  # gut cores, on a violin under a plain steel E
    MIXED = "mixed"  # each string by itself, from whatever is made for it


_S, _R, _G, _P, _W = (
    CoreMaterial.SYNTHETIC,
    CoreMaterial.STEEL_ROPE,
    CoreMaterial.WOUND_GUT,
    CoreMaterial.PLAIN_GUT,
    CoreMaterial.STEEL_WIRE,
)
USUAL_CORES: dict[
    Instrument, dict[Strings, tuple[tuple[CoreMaterial, ...], ...]]
] = {  # low to high; common practice
    Instrument.VIOLIN: {
        Strings.USUAL: ((_S,), (_S,), (_S,), (_W,)),
        Strings.STEEL: ((_R,), (_R,), (_R,), (_W,)),
        Strings.GUT: ((_G,), (_G,), (_P, _G), (_W,)),
        Strings.MIXED: ((_S, _R, _G), (_S, _R, _G), (_S, _R, _G, _P), (_W,)),
    },
    Instrument.VIOLA: {
        Strings.USUAL: ((_S,), (_S,), (_S,), (_R,)),
        Strings.STEEL: ((_R,), (_R,), (_R,), (_R,)),
        Strings.GUT: ((_G,), (_G,), (_G,), (_P, _G)),
        Strings.MIXED: ((_S, _R, _G), (_S, _R, _G), (_S, _R, _G), (_S, _R, _G, _P)),
    },
    Instrument.CELLO: {
        Strings.USUAL: ((_R,), (_R,), (_R,), (_R,)),
        Strings.STEEL: ((_R,), (_R,), (_R,), (_R,)),
        Strings.GUT: ((_G,), (_G,), (_P, _G), (_P, _G)),
        Strings.MIXED: ((_S, _R, _G), (_S, _R, _G), (_S, _R, _G), (_S, _R, _G)),
    },
    Instrument.DOUBLE_BASS: {
        Strings.USUAL: ((_R,), (_R,), (_R,), (_R,)),
        Strings.STEEL: ((_R,), (_R,), (_R,), (_R,)),
        Strings.GUT: ((_G,), (_G,), (_G,), (_G,)),
        Strings.MIXED: ((_S, _R, _G), (_S, _R, _G), (_S, _R, _G), (_S, _R, _G)),
    },
}


@dataclass(frozen=True, slots=True)
class Build:
    """What is fixed about one instrument before the rest is drawn."""

    kind: Instrument = Instrument.VIOLIN
    size: str = "4/4"  # a key of SIZES
    left_handed: bool = False
    wooden: bool = True
    screws: str = "all"  # or "highest", or "none"
    cores: Strings = Strings.USUAL
    gut_e: bool = False  # a violin with a plain gut E
    retuned: tuple[OpenString, ...] | None = None  # five strings or scordatura, low to high
    coupling: Range = COUPLING_RANGE
    sticking: float = 0.3  # share of wooden pegs that stick; invented
    jumps: Range = JUMP_CENTS  # of those

    @property
    def strings(self) -> tuple[OpenString, ...]:
        """Its open strings, low to high."""
        return self.retuned or OPEN_STRINGS[self.kind]

    def usual(self, position: int) -> OpenString:
        """The usual string whose make is fitted there: the nearest, the lower of two."""
        note = self.strings[position].note_number
        return min(OPEN_STRINGS[self.kind], key=lambda usual: abs(usual.note_number - note))

    def made_for(self, position: int) -> Hz:
        """The pitch a string was made for: a usual string's where it can be retuned from there."""
        usual, own = string_frequencies((self.usual(position), self.strings[position]), CONCERT_HZ)
        return usual if abs(cents(own, usual)) <= RETUNED_AT_MOST else own

    def core(self, position: int, draw: "DrawnBuild") -> CoreMaterial:
        """What carries the load of a string."""
        place = OPEN_STRINGS[self.kind].index(self.usual(position))
        if self.gut_e and self.kind is Instrument.VIOLIN and place == 3:
            return CoreMaterial.PLAIN_GUT
        return draw.one_of(USUAL_CORES[self.kind][self.cores][place])


class DrawnBuild:
    """Luck, or the middle of every range."""

    def __init__(self, rng: random.Random | None) -> None:
        self._rng = rng

    @property
    def worn(self) -> bool:
        """Whether there is any luck at all."""
        return self._rng is not None

    def between(self, values: Range) -> float:
        """A value of the range."""
        low, high = values
        return self._rng.uniform(low, high) if self._rng is not None else 0.5 * (low + high)

    def one_of(self, cores: tuple[CoreMaterial, ...]) -> CoreMaterial:
        """One of several; the first without luck."""
        return self._rng.choice(cores) if self._rng is not None else cores[0]

    def happens(self, probability: float) -> bool:
        """Whether something happens; never without luck."""
        return self._rng is not None and self._rng.random() < probability


def targets(kind: Instrument, reference_hz: Hz = CONCERT_HZ) -> dict[str, Hz]:
    """Where each open string belongs, by name, low to high, in equal temperament."""
    strings = OPEN_STRINGS[kind]
    return {s.name: f for s, f in zip(strings, string_frequencies(strings, reference_hz), strict=True)}


def string_up(build: Build, pitches: Mapping[str, Hz], rng: random.Random | None = None) -> SimInstrument:
    """An instrument that sounds `pitches`, its strings long since stretched in."""
    draw = DrawnBuild(rng)
    scale = SIZE_LENGTHS[build.size] * (draw.between(SIZES_DIFFER) if draw.worn else 1.0)
    sounding = draw.between(BODY_FRAMES[build.kind].sounding_mm) * scale
    tighter = scale ** draw.between(SMALLER_TENSION)
    strings = tuple(_string(build, i, sounding, tighter, draw) for i in range(len(build.strings)))
    stiff = SimInstrument(strings).tuned_to(pitches)
    coupled = _coupled(stiff, pitches, draw.between(build.coupling))
    sticky = (_sticking(coupled, s, build, draw) for s in coupled.strings)
    return replace(coupled, strings=tuple(sticky))


def _string(build: Build, position: int, sounding_mm: float, tighter: float, draw: DrawnBuild) -> SimString:
    """One string, without its peg's stickiness."""
    frame, core = BODY_FRAMES[build.kind], build.core(position, draw)
    full = draw.between(TENSION_N[build.kind][build.usual(position).name])
    speed = 2e-3 * sounding_mm * build.made_for(position)
    stiffness, mass, breaking = _carrying(core, full, full * tighter, speed, draw)
    path = sounding_mm * (1.0 + draw.between(frame.behind) + draw.between(frame.pegbox))
    ages = AGEING[core]
    return SimString(
        build.strings[position].name,
        core,
        sounding_mm,
        path,
        stiffness,
        mass,
        breaking,
        _peg(build, position, frame, draw),
        _screw(build, position, draw),
        natural_mm=path,
        sinks=draw.between(ages.sinks) if draw.worn else 0.0,
        within_s=draw.between(ages.within_s),
        expansion_per_k=draw.between(ages.expansion_per_k),
    )


def _carrying(
    core: CoreMaterial, full: float, tension: float, speed: float, draw: DrawnBuild
) -> tuple[float, float, float]:
    """Stiffness EA in N, unstretched mass in g/m, breaking pull in N.

    `full` and `tension` are the pull in tune on a full size and here, `speed` is 2 L f in m/s. A smaller
    size's core is as thick as the full one's, or thinner by as much as its pull is less, or between.
    """
    make = MAKES[core]
    if isinstance(make, Solid):
        return _plain(make, tension, speed, draw)
    thinner = (tension / full) ** draw.between(THINNER_CORE)
    stretch, breaks_at = draw.between(make.stretch), draw.between(make.breaks_at)
    stiffness = thinner * full / stretch
    mass = tension * (1.0 + tension / stiffness) / speed**2
    return stiffness, 1e3 * mass, stiffness * max(breaks_at, BEARS * stretch)


def _plain(make: Solid, tension: float, speed: float, draw: DrawnBuild) -> tuple[float, float, float]:
    """The same for one material throughout: its stress in tune is density times (2 L f) squared."""
    modulus = draw.between(make.modulus_pa)
    mass = tension * (1.0 + make.density_kg_m3 * speed**2 / modulus) / speed**2
    section = mass / make.density_kg_m3
    if make.breaking_hz_m is not None:
        breaking = pull_of(mass * (2.0 * draw.between(make.breaking_hz_m)) ** 2, modulus * section)
        return modulus * section, 1e3 * mass, breaking
    assert make.strength_pa is not None
    return modulus * section, 1e3 * mass, draw.between(make.strength_pa) * section


def _peg(build: Build, position: int, frame: Frame, draw: DrawnBuild) -> Peg:
    """The peg; machine heads differ from maker to maker, and here all of them wind up clockwise."""
    across = draw.between(frame.shaft_mm) * (1.0 - SMALLER_SHAFT * (1.0 - SIZE_LENGTHS[build.size]))
    count = len(build.strings)
    if frame.teeth is not None:
        return Peg(pegs(count, False)[-1], across, draw.between(frame.teeth), wooden=False)
    shaft = pegs(count, build.left_handed)[position]
    if not build.wooden:
        return Peg(shaft, across, draw.between(GEARED_PEG), wooden=False)
    if not draw.worn:
        return Peg(shaft, across)
    pushed, unpushed = draw.between(SLIPS_PUSHED), draw.between(SLIPS_UNPUSHED)
    return Peg(shaft, across, slips_pushed=pushed, slips_unpushed=unpushed)


def _screw(build: Build, position: int, draw: DrawnBuild) -> Screw | None:
    """The fine tuner, anywhere on its travel, at an end once in thirty."""
    highest = position == len(build.strings) - 1
    if BODY_FRAMES[build.kind].teeth is not None or not (
        build.screws == "all" or (build.screws == "highest" and highest)
    ):
        return None
    thread, lever = draw.between(THREAD_MM), draw.between(LEVER)
    travel = thread * lever * draw.between(SCREW_TURNS)
    share = 0.5
    if draw.worn:
        share = round(draw.between((0.0, 1.0))) if draw.happens(AT_AN_END) else draw.between((0.0, 1.0))
    return Screw(thread * lever, travel, share * travel)


def _coupled(stiff: SimInstrument, pitches: Mapping[str, Hz], share: float) -> SimInstrument:
    """The body's give with which a change takes `share` of itself off each other string, on average.

    A small change dT of one string lets another down by its own stiffness k c dT; cents go with dT / T.
    """
    pulls = {s.name: s.pull_at(pitches[s.name]) for s in stiff.strings}
    pairs = list(permutations(stiff.strings, 2))
    one_mm_n = sum(b.newtons_per_mm * pulls[a.name] / pulls[b.name] for a, b in pairs) / len(pairs)
    return replace(stiff, gives_mm_per_n=share / one_mm_n).tuned_to(pitches)


def _sticking(instrument: SimInstrument, string: SimString, build: Build, draw: DrawnBuild) -> SimString:
    """The string with a peg that may stick, and jump by so many degrees as are worth its cents."""
    if not string.peg.wooden or not draw.happens(build.sticking):
        return string
    jump = draw.between(build.jumps) / cents_per_degree(instrument, string.name)
    return replace(string, peg=replace(string.peg, sticks_degrees=jump))


def cents_per_degree(instrument: SimInstrument, name: str, *, by_screw: bool = False) -> Cents:
    """How far one degree of a string's peg, or of its screw, moves it now: tried a little way down.

    Tried on strings that bear anything, since one wound too high may be past its breaking load.
    """
    by = 0.1
    unbreakable = (replace(s, breaking_n=math.inf) for s in instrument.strings)
    instrument = replace(instrument, strings=tuple(unbreakable))
    if by_screw:
        after = instrument.turn_screw(name, Spin.COUNTER_CLOCKWISE, by)
    else:
        shaft = instrument.string(name).peg.shaft
        after = instrument.turn_peg(name, next(spin for spin in Spin if shaft.winding(spin) < 0), by)
    before, now = instrument.pitch(name), after.pitch(name)
    return Cents(cents(before, now) / by if before is not None and now is not None else 0.0)
