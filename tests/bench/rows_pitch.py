"""Rows on how exact a reading is: settled tones, plucks that glide, odd strings and fingers, far off."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial

import numpy as np

from dsp import Cents, Instrument, Manner, Reading, Swings, drawn_manner, shifted, white_noise, with_noise
from tests.bench.bound import bound_cents
from tests.bench.common import (
    FIRST_SEED,
    LEAD_S,
    RATE,
    SKIP_S,
    WRONG_CENTS,
    Case,
    Sizes,
    at,
    cases,
    error_cents,
    names,
    off_by,
    open_frequency,
    readings,
    wall_range,
)
from tests.bench.peers import available
from tests.bench.report import Table, median, percentile, rms, share
from tests.bench.waveguide import looped_string

VIOLIN = Instrument.VIOLIN
WINDOWS = (0.1, 0.3, 0.6, 1.0)


def plain_manner(seed: int) -> Manner:
    """One swing, no glide, no burst: a settled tone."""
    _ = seed
    return Manner(swings=Swings.SIDEWAYS, glide_cents=Cents(0.0), attack_db=None)


def readings_at(case: Case, windows: Iterable[float]) -> list[Reading | None]:
    """The tracker's reading at the end of each window that begins 30 ms after the pluck."""
    ends = [SKIP_S + w for w in windows]
    said = readings(case.sound(max(ends) + 0.02), case.range)
    return [at(said, case.manner.lead_s + end) for end in ends]


def settled(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    gross: list[str] = []
    for snr_db in (10.0, 20.0, 30.0, 40.0):
        for name in names(VIOLIN):
            sizes.progress(f"settled: {name} at {snr_db:.0f} dB")
            errors: dict[float, list[float]] = {w: [] for w in WINDOWS}
            wrong = absent = 0
            batch = list(cases(VIOLIN, name, sizes.of(250), snr_db, plain_manner))
            for case in batch:
                found = dict(zip(WINDOWS, readings_at(case, WINDOWS), strict=True))
                off = {w: error_cents(r.frequency_hz, case) for w, r in found.items() if r}
                wrong += any(abs(e) > WRONG_CENTS for e in off.values())
                absent += found[0.3] is None
                for w, e in off.items():
                    errors[w] += [e] if abs(e) <= WRONG_CENTS else []
            bounds = {w: bound_cents(batch[0], SKIP_S, SKIP_S + w) for w in WINDOWS}
            row: list[object] = [f"{snr_db:.0f}", name, len(batch), wrong, absent]
            for w in WINDOWS:
                reached = rms(errors[w])
                row += [reached, bounds[w], None if reached is None else reached / bounds[w]]
            rows.append(tuple(row))
            if wrong > 0.01 * len(batch):
                gross.append(f"settled {name} at {snr_db:.0f} dB: {wrong} of {len(batch)} wrong")
            if snr_db == 20.0 and (rms(errors[0.3]) or 99.0) > 0.2:
                gross.append(f"settled {name} at 20 dB: RMS {rms(errors[0.3])} cents, ten times the goal")
    columns = ["SNR dB", "string", "notes", "wrong octave or note", "no reading at 0.3 s"]
    for w in WINDOWS:
        columns += [f"RMS {w} s", f"bound {w} s", f"ratio {w} s"]
    goal = "RMS at most 1.2 x bound or 0.02 cents if that is larger; none wrong (cents)"
    return [Table("settled", "Settled tones in white noise", goal, tuple(columns), tuple(rows), tuple(gross))]


def plucks(sizes: Sizes) -> list[Table]:
    return [_plucks_by_string(sizes), _plucks_by_method(sizes)]


def _plucks_by_string(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    gross: list[str] = []
    for scale in (0.0, 1.0, 2.0):
        for name in names(VIOLIN):
            sizes.progress(f"plucks: {name}, glide x {scale:.0f}")
            batch = cases(VIOLIN, name, sizes.of(200), 20.0, partial(drawn_manner, glide_scale=scale))
            row, wrong = window_columns(batch, WINDOWS)
            rows.append((f"x {scale:.0f}", name, *row))
            if wrong > 0.01 * sizes.of(200):
                gross.append(f"plucks {name}, glide x {scale:.0f}: {wrong} of {sizes.of(200)} wrong")
    columns = ["glide", "string", "plucks", "wrong", "no reading at 0.3 s"]
    for w in WINDOWS:
        columns += [f"median {w} s", f"95 % {w} s", f"bias {w} s"]
    goal = "0.1 s: median 0.1, 95 % 1.0; 0.3 s: median 0.05, 95 % 0.4; bias 0.2 (cents outside the stretch)"
    return Table(
        "plucks", "Plucks with glide and both swings, 20 dB", goal, tuple(columns), tuple(rows), tuple(gross)
    )


def window_columns(batch: Iterable[Case], windows: tuple[float, ...]) -> tuple[list[object], int]:
    """Count, wrong, absent, then median, 95 % and bias at each window; and the count of wrong ones."""
    errors: dict[float, list[float]] = {w: [] for w in windows}
    count = wrong = absent = 0
    for case in batch:
        count += 1
        found = dict(zip(windows, readings_at(case, windows), strict=True))
        off = {w: error_cents(r.frequency_hz, case) for w, r in found.items() if r}
        wrong += any(abs(e) > WRONG_CENTS for e in off.values())
        absent += found[0.3] is None
        for w, e in off.items():
            errors[w] += [e] if abs(e) <= WRONG_CENTS else []
    row: list[object] = [count, wrong, absent]
    for w in windows:
        size = [abs(e) for e in errors[w]]
        row += [median(size), percentile(size, 95), float(np.mean(errors[w])) if errors[w] else None]
    return row, wrong


def _plucks_by_method(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    methods: dict[str, Callable[[Case, float], float | None]] = {"Wallpeg": _ours}
    for name, estimate in available().items():
        methods[name] = partial(_theirs, estimate)
    for method, ask in methods.items():
        sizes.progress(f"plucks: {method}")
        row: list[object] = [method]
        for window in (0.1, 0.3):
            errors: list[float] = []
            octave = dict.fromkeys(names(VIOLIN), 0)
            count = absent = 0
            for name in names(VIOLIN):
                for case in cases(VIOLIN, name, sizes.of(60), 20.0):
                    answer = ask(case, window)
                    count += 1
                    absent += answer is None
                    if answer is not None:
                        error = error_cents(answer, case)
                        octave[name] += abs(error) > WRONG_CENTS
                        errors += [abs(error)] if abs(error) <= WRONG_CENTS else []
            others = sum(octave.values()) - octave["G3"]
            row += [median(errors), percentile(errors, 95), share(octave["G3"], count // 4), others, absent]
        rows.append(tuple(row))
    columns = ["method"]
    for window in (0.1, 0.3):
        columns += [f"{c} {window} s" for c in ("median", "95 %", "G3 wrong", "others wrong", "no answer")]
    goal = "the same windows, the same range (the wall's); cents outside the stretch"
    return Table("methods", "Methods side by side on plucks, 20 dB", goal, tuple(columns), tuple(rows))


def _ours(case: Case, window_s: float) -> float | None:
    reading = readings_at(case, (window_s,))[0]
    return reading.frequency_hz if reading else None


def _theirs(estimate: Callable[..., float | None], case: Case, window_s: float) -> float | None:
    first = round((case.manner.lead_s + SKIP_S) * RATE)
    window = case.sound(SKIP_S + window_s + 0.02)[first : first + round(window_s * RATE)]
    return estimate(window, RATE, *case.range)


VARIETIES: dict[str, dict[str, float]] = {
    **{f"plucked at {p:.1f} of the string": {"point": p} for p in (0.1, 0.2, 0.3, 0.4, 0.5)},
    **{f"decay x {d:.0f}": {"decay_factor": d} for d in (1.0, 2.0, 4.0)},
    **{f"inharmonicity x {f:g}": {"inharmonicity": 5.7e-5 * f} for f in (0.2, 3.0, 10.0)},
    "middle, decay x 4, inharmonicity x 10": {"point": 0.5, "decay_factor": 4.0, "inharmonicity": 5.7e-4},
}


def variety(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    for label, fields in VARIETIES.items():
        sizes.progress(f"variety: {label}")
        for name in names(VIOLIN):

            def manner(seed: int, fields: dict[str, float] = fields) -> Manner:
                return replace(drawn_manner(seed), **fields)  # type: ignore[arg-type]

            row, _ = window_columns(cases(VIOLIN, name, sizes.of(60), 20.0, manner), (0.1, 0.3, 1.0))
            rows.append((label, name, *row))
    columns = ["pluck", "string", "plucks", "wrong", "no reading at 0.3 s"]
    for w in (0.1, 0.3, 1.0):
        columns += [f"median {w} s", f"95 % {w} s", f"bias {w} s"]
    goal = "none wrong; no bias above 0.3 cents"
    return [
        Table(
            "variety",
            "Pluck points, dull strings, fractional sizes, 20 dB",
            goal,
            tuple(columns),
            tuple(rows),
        )
    ]


def another_generator(sizes: Sizes) -> list[Table]:
    """The same questions to plucks that owe nothing to `dsp.plucks`."""
    rows: list[tuple[object, ...]] = []
    for name in names(VIOLIN):
        sizes.progress(f"another generator: {name}")
        errors: dict[float, list[float]] = {w: [] for w in WINDOWS}
        wrong = absent = 0
        for seed in range(FIRST_SEED, FIRST_SEED + sizes.of(100)):
            off = _looped_errors(name, seed)
            wrong += any(abs(e) > WRONG_CENTS for e in off.values())
            absent += 0.3 not in off
            for w, e in off.items():
                errors[w] += [e] if abs(e) <= WRONG_CENTS else []
        row: list[object] = [name, sizes.of(100), wrong, absent]
        for w in WINDOWS:
            row += [median([abs(e) for e in errors[w]]), percentile([abs(e) for e in errors[w]], 95)]
        rows.append(tuple(row))
    columns = ["string", "plucks", "wrong", "no reading at 0.3 s"]
    for w in WINDOWS:
        columns += [f"median {w} s", f"95 % {w} s"]
    goal = "as with the other: none wrong; cents off the one true pitch"
    title = "Another generator (Karplus & Strong 1983), 20 dB"
    return [Table("another_generator", title, goal, tuple(columns), tuple(rows))]


def _looped_errors(name: str, seed: int) -> dict[float, float]:
    """Cents off at the end of each window that has a reading."""
    cents_off = float(np.random.default_rng((seed, 5)).uniform(-50.0, 50.0))
    near = shifted(open_frequency(VIOLIN, name), Cents(cents_off))
    clean, pitch = looped_string(near, SKIP_S + max(WINDOWS) + 0.02, seed)
    sound = with_noise(clean, white_noise(clean.size, seed), 20.0, RATE, start_s=LEAD_S)
    said = readings(sound, wall_range(VIOLIN))
    found = {w: at(said, LEAD_S + SKIP_S + w) for w in WINDOWS}
    return {w: off_by(r.frequency_hz, pitch) for w, r in found.items() if r}


def far_off(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    for shift in (-1450.0, -1200.0, -702.0, -300.0, 300.0, 700.0):
        sizes.progress(f"far off: {shift:+.0f} cents")
        for name in names(VIOLIN):
            batch = cases(VIOLIN, name, sizes.of(50), 20.0, detune=(shift - 20.0, shift + 20.0))
            row, _ = window_columns(batch, (0.1, 0.3))
            rows.append((f"{shift:+.0f}", name, *row))
    columns = ["off", "string", "plucks", "wrong", "no reading at 0.3 s"]
    for w in (0.1, 0.3):
        columns += [f"median {w} s", f"95 % {w} s", f"bias {w} s"]
    table = Table(
        "far_off", "Strings far off, 20 dB", "right pitch, right octave", tuple(columns), tuple(rows)
    )
    return [table, _outside_range(sizes)]


def _outside_range(sizes: Sizes) -> Table:
    """Notes below and above the wall's range: no reading is right."""
    rows: list[tuple[object, ...]] = []
    low, high = wall_range(VIOLIN)
    for label, name, shift in (
        ("below", "G3", -1700.0),
        ("far below", "G3", -2400.0),
        ("above", "E5", 1400.0),
    ):
        with_reading = total = 0
        for case in cases(VIOLIN, name, sizes.of(50), 20.0, detune=(shift - 50.0, shift + 50.0)):
            said = readings(case.sound(1.0), (low, high))
            with_reading += any(r.time_s > LEAD_S for r in said)
            total += 1
        rows.append((label, f"{name} {shift:+.0f}", total, with_reading))
    columns = ("where", "string and cents", "plucks", "plucks with any reading")
    return Table(
        "outside_range", "Outside the wall's range", "no reading, never its octave", columns, tuple(rows)
    )
