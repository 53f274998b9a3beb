"""Row on the viola, the cello and the double bass."""

from dsp import Instrument
from tests.bench.common import Sizes, cases, names
from tests.bench.report import Table
from tests.bench.rows_pitch import window_columns
from tests.bench.rows_time import low_instruments_time


def low(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    times: list[tuple[object, ...]] = []
    gross: list[str] = []
    for instrument in (Instrument.VIOLA, Instrument.CELLO, Instrument.DOUBLE_BASS):
        for name in names(instrument):
            sizes.progress(f"low: {instrument.value} {name}")
            row, wrong = window_columns(cases(instrument, name, sizes.of(100), 20.0), (0.3, 0.6, 1.0))
            rows.append((instrument.value, name, *row))
            if wrong > 0.02 * sizes.of(100):
                gross.append(f"low: {instrument.value} {name}: {wrong} of {sizes.of(100)} wrong")
        times += low_instruments_time(sizes, instrument)
    columns = ["instrument", "string", "plucks", "wrong", "no reading at 0.3 s"]
    for w in (0.3, 0.6, 1.0):
        columns += [f"median {w} s", f"95 % {w} s", f"bias {w} s"]
    time_columns = (
        "instrument",
        "string",
        "plucks",
        "any, ms",
        "5 cents, ms",
        "95 %",
        "never",
        "1 cent, ms",
        "95 %",
        "never",
    )
    return [
        Table(
            "low",
            "Viola, cello and double bass, 20 dB",
            "no octave error",
            tuple(columns),
            tuple(rows),
            tuple(gross),
        ),
        Table(
            "low_time",
            "Viola, cello and double bass: time to a reading",
            "reported",
            time_columns,
            tuple(times),
        ),
    ]
