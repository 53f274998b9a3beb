"""Rows on plucks that glide, with both swings: by string, by method, and on odd strings and fingers."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from dsp import Instrument
from dsp.synthesis import Manner, drawn_manner
from dsp.synthesis.manner import STEEL_E_INHARMONICITY
from tests.bench.common import RATE, SKIP_S, WRONG_CENTS, Case, Sizes, at, cases, error_cents, names, readings
from tests.bench.peers import Estimate, available
from tests.bench.report import Table, median, percentile, share
from tests.bench.tally import headings, tallied

VIOLIN = Instrument.VIOLIN
WINDOWS = (0.1, 0.3, 0.6, 1.0)
PEER_WINDOWS = (0.1, 0.3)
Ask = Callable[[Case, float], float | None]


def plucks(sizes: Sizes) -> list[Table]:
    return [_by_string(sizes), _by_method(sizes)]


def _by_string(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    gross: list[str] = []
    for scale in (0.0, 1.0, 2.0):
        for name in names(VIOLIN):
            sizes.progress(f"plucks: {name}, glide x {scale:.0f}")
            manner = partial(drawn_manner, glide_scale=scale)
            tally = tallied(cases(VIOLIN, name, sizes.of(200), 20.0, manner), WINDOWS)
            rows.append((f"x {scale:.0f}", name, *tally.cells()))
            if tally.wrong > 0.01 * tally.count:
                gross.append(f"plucks {name}, glide x {scale:.0f}: {tally.wrong} of {tally.count} wrong")
    columns = ("glide", "string", *headings(WINDOWS))
    goal = "0.1 s: median 0.1, 95 % 1.0; 0.3 s: median 0.05, 95 % 0.4; bias 0.2 (cents outside the stretch)"
    return Table(
        "plucks", "Plucks with glide and both swings, 20 dB", goal, columns, tuple(rows), tuple(gross)
    )


def _by_method(sizes: Sizes) -> Table:
    methods: dict[str, Ask] = {"Wallpeg": _ours, **{n: partial(_theirs, f) for n, f in available().items()}}
    rows = [(name, *_method_cells(ask, sizes, name)) for name, ask in methods.items()]
    columns = ["method"]
    for window in PEER_WINDOWS:
        columns += [f"{c} {window} s" for c in ("median", "95 %", "G3 wrong", "others wrong", "no answer")]
    goal = "the same windows, the same range (the wall's); cents outside the stretch"
    return Table("methods", "Methods side by side on plucks, 20 dB", goal, tuple(columns), tuple(rows))


def _method_cells(ask: Ask, sizes: Sizes, label: str) -> list[object]:
    sizes.progress(f"plucks: {label}")
    row: list[object] = []
    for window in PEER_WINDOWS:
        answers = {
            name: [(ask(case, window), case) for case in cases(VIOLIN, name, sizes.of(60), 20.0)]
            for name in names(VIOLIN)
        }
        off = {
            name: [abs(error_cents(hz, case)) for hz, case in given if hz is not None]
            for name, given in answers.items()
        }
        wrong = {name: sum(e > WRONG_CENTS for e in errors) for name, errors in off.items()}
        good = [e for errors in off.values() for e in errors if e <= WRONG_CENTS]
        absent = sum(hz is None for given in answers.values() for hz, _ in given)
        others = sum(wrong.values()) - wrong["G3"]
        row += [median(good), percentile(good, 95), share(wrong["G3"], len(answers["G3"])), others, absent]
    return row


def _ours(case: Case, window_s: float) -> float | None:
    said = readings(case.sound(SKIP_S + window_s + 0.02), case.range)
    reading = at(said, case.manner.lead_s + SKIP_S + window_s)
    return reading.frequency_hz if reading else None


def _theirs(estimate: Estimate, case: Case, window_s: float) -> float | None:
    first = round((case.manner.lead_s + SKIP_S) * RATE)
    window = case.sound(SKIP_S + window_s + 0.02)[first : first + round(window_s * RATE)]
    return estimate(window, RATE, *case.range)


VARIETIES: dict[str, dict[str, Any]] = {
    **{f"plucked at {p:.1f} of the string": {"point": p} for p in (0.1, 0.2, 0.3, 0.4, 0.5)},
    **{f"decay x {d:.0f}": {"decay_factor": d} for d in (1.0, 2.0, 4.0)},
    **{f"inharmonicity x {f:g}": {"inharmonicity": STEEL_E_INHARMONICITY * f} for f in (0.2, 3.0, 10.0)},
    "middle, decay x 4, inharmonicity x 10": {
        "point": 0.5,
        "decay_factor": 4.0,
        "inharmonicity": 10.0 * STEEL_E_INHARMONICITY,
    },
}


def variety(sizes: Sizes) -> list[Table]:
    windows = (0.1, 0.3, 1.0)
    rows: list[tuple[object, ...]] = []
    for label, fields in VARIETIES.items():
        sizes.progress(f"variety: {label}")
        for name in names(VIOLIN):
            batch = cases(VIOLIN, name, sizes.of(60), 20.0, partial(_with_fields, fields))
            rows.append((label, name, *tallied(batch, windows).cells()))
    columns = ("pluck", "string", *headings(windows))
    title = "Pluck points, dull strings, fractional sizes, 20 dB"
    return [Table("variety", title, "none wrong; no bias above 0.3 cents", columns, tuple(rows))]


def _with_fields(fields: dict[str, Any], seed: int) -> Manner:
    return replace(drawn_manner(seed), **fields)
