"""Measures the tracker's errors on synthetic plucks, for `reading_table.py`.

    python -m demo.measure > demo/reading_table.py

Plucks are as `dsp.synthesis.realistic_manner` draws them, 40 cents around each open string of the
violin, in the demo's room; the errors count from the pitch that the pluck settles on. Takes minutes.
"""

import numpy as np
import numpy.typing as npt

from demo.room import LEAD_S, RATE_HZ, Room
from device.config.settings import Settings
from dsp import Cents, Hz, PitchTracker, Seconds, cents, shifted

PLUCKS = 60
SEED = 20
TIMES_S = (0.1, 0.16, 0.25, 0.36, 0.5, 0.7, 0.9, 1.1)
LASTS_S = 1.2


def errors_of(pitch: Hz, seed: int) -> list[tuple[float, float]]:
    """Error and standard error in cents at each of `TIMES_S`; NaN where there was no reading yet."""
    settings = Settings()
    room = Room(RATE_HZ, seed)
    room.pluck(Seconds(LEAD_S), pitch)
    tracker = PitchTracker(RATE_HZ, *settings.tracking_range)
    readings = tracker.feed(room.sound(0, round((LEAD_S + LASTS_S) * RATE_HZ)))
    found = []
    for since in TIMES_S:
        before = [r for r in readings if r.time_s - LEAD_S <= since and r.pluck == 1]
        last = before[-1] if before else None
        found.append(
            (cents(last.frequency_hz, pitch), float(last.std_error_cents)) if last else (np.nan, np.nan)
        )
    return found


def row_of(
    errors: npt.NDArray[np.float64], std_errors: npt.NDArray[np.float64]
) -> tuple[float, float, float] | None:
    """Median error, robust spread, median standard error; None where half the plucks have no reading."""
    known = ~np.isnan(errors)
    if known.mean() < 0.5:
        return None
    errors, std_errors = errors[known], std_errors[known]
    low, high = np.percentile(errors, [2.5, 97.5])
    return float(np.median(errors)), float(high - low) / 3.92, float(np.median(std_errors))


def table_lines() -> list[str]:
    """The module `reading_table` as text."""
    rng = np.random.default_rng(SEED)
    lines = [HEAD]
    for name, target in Settings().targets.items():
        pitches = [shifted(target, Cents(rng.uniform(-40.0, 40.0))) for _ in range(PLUCKS)]
        found = np.array([errors_of(pitch, SEED * 10_000 + i) for i, pitch in enumerate(pitches)])
        lines += [f'    "{name}": StringRows(', f"        {target:.2f},", "        ("]
        for i, since in enumerate(TIMES_S):
            row = row_of(found[:, i, 0], found[:, i, 1])
            if row is not None:
                lines.append(f"            Row({since:.2f}, {row[0]:.3f}, {row[1]:.3f}, {row[2]:.3f}),")
        lines += ["        ),", "    ),"]
    return [*lines, "}"]


HEAD = f'''"""How far the real tracker's readings are off, by string and time since the pluck.

Written by `python -m demo.measure`: {PLUCKS} plucks a string, seed {SEED}.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """Readings at one time after the pluck; errors in cents, sharp positive."""

    since_s: float
    bias: float  # median error
    spread: float  # a quarter of the stretch that holds 95 % of the errors, as of a normal law
    std_error: float  # median of what the tracker says of itself


@dataclass(frozen=True, slots=True)
class StringRows:
    """One open string."""

    hz: float
    rows: tuple[Row, ...]


ROWS = {{'''

if __name__ == "__main__":
    print("\n".join(table_lines()))
