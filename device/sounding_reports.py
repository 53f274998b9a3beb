"""Reports each sounding of a recording: one combined reading, the string it belongs to, and the advice.

A recording is at hand as a whole, so all good readings of a sounding count, each by how sure it is. Left out
are those whose octave is in doubt, those of the sharp start, and those before a turn: a string that is turned
ends elsewhere.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from device.config.settings import Settings
from device.lesson.advice import Advice, Say
from device.lesson.evidence import STILL as STILL_WITHIN
from device.lesson.evidence import SURE
from device.lesson.single import advise
from device.lesson.verdict import SETTLED_AFTER
from device.lesson.words import sentence
from dsp import Cents, Hz, Reading, Seconds, cents, shifted

_LEAST_ERROR = 1e-3  # cents: none is surer, and a weight stays finite
NEAR_OPEN_STRING = Cents(300.0)  # chosen: the most that a lesson asks to loosen; under half a fourth is 250


@dataclass(frozen=True, slots=True)
class SoundingReport:
    """One sounding of a string: what was heard, which string is meant, and what to do."""

    pluck: int
    time_s: Seconds  # its start, from the start of the recording
    string: str | None  # aimed at; None where no open string is near
    heard: str  # the open string it is closest to
    frequency_hz: Hz
    cents: Cents | None  # from `string`; None without one
    std_error_cents: Cents
    spread_cents: Cents  # of the readings that were combined, one standard deviation
    advice: Advice
    sentence: str

    @property
    def in_tune(self) -> bool:
        """Whether the string is right."""
        return self.advice.say is Say.RIGHT


def sounding_reports(
    readings: Iterable[Reading], settings: Settings, fixed: str | None = None
) -> Iterator[SoundingReport]:
    """One sounding for each `pluck` of the readings; `fixed` names the string all of them are meant for."""
    for _pluck, group in groupby(readings, key=lambda reading: reading.pluck):
        together = combined(group)
        yield report_on(together.reading, settings, fixed, together.spread_cents)


@dataclass(frozen=True, slots=True)
class Combined:
    """What all readings of one sounding say together."""

    reading: Reading  # the last that counted, with the common pitch and its error
    spread_cents: Cents  # of those that counted about that pitch, one standard deviation
    readings: list[Reading]  # those that counted


def combined(readings: Iterable[Reading]) -> Combined:
    """Combine the best readings of one sounding (one at least), each weighted by its inverse variance.

    The right octave counts more than having settled, and having settled more than standing still. All of them
    heard much the same sound, so together they are no surer than each of them is, nor than they agree. What
    was read before the string seemed to be turned counts if it agrees with what was read after.
    """
    stretches = _stretches(list(readings))
    together = _together(stretches.pop())
    while stretches and _agree(_together(stretches[-1]), together):
        together = _together(stretches.pop() + together.readings)
    return together


def _together(readings: list[Reading]) -> Combined:
    last = readings[-1]
    weights = [max(reading.std_error_cents, _LEAST_ERROR) ** -2.0 for reading in readings]
    off = [cents(reading.frequency_hz, last.frequency_hz) for reading in readings]
    middle = _mean(off, weights)
    spread = math.sqrt(_mean([(one - middle) ** 2 for one in off], weights))
    usual = math.sqrt(_mean([reading.std_error_cents**2 for reading in readings], weights))
    pitch = shifted(last.frequency_hz, Cents(middle))
    surely = replace(last, frequency_hz=pitch, std_error_cents=Cents(max(usual, spread)))
    return Combined(surely, Cents(spread), readings)


def _agree(one: Combined, other: Combined) -> bool:
    """Whether a string that seemed to be turned stands where it stood before."""
    error = math.hypot(one.reading.std_error_cents, other.reading.std_error_cents)
    return abs(cents(one.reading.frequency_hz, other.reading.frequency_hz)) <= SURE * error


def _mean(values: Sequence[float], weights: Sequence[float]) -> float:
    return sum(v * w for v, w in zip(values, weights, strict=True)) / sum(weights)


def _stretches(readings: list[Reading]) -> list[list[Reading]]:
    """Those of the best rank, parted where the string was being turned; none is empty."""
    if not readings:
        raise ValueError("a sounding without a reading cannot be reported; hand in at least one")
    best = max(map(_rank, readings))
    good = [reading for reading in readings if _rank(reading) == best]
    if not best[1] or _moves(good[-1]):
        return [good[-1:]]  # each is nearer to where it ends than the one before
    parted = groupby(readings, key=_moves)
    stretches = [[one for one in part if _rank(one) == best] for moves, part in parted if not moves]
    return [stretch for stretch in stretches if stretch]


def report_on(
    reading: Reading, settings: Settings, fixed: str | None = None, spread: Cents = Cents(0.0)
) -> SoundingReport:
    """Report what the box would say to a reading; `spread` is that of the readings it was combined from."""
    frequency = settings.corrected(reading.frequency_hz)
    distances = {name: cents(frequency, target) for name, target in settings.targets.items()}
    heard = min(distances, key=lambda name: abs(distances[name]))
    string = fixed or (heard if abs(distances[heard]) <= NEAR_OPEN_STRING else None)
    if string is None:
        advice, words = Advice(Say.ASK_TEACHER), _nothing_near(heard, distances[heard])
    else:
        advice = _advice(string, heard, distances[string], reading, settings)
        words = sentence(advice, settings)
    return SoundingReport(
        pluck=reading.pluck,
        time_s=Seconds(reading.time_s - reading.since_pluck_s),
        string=string,
        heard=heard,
        frequency_hz=frequency,
        cents=None if string is None else distances[string],
        std_error_cents=reading.std_error_cents,
        spread_cents=spread,
        advice=advice,
        sentence=words,
    )


def _advice(string: str, heard: str, off: Cents, reading: Reading, settings: Settings) -> Advice:
    """A single reading that is nearer to another open string says nothing about the one that is meant."""
    if heard != string:
        return Advice(Say.OTHER_STRING, heard=heard)
    return advise(string, off, reading.std_error_cents, reading.octave_doubt, settings)


def _rank(reading: Reading) -> tuple[bool, bool, bool]:
    return (
        reading.octave_doubt <= 0.5,  # more likely right than wrong
        reading.since_pluck_s >= SETTLED_AFTER,
        not _moves(reading),
    )


def _moves(reading: Reading) -> bool:
    return abs(reading.drift_cents_per_s) >= STILL_WITHIN


def _nothing_near(heard: str, off: Cents) -> str:
    side = "above" if off > 0 else "below"
    return f"No open string is near: this lies {abs(off):.0f} cents {side} {heard}."
