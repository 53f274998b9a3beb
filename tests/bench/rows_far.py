"""Rows on strings that are far off, and on notes outside the range the wall listens to."""

from dsp import Instrument
from tests.bench.common import LEAD_S, Sizes, cases, names, readings, wall_range
from tests.bench.report import Table
from tests.bench.tally import headings, tallied

VIOLIN = Instrument.VIOLIN
SHIFTS = (-1450.0, -1200.0, -702.0, -300.0, 300.0, 700.0)  # cents


def far_off(sizes: Sizes) -> list[Table]:
    windows = (0.1, 0.3)
    rows: list[tuple[object, ...]] = []
    for shift in SHIFTS:
        sizes.progress(f"far off: {shift:+.0f} cents")
        for name in names(VIOLIN):
            batch = cases(VIOLIN, name, sizes.of(50), 20.0, detune=(shift - 20.0, shift + 20.0))
            rows.append((f"{shift:+.0f}", name, *tallied(batch, windows).cells()))
    columns = ("off", "string", *headings(windows))
    table = Table("far_off", "Strings far off, 20 dB", "right pitch, right octave", columns, tuple(rows))
    return [table, _outside_range(sizes)]


def _outside_range(sizes: Sizes) -> Table:
    """Notes below and above the wall's range: no reading is right."""
    rows: list[tuple[object, ...]] = []
    limits = wall_range(VIOLIN)
    for label, name, shift in (
        ("below", "G3", -1700.0),
        ("far below", "G3", -2400.0),
        ("above", "E5", 1400.0),
    ):
        batch = list(cases(VIOLIN, name, sizes.of(50), 20.0, detune=(shift - 50.0, shift + 50.0)))
        with_reading = sum(any(r.time_s > LEAD_S for r in readings(c.sound(1.0), limits)) for c in batch)
        rows.append((label, f"{name} {shift:+.0f}", len(batch), with_reading))
    columns = ("where", "string and cents", "plucks", "plucks with any reading")
    return Table(
        "outside_range", "Outside the wall's range", "no reading, never its octave", columns, tuple(rows)
    )
