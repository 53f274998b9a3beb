"""Reports each sounding of a recording: one reading, the string it belongs to, and the advice.

Of all readings of a sounding the last one that is settled and sure counts, not the first, because a plucked
string starts sharp, a string that is being turned ends elsewhere, and a fading one is read less and less
surely.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from device.config.settings import Settings
from device.lesson.advice import Advice, Say
from device.lesson.single import advise
from device.lesson.verdict import SETTLED_AFTER
from device.lesson.verdict import STILL as STILL_WITHIN
from device.lesson.words import sentence
from dsp import Cents, Hz, Reading, Seconds, cents

NEAR_OPEN_STRING = Cents(300.0)  # chosen: the most that a lesson asks to loosen; under half a fourth is 250
AS_SURE = 2.0  # a later reading counts if its error is at most this many times the least one


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
        yield report_on(last_sure(group), settings, fixed)


def last_sure(readings: Iterable[Reading]) -> Reading:
    """Choose, of the readings of one sounding (one at least), the last that is about as sure as the surest.

    The right octave counts more than having settled, and having settled more than standing still.
    """
    kept: Reading | None = None
    least = Cents(0.0)
    for reading in readings:
        better = kept is None or _rank(reading) > _rank(kept)
        if better:
            kept, least = reading, reading.std_error_cents
        elif (
            kept is not None and _rank(reading) == _rank(kept) and reading.std_error_cents <= AS_SURE * least
        ):
            kept, least = reading, min(least, reading.std_error_cents)
    if kept is None:
        raise ValueError("a sounding without a reading has no last one; hand in at least one")
    return kept


def report_on(reading: Reading, settings: Settings, fixed: str | None = None) -> SoundingReport:
    """Report what the box would say to a single reading."""
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
        abs(reading.drift_cents_per_s) < STILL_WITHIN,
    )


def _nothing_near(heard: str, off: Cents) -> str:
    side = "above" if off > 0 else "below"
    return f"No open string is near: this lies {abs(off):.0f} cents {side} {heard}."
