"""Rows on the viola, the cello and the double bass."""

from dsp import Instrument
from tests.bench.common import Sizes, cases, names
from tests.bench.report import Table
from tests.bench.rows_time import TIME_COLUMNS, time_rows
from tests.bench.tally import headings, tallied

LOW = (Instrument.VIOLA, Instrument.CELLO, Instrument.DOUBLE_BASS)


def low(sizes: Sizes) -> list[Table]:
    windows = (0.3, 0.6, 1.0)
    rows: list[tuple[object, ...]] = []
    gross: list[str] = []
    for instrument in LOW:
        for name in names(instrument):
            sizes.progress(f"low: {instrument.value} {name}")
            tally = tallied(cases(instrument, name, sizes.of(100), 20.0), windows)
            rows.append((instrument.value, name, *tally.cells()))
            if tally.wrong > 0.02 * tally.count:
                gross.append(f"low: {instrument.value} {name}: {tally.wrong} of {tally.count} wrong")
    columns = ("instrument", "string", *headings(windows))
    title = "Viola, cello and double bass, 20 dB"
    return [Table("low", title, "no octave error", columns, tuple(rows), tuple(gross)), _low_time(sizes)]


def _low_time(sizes: Sizes) -> Table:
    rows = [row for instrument in LOW for row in time_rows(sizes, instrument)]
    title = "Viola, cello and double bass: time to a reading"
    return Table("low_time", title, "reported", TIME_COLUMNS, tuple(rows))
