"""How the instrument comes out of its case, in cents off."""

import random
from collections.abc import Mapping
from dataclasses import replace
from enum import Enum
from itertools import pairwise

from demo.instrument import SimInstrument, SimString
from demo.workshop import CONCERT_HZ, Build, strung
from dsp import Cents, Hz, cents, shifted, string_frequencies

COLD_CENTS_PER_K = 0.9  # steel goes sharp by some 9 cents per 10 K (common practice, from memory)


class Start(Enum):
    """How the instrument comes out of its case."""

    FEW_CENTS = "few-cents"
    DRY_WEEK = "dry-week"
    COLD_ROOM = "cold-room"
    SLACK_FIFTH = "slack-fifth"
    SLIPPED_OCTAVE = "slipped-octave"
    TONE_SHARP = "tone-sharp"
    FRESHLY_STRUNG = "freshly-strung"


COLDER_K = (10.0, 30.0)  # how much colder than when it was last tuned, K
ONE_STRING: dict[Start, tuple[float, float]] = {  # how far the one string is off, from and to, in cents
    Start.SLACK_FIFTH: (-790.0, -610.0),
    Start.SLIPPED_OCTAVE: (-1260.0, -1140.0),
    Start.TONE_SHARP: (185.0, 215.0),
    Start.FRESHLY_STRUNG: (-1100.0, -500.0),
}
ALIKE = Cents(45.0)  # two open strings nearer than this cannot be told apart by ear: not drawn


def offsets(start: Start, build: Build, rng: random.Random) -> dict[str, Cents]:
    """How far each string is off at the start, in cents."""
    names = list(build.materials)
    near = {name: Cents(rng.uniform(-12.0, 12.0)) for name in names}
    one = rng.choice(names)
    if start is Start.FEW_CENTS:
        return {name: Cents(rng.choice((-1, -1, 1)) * rng.uniform(4.0, 25.0)) for name in names}
    if start is Start.DRY_WEEK:
        return {name: Cents(rng.uniform(-60.0, -30.0)) for name in names}
    if start is Start.COLD_ROOM:
        sharp = COLD_CENTS_PER_K * rng.uniform(*COLDER_K)
        steel = [name for name in names if build.materials[name].steel]
        return near | {name: Cents(sharp + rng.uniform(-2.0, 2.0)) for name in steel}
    away = near | {one: Cents(rng.uniform(*ONE_STRING[start]))}
    while _alike(away, build):
        away[one] = Cents(rng.uniform(*ONE_STRING[start]))
    return away


def _alike(away: Mapping[str, Cents], build: Build) -> bool:
    """Whether two strings sound so nearly alike that nobody could say which is which."""
    pitches = string_frequencies(build.strings, CONCERT_HZ)
    height = sorted(
        cents(pitch, CONCERT_HZ) + away[string.name]
        for string, pitch in zip(build.strings, pitches, strict=True)
    )
    return any(b - a < ALIKE for a, b in pairwise(height))


def found(start: Start, build: Build, goals: Mapping[str, Hz], rng: random.Random) -> SimInstrument:
    """The instrument as it comes out of its case; `goals` is where its strings belong."""
    away = offsets(start, build, rng)
    pitches = {name: shifted(pitch, away[name]) for name, pitch in goals.items()}
    instrument = strung(build, pitches, rng)
    if start is not Start.FRESHLY_STRUNG:
        return instrument
    new = min(away, key=lambda name: away[name])
    fresh = tuple(_unstretched(s) if s.name == new else s for s in instrument.strings)
    return replace(instrument, strings=fresh)


def _unstretched(string: SimString) -> SimString:
    """The same stretch, but all of its creep still to come."""
    return replace(string, wound_mm=string.wound_mm - string.crept_mm, crept_mm=0.0)
