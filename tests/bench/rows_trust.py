"""Rows on whether the tracker knows what it does not know: its standard error and its octave doubt."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from dsp import Instrument, Reading, Samples
from dsp.synthesis import Manner, Swings, drawn_manner, pink_noise, white_noise
from tests.bench import rooms
from tests.bench.bound import gliding_bound_cents
from tests.bench.common import (
    SKIP_S,
    WRONG_CENTS,
    Case,
    Sizes,
    at,
    cases,
    error_cents,
    names,
    off_by,
    readings,
)
from tests.bench.report import Table, median, share

VIOLIN = Instrument.VIOLIN
ONE_SWING = partial(drawn_manner, swings=Swings.SIDEWAYS)
MOMENTS = (0.1, 0.3, 1.0)  # seconds
MOST_BOUNDS = 40  # plucks whose bound is computed
HARD_NOISES: dict[str, Callable[[int, int], Samples]] = {
    "white": white_noise,
    "pink": pink_noise,
    "another violin": rooms.other_violin,
}


def honesty(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    for snr_db in (10.0, 20.0, 30.0):
        for name in names(VIOLIN):
            sizes.progress(f"honesty: {name} at {snr_db:.0f} dB")
            batch = list(cases(VIOLIN, name, sizes.of(200), snr_db, ONE_SWING))
            rows.append((f"{snr_db:.0f}", name, *_honesty_cells(batch)))
    columns = ["SNR dB", "string", f"median error {MOMENTS[0]} s", "median bound, start unknown"]
    for w in MOMENTS:
        columns += [f"readings {w} s", "% inside 1", "% inside 2"]
    goal = "60..76 % of errors inside 1, 92..99 % inside 2 standard errors (single swing; cents)"
    return [Table("honesty", "Is std_error_cents honest?", goal, tuple(columns), tuple(rows))]


def _honesty_cells(batch: list[Case]) -> list[object]:
    """The errors at the first moment beside the bound; then how many lie within their standard errors."""
    found = [_errors(case) for case in batch]
    first = MOMENTS[0]
    least = [gliding_bound_cents(case, SKIP_S, SKIP_S + first) for case in batch[:MOST_BOUNDS]]
    row: list[object] = [median([abs(e[first][0]) for e in found if first in e]), median(least)]
    for w in MOMENTS:
        size = np.array([abs(error) / deviation for error, deviation in (e[w] for e in found if w in e)])
        row += [size.size, *(100.0 * float(np.mean(size <= n)) if size.size else None for n in (1.0, 2.0))]
    return row


def _errors(case: Case) -> dict[float, tuple[float, float]]:
    """The error of the reading at each moment and what it says of it, in cents."""
    said = readings(case.sound(SKIP_S + max(MOMENTS) + 0.02), case.range)
    found = {w: at(said, case.manner.lead_s + SKIP_S + w) for w in MOMENTS}
    return {w: (error_cents(r.frequency_hz, case), r.std_error_cents) for w, r in found.items() if r}


@dataclass
class Doubts:
    """The octave doubt of right readings, of readings octaves off, and of other wrong ones."""

    right: list[float] = field(default_factory=list)
    octave: list[float] = field(default_factory=list)
    other: list[float] = field(default_factory=list)

    def add(self, reading: Reading, case: Case) -> None:
        off = off_by(reading.frequency_hz, case.frequency)
        octaves = round(off / 1200.0)
        if abs(off) <= WRONG_CENTS:
            self.right.append(reading.octave_doubt)
        elif octaves and abs(off - 1200.0 * octaves) <= WRONG_CENTS:
            self.octave.append(reading.octave_doubt)
        else:
            self.other.append(reading.octave_doubt)


def octave_doubt(sizes: Sizes) -> list[Table]:
    """Readings in ever worse conditions, so that some octaves are wrong."""
    doubts = Doubts()
    for case, sound in _hard_scenes(sizes):
        for r in readings(sound, case.range):
            if r.time_s > case.manner.lead_s + SKIP_S:
                doubts.add(r, case)
    kinds = {"right": doubts.right, "octaves off": doubts.octave, "another note": doubts.other}
    rows = [
        (kind, len(d), share(sum(x < 0.1 for x in d), len(d)), share(sum(x > 0.5 for x in d), len(d)))
        for kind, d in kinds.items()
    ]
    goal = "above 0.5 on at least 95 % of wrong octaves, under 0.1 on at least 99 % of right ones"
    columns = ("reading", "count", "under 0.1", "above 0.5")
    return [Table("octave_doubt", "Does octave_doubt know?", goal, columns, tuple(rows))]


def _hard_scenes(sizes: Sizes) -> Iterator[tuple[Case, Samples]]:
    for snr_db in (20.0, 10.0, 5.0, 0.0, -5.0):
        for kind, noise in HARD_NOISES.items():
            sizes.progress(f"octave doubt: {kind} at {snr_db:.0f} dB")
            for name in names(VIOLIN):
                for point in (0.2, 0.33, 0.5):
                    manner = partial(_at_point, point)
                    for case in cases(VIOLIN, name, sizes.of(30), snr_db, manner, first_seed=30_000):
                        yield case, case.sound(0.6, noise)


def _at_point(point: float, seed: int) -> Manner:
    return replace(drawn_manner(seed), point=point)
