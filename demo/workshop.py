"""Builds simulated instruments: strung, worn and detuned as a lesson may find them.

Every draw comes from the generator handed in, so a seed gives the same instrument again.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass, replace

from demo.geometry import Shaft, pegs
from demo.instrument import SimInstrument, SimString
from demo.materials import (
    GEAR,
    GEARED_PEG,
    GUT_E,
    LENGTH_MM,
    MATERIALS,
    SCREW_TRAVEL_MM,
    SHAFT_MM,
    SIZES,
    STEEL_CORES,
    TOTAL_LENGTH,
    Material,
)
from dsp import OPEN_STRINGS, Hz, Instrument, OpenString, cents, string_frequencies

CONCERT_HZ = Hz(440.0)  # what the strings are made for: ISO 16:1975
RETUNED_AT_MOST = 300.0  # cents; beyond, a string made for that note is fitted (common practice)


@dataclass(frozen=True, slots=True)
class Build:
    """What is fixed about one instrument before its strings go on."""

    kind: Instrument = Instrument.VIOLIN
    size: str = "4/4"  # a key of SIZES
    left_handed: bool = False
    wooden: bool = True
    screws: str = "all"  # or "highest", or "none"
    steel: bool = False  # a violin whose strings all have steel cores
    gut_e: bool = False  # a violin with a plain gut E
    retuned: tuple[OpenString, ...] | None = None  # five strings or scordatura, low to high

    @property
    def strings(self) -> tuple[OpenString, ...]:
        """Its open strings, low to high."""
        return self.retuned or OPEN_STRINGS[self.kind]

    @property
    def materials(self) -> Mapping[str, Material]:
        """What its strings are made of, by name, low to high."""
        steel = self.steel and self.kind is Instrument.VIOLIN
        usual = STEEL_CORES if steel else MATERIALS[self.kind]
        gut = {"E5": GUT_E} if self.gut_e and self.kind is Instrument.VIOLIN else {}
        made = {**usual, **gut}
        return {string.name: made[_nearest(string, self.kind).name] for string in self.strings}


def _nearest(string: OpenString, kind: Instrument) -> OpenString:
    """The usual string that lies nearest, the lower of two."""
    return min(OPEN_STRINGS[kind], key=lambda usual: abs(usual.note_number - string.note_number))


def made_for(string: OpenString, kind: Instrument) -> Hz:
    """The pitch a string was made for, in Hz: a usual string's where one can be retuned to it."""
    usual, own = string_frequencies((_nearest(string, kind), string), CONCERT_HZ)
    return usual if abs(cents(own, usual)) <= RETUNED_AT_MOST else own


def targets(kind: Instrument, reference_hz: Hz = CONCERT_HZ) -> dict[str, Hz]:
    """Where each open string belongs, by name, low to high."""
    strings = OPEN_STRINGS[kind]
    return {s.name: f for s, f in zip(strings, string_frequencies(strings, reference_hz), strict=True)}


def new_string(build: Build, position: int, stiffer: float = 1.0, stronger: float = 1.0) -> SimString:
    """One string without any stretch, `position` counted from the low side."""
    string = build.strings[position]
    name, pitch = string.name, made_for(string, build.kind)
    material = build.materials[name]
    scale = SIZES[build.size]
    length = LENGTH_MM[build.kind] * scale
    mass = (
        material.tension_n * 1e6 / (2.0 * LENGTH_MM[build.kind] * pitch) ** 2
    )  # the same gauge on every size
    stiffness = stiffer * material.stiffness_n / (TOTAL_LENGTH * length)
    return SimString(
        name,
        length,
        mass,
        stiffness,
        material.breaking_n * stronger,
        _shaft(build, position),
        SHAFT_MM[build.kind] * (0.5 + 0.5 * scale),
        creep=material.creep,
        gear=GEAR.get(build.kind, 1.0 if build.wooden else GEARED_PEG),
        wooden=build.wooden and build.kind not in GEAR,
        has_screw=_has_screw(build, position),
    )


def _shaft(build: Build, position: int) -> Shaft:
    """The peg; machine heads differ from maker to maker, and here all of them wind up clockwise."""
    count = len(build.strings)
    return pegs(count, build.left_handed)[position] if build.kind not in GEAR else pegs(count, False)[-1]


def _has_screw(build: Build, position: int) -> bool:
    highest = position == len(build.strings) - 1
    return build.kind not in GEAR and (build.screws == "all" or (build.screws == "highest" and highest))


def strung(build: Build, pitches: Mapping[str, Hz], rng: random.Random | None = None) -> SimInstrument:
    """An instrument that sounds `pitches`, its strings long since stretched in.

    With a generator, stiffness varies by +-50 %, breaking load by -15 to +30 %, and each screw
    stands somewhere in the middle half of its travel.
    """
    strings = []
    for i in range(len(build.strings)):
        spread = (rng.uniform(0.5, 1.5), rng.uniform(0.85, 1.3)) if rng else (1.0, 1.0)
        screw = SCREW_TRAVEL_MM * (rng.uniform(0.25, 0.75) if rng else 0.5)
        strings.append(replace(new_string(build, i, *spread), screw_mm=screw))
    return retuned(SimInstrument(tuple(strings)), pitches)


def retuned(instrument: SimInstrument, pitches: Mapping[str, Hz]) -> SimInstrument:
    """Wind every peg so that the strings sound `pitches` together; creep has come to its end."""
    pulls = {s.name: s.tension_at(pitches[s.name]) for s in instrument.strings}
    total = sum(pulls.values())
    placed = []
    for string in instrument.strings:
        pull = pulls[string.name]
        stretch = pull / string.stiffness_n_per_mm + instrument.body_mm_per_n * (total - pull)
        before_creep = stretch / (1.0 - string.creep)
        crept = string.creep * before_creep
        placed.append(replace(string, wound_mm=before_creep - string.screw_mm, crept_mm=crept))
    return replace(instrument, strings=tuple(placed))
