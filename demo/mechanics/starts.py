"""How the instrument comes out of its case, in cents off; all ranges invented."""

import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from enum import Enum
from itertools import pairwise

from demo.mechanics.build import CONCERT_HZ, Build, DrawnBuild, string_up
from demo.mechanics.cores import AGEING, Range
from demo.mechanics.instrument import SimInstrument
from demo.mechanics.strings import SimString
from dsp import Cents, Hz, cents, shifted, string_frequencies

COLD_CENTS_PER_K = 0.9  # steel goes sharp by some 9 cents per 10 K (common practice, from memory)


class Start(Enum):
    """How the instrument comes out of its case."""

    FEW_CENTS = "few-cents"
    TWENTY_OFF = "twenty-off"
    THIRTY_FLAT = "thirty-flat"
    DRY_WEEK = "dry-week"
    NINETY_FLAT = "ninety-flat"
    HUNDRED_TWENTY_FLAT = "hundred-twenty-flat"
    TWO_FAR_FLAT = "two-far-flat"
    TONE_FLAT = "tone-flat"
    SLACK_FIFTH = "slack-fifth"
    SLIPPED_OCTAVE = "slipped-octave"
    SLACK_SET = "slack-set"
    ALL_SHARP = "all-sharp"
    COLD_ROOM = "cold-room"
    TONE_SHARP = "tone-sharp"
    HIGHEST_TOO_HIGH = "highest-too-high"
    TUNER_AT_END = "tuner-at-end"
    FRESHLY_STRUNG = "freshly-strung"
    STRING_MISSING = "string-missing"
    ANOTHER_SIZE = "another-size"  # than is set; otherwise some thirty cents flat
    ANOTHER_KIND = "another-kind"  # a violin where the box is set to something else


COLDER_K = (10.0, 30.0)  # how much colder than when it was last tuned, K
NEARLY_IN_TUNE: Range = (-12.0, 12.0)
ALL_STRINGS: dict[Start, Range] = {  # how far each string is off, from and to, in cents
    Start.THIRTY_FLAT: (-33.0, -27.0),
    Start.ANOTHER_SIZE: (-40.0, -20.0),
    Start.ANOTHER_KIND: NEARLY_IN_TUNE,
    Start.DRY_WEEK: (-60.0, -30.0),
    Start.NINETY_FLAT: (-98.0, -82.0),
    Start.HUNDRED_TWENTY_FLAT: (-128.0, -112.0),
    Start.TONE_FLAT: (-215.0, -185.0),
    Start.SLACK_SET: (-1260.0, -1140.0),
    Start.ALL_SHARP: (10.0, 40.0),
}
ONE_STRING: dict[Start, Range] = {  # how far the one string is off; the others stand near
    Start.SLACK_FIFTH: (-790.0, -610.0),
    Start.SLIPPED_OCTAVE: (-1260.0, -1140.0),
    Start.TONE_SHARP: (185.0, 215.0),
    Start.FRESHLY_STRUNG: (-1100.0, -500.0),
    Start.STRING_MISSING: NEARLY_IN_TUNE,
}
EITHER_WAY: dict[Start, Range] = {Start.FEW_CENTS: (4.0, 25.0), Start.TWENTY_OFF: (17.0, 23.0)}
FAR_FLAT: Range = (-260.0, -155.0)
TOO_HIGH: Range = (450.0, 500.0)  # the highest string, a fourth up
BELOW_IT = Cents(-12.0)  # where the others stand then; the design's figure
AT_END: Range = (18.0, 40.0)  # how far off a string is whose fine tuner has come to its end
ALIKE_RANGE = Cents(45.0)  # two open strings nearer than this cannot be told apart by ear: not drawn
CARRIES = 0.92  # of its breaking load, at most, before anybody turns anything

StartOffsets = dict[str, Cents]


def offsets(start: Start, build: Build, rng: random.Random) -> StartOffsets:
    """How far each string is off at the start, in cents."""
    names = [string.name for string in build.strings]
    if start in ALL_STRINGS:
        return _each(names, ALL_STRINGS[start], rng)
    if start in EITHER_WAY:
        return {name: Cents(rng.choice((-1, -1, 1)) * rng.uniform(*EITHER_WAY[start])) for name in names}
    near = _each(names, NEARLY_IN_TUNE, rng)
    if start is Start.HIGHEST_TOO_HIGH:
        return dict.fromkeys(names, BELOW_IT) | {names[-1]: Cents(rng.uniform(*TOO_HIGH))}
    if start is Start.TWO_FAR_FLAT:
        return near | _each(rng.sample(names, 2), FAR_FLAT, rng)
    return near if start is Start.COLD_ROOM else _one_away(near, start, build, rng)


def _each(names: list[str], values: Range, rng: random.Random) -> StartOffsets:
    return {name: Cents(rng.uniform(*values)) for name in names}


def _one_away(near: StartOffsets, start: Start, build: Build, rng: random.Random) -> StartOffsets:
    """One string off by itself, but never so that it sounds like another."""
    one = rng.choice(list(near))
    if start is Start.TUNER_AT_END:
        return near | {one: Cents(rng.choice((-1, 1)) * rng.uniform(*AT_END))}
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
    return any(b - a < ALIKE_RANGE for a, b in pairwise(height))


def found(start: Start, build: Build, goals: Mapping[str, Hz], rng: random.Random) -> SimInstrument:
    """The instrument as it comes out of its case; `goals` is where its strings belong."""
    away = offsets(start, build, rng)
    instrument = string_up(build, {name: shifted(hz, away[name]) for name, hz in goals.items()}, rng)
    if start is Start.COLD_ROOM:
        instrument = _cold(instrument, goals, away, rng)
    instrument = _spared(instrument)
    one = max(away, key=lambda name: abs(away[name]))
    change = CHANGES.get(start)
    return instrument if change is None else change(instrument, one, away[one], rng)


def _cold(
    instrument: SimInstrument, goals: Mapping[str, Hz], away: StartOffsets, rng: random.Random
) -> SimInstrument:
    """Steel gone sharp; it warms up in the room while it is tuned."""
    colder = rng.uniform(*COLDER_K)
    steel = {s.name for s in instrument.strings if s.core.steel}
    off = {n: Cents(a + (COLD_CENTS_PER_K * colder if n in steel else 0.0)) for n, a in away.items()}
    tuned = instrument.tuned_to({name: shifted(hz, off[name]) for name, hz in goals.items()})
    return replace(tuned, colder_k=colder)


def _spared(instrument: SimInstrument) -> SimInstrument:
    """No string comes out of the case on the point of breaking."""
    loads = instrument.loads()
    strong = (
        replace(s, breaking_n=s.breaking_n * max(loads[s.name] / CARRIES, 1.0)) for s in instrument.strings
    )
    return replace(instrument, strings=tuple(strong))


def _with(instrument: SimInstrument, changed: SimString) -> SimInstrument:
    strings = tuple(changed if s.name == changed.name else s for s in instrument.strings)
    return replace(instrument, strings=strings)


def _unstretched(instrument: SimInstrument, one: str, _off: Cents, rng: random.Random) -> SimInstrument:
    """The same pitch, but new: all of its sinking still to come."""
    string = instrument.string(one)
    sinks = DrawnBuild(rng).between(AGEING[string.core].sinks_new)
    return _with(instrument, replace(string, natural_mm=string.slack_mm, sunk_mm=0.0, sinks=sinks))


def _tuner_at_end(instrument: SimInstrument, one: str, off: Cents, _rng: random.Random) -> SimInstrument:
    """The same pitch, the screw at the end that its string would need: in when flat, out when sharp."""
    string = instrument.string(one)
    if string.screw is None:
        return instrument
    at = string.screw.travel_mm if off < 0.0 else 0.0
    pitches = {name: hz for name, hz in instrument.pitches().items() if hz is not None}
    return _with(instrument, replace(string, screw=replace(string.screw, at_mm=at))).tuned_to(pitches)


def _missing(instrument: SimInstrument, one: str, _off: Cents, _rng: random.Random) -> SimInstrument:
    return instrument.without(one)


Change = Callable[[SimInstrument, str, Cents, random.Random], SimInstrument]
CHANGES: dict[Start, Change] = {
    Start.FRESHLY_STRUNG: _unstretched,
    Start.TUNER_AT_END: _tuner_at_end,
    Start.STRING_MISSING: _missing,
}
