"""What every row of the benchmark shares: the strings, the sounds, and the tracker run over them.

Seeds: constants of the tracker were chosen on seeds below 4000 and on minutes of speech and music of seeds
20000 and 41000 (`dsp.tracker` says which). What is reported here uses seeds from 10000 up, none of those
two, so no figure comes from a sound that was used for choosing.
"""

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    PitchTracker,
    Reading,
    Samples,
    Seconds,
    cents,
    shifted,
    string_frequencies,
    tracking_range,
)
from dsp.synthesis import PIZZICATO, Manner, drawn_manner, outside_stretch, pluck, white_noise, with_noise

RATE = 48000.0
FIRST_SEED = 10_000
LEAD_S = Seconds(0.5)  # of the room's noise before the pluck
SKIP_S = 0.03  # windows begin this long after the pluck, as the start is no tone yet
BLOCK = 480  # samples in a block, 10 ms
WRONG_CENTS = 50.0  # further off than this is another note


@dataclass(frozen=True)
class Case:
    """One note of one string: what is plucked, how, and in how much noise."""

    instrument: Instrument
    string: str
    frequency: Hz
    manner: Manner
    snr_db: float
    seed: int

    @property
    def range(self) -> tuple[Hz, Hz]:
        return wall_range(self.instrument)

    def clean(self, duration_s: float) -> Samples:
        """The lead of silence and `duration_s` of the note."""
        harmonics = PIZZICATO[self.instrument][self.string]
        total = Seconds(self.manner.lead_s + duration_s)
        return pluck(self.frequency, total, RATE, harmonics=harmonics, manner=self.manner, seed=self.seed)

    def sound(self, duration_s: float, noise: Callable[[int, int], Samples] = white_noise) -> Samples:
        clean = self.clean(duration_s)
        return with_noise(clean, noise(clean.size, self.seed), self.snr_db, RATE, start_s=self.manner.lead_s)


@dataclass(frozen=True)
class Sizes:
    """How much of each row to run: 1 for the figures, less for a first look."""

    scale: float = 1.0
    recorded: Path | None = None  # folder of recorded plucks
    progress: Callable[[str], None] = field(default=lambda text: print(text, file=sys.stderr, flush=True))

    def of(self, full: int) -> int:
        return max(2, round(full * self.scale))


def names(instrument: Instrument) -> list[str]:
    return [string.name for string in OPEN_STRINGS[instrument]]


def open_frequency(instrument: Instrument, name: str) -> Hz:
    frequencies = string_frequencies(OPEN_STRINGS[instrument], Hz(440.0))
    return frequencies[names(instrument).index(name)]


def wall_range(instrument: Instrument) -> tuple[Hz, Hz]:
    return tracking_range(string_frequencies(OPEN_STRINGS[instrument], Hz(440.0)))


def cases(
    instrument: Instrument,
    string: str,
    count: int,
    snr_db: float,
    manner: Callable[[int], Manner] = drawn_manner,
    detune: tuple[float, float] = (-50.0, 50.0),
    first_seed: int = FIRST_SEED,
) -> Iterator[Case]:
    """Notes of one string, detuned evenly within `detune` cents, each with its own seed."""
    for seed in range(first_seed, first_seed + count):
        rng = np.random.default_rng((seed, 5))
        frequency = shifted(open_frequency(instrument, string), Cents(rng.uniform(*detune)))
        made = manner(seed)
        lead = Seconds(LEAD_S + rng.uniform(0.0, 0.01))  # no fixed place within a block
        yield Case(instrument, string, frequency, _led(made, lead), snr_db, seed)


def readings(sound: Samples, limits: tuple[Hz, Hz], rate: float = RATE, block: int = BLOCK) -> list[Reading]:
    """All the tracker says of a sound fed in blocks."""
    tracker = PitchTracker(rate, *limits)
    said: list[Reading] = []
    for start in range(0, sound.size, block):
        said += tracker.feed(sound[start : start + block])
    return said


def at(said: Sequence[Reading], moment_s: float, patience_s: float = 0.04) -> Reading | None:
    """The last reading up to a moment, if it is not older than `patience_s`."""
    before = [r for r in said if moment_s - patience_s <= r.time_s <= moment_s + 1e-6]
    return before[-1] if before else None


def error_cents(reading_hz: float, case: Case) -> float:
    """Cents off the true pitch of the case; 0 inside the stretch of its two swings."""
    return outside_stretch(Hz(reading_hz), case.frequency, case.manner)


def off_by(reading_hz: float, target_hz: float) -> float:
    return cents(Hz(reading_hz), Hz(target_hz))


def _led(manner: Manner, lead: Seconds) -> Manner:
    return replace(manner, lead_s=lead)
