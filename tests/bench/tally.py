"""Errors of many notes at the ends of some windows, and the cells of a table made of them."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from tests.bench.common import SKIP_S, WRONG_CENTS, Case, at, error_cents, readings
from tests.bench.report import median, percentile

LATE_S = 0.3  # a note without a reading by then counts as not read


@dataclass
class Tally:
    """Counts and signed errors; a wrong octave or note is counted and left out of the errors."""

    windows: tuple[float, ...]
    count: int = 0
    wrong: int = 0
    absent: int = 0
    errors: dict[float, list[float]] = field(default_factory=dict)

    def add(self, off: dict[float, float]) -> None:
        """One more note: cents off at the end of each window that had a reading."""
        self.count += 1
        self.wrong += any(abs(e) > WRONG_CENTS for e in off.values())
        self.absent += LATE_S not in off
        for window, error in off.items():
            if abs(error) <= WRONG_CENTS:
                self.errors.setdefault(window, []).append(error)

    def cells(self) -> list[object]:
        """Count, wrong, not read; then median, 95 % and bias of each window."""
        row: list[object] = [self.count, self.wrong, self.absent]
        for window in self.windows:
            errors = self.errors.get(window, [])
            size = [abs(e) for e in errors]
            row += [median(size), percentile(size, 95), float(np.mean(errors)) if errors else None]
        return row

    def rms(self, window: float) -> float | None:
        errors = self.errors.get(window, [])
        return float(np.sqrt(np.mean(np.square(errors)))) if errors else None


def headings(windows: Iterable[float]) -> list[str]:
    """The columns of `Tally.cells`."""
    columns = ["plucks", "wrong", f"no reading at {LATE_S} s"]
    for window in windows:
        columns += [f"median {window} s", f"95 % {window} s", f"bias {window} s"]
    return columns


def tallied(batch: Iterable[Case], windows: tuple[float, ...]) -> Tally:
    """The tracker over many notes."""
    tally = Tally(windows)
    for case in batch:
        tally.add(errors_at(case, windows))
    return tally


def errors_at(case: Case, windows: tuple[float, ...]) -> dict[float, float]:
    """Cents outside the true stretch at the end of each window that begins 30 ms after the pluck."""
    said = readings(case.sound(SKIP_S + max(windows) + 0.02), case.range)
    found = {w: at(said, case.manner.lead_s + SKIP_S + w) for w in windows}
    return {w: error_cents(r.frequency_hz, case) for w, r in found.items() if r}
