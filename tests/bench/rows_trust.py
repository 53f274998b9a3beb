"""Rows on whether the tracker knows what it does not know, and follows what moves."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from dsp import (
    Bowing,
    Cents,
    Hz,
    Instrument,
    Manner,
    Reading,
    Samples,
    Seconds,
    Swings,
    Turning,
    bowed,
    drawn_manner,
    pink_noise,
    white_noise,
    with_noise,
)
from tests.bench import rooms
from tests.bench.common import (
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
from tests.bench.report import Table, median, percentile, share

VIOLIN = Instrument.VIOLIN
ONE_SWING = partial(drawn_manner, swings=Swings.SIDEWAYS)


def honesty(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    moments = (0.1, 0.3, 1.0)
    for snr_db in (10.0, 20.0, 30.0):
        for name in names(VIOLIN):
            sizes.progress(f"honesty: {name} at {snr_db:.0f} dB")
            errors: dict[float, list[float]] = {w: [] for w in moments}
            for case in cases(VIOLIN, name, sizes.of(200), snr_db, ONE_SWING):
                said = readings(case.sound(SKIP_S + max(moments) + 0.02), case.range)
                for w in moments:
                    r = at(said, case.manner.lead_s + SKIP_S + w)
                    errors[w] += [error_cents(r.frequency_hz, case) / r.std_error_cents] if r else []
            row: list[object] = [f"{snr_db:.0f}", name]
            for w in moments:
                size = np.abs(errors[w])
                row += [
                    len(size),
                    *(100.0 * float(np.mean(size <= limit)) if len(size) else None for limit in (1.0, 2.0)),
                ]
            rows.append(tuple(row))
    columns = ["SNR dB", "string"]
    for w in moments:
        columns += [f"readings {w} s", "% inside 1", "% inside 2"]
    goal = "60..76 % of errors inside 1, 92..99 % inside 2 standard errors (single swing)"
    return [Table("honesty", "Is std_error_cents honest?", goal, tuple(columns), tuple(rows))]


def octave_doubt(sizes: Sizes) -> list[Table]:
    """Readings in ever worse conditions, so that some octaves are wrong."""
    right: list[float] = []
    wrong: list[float] = []
    other: list[float] = []
    for label, case, sound in _hard_scenes(sizes):
        sizes.progress(label) if label else None
        for r in readings(sound, case.range):
            if r.time_s > case.manner.lead_s + SKIP_S:
                off = off_by(r.frequency_hz, case.frequency)
                octaves = round(off / 1200.0)
                if abs(off) <= WRONG_CENTS:
                    right.append(r.octave_doubt)
                elif octaves and abs(off - 1200.0 * octaves) <= WRONG_CENTS:
                    wrong.append(r.octave_doubt)
                else:
                    other.append(r.octave_doubt)
    rows = (
        (
            "right",
            len(right),
            share(sum(d < 0.1 for d in right), len(right)),
            share(sum(d > 0.5 for d in right), len(right)),
        ),
        (
            "an octave off",
            len(wrong),
            share(sum(d < 0.1 for d in wrong), len(wrong)),
            share(sum(d > 0.5 for d in wrong), len(wrong)),
        ),
        (
            "another note",
            len(other),
            share(sum(d < 0.1 for d in other), len(other)),
            share(sum(d > 0.5 for d in other), len(other)),
        ),
    )
    goal = "above 0.5 on at least 95 % of wrong octaves, under 0.1 on at least 99 % of right ones"
    return [
        Table(
            "octave_doubt",
            "Does octave_doubt know?",
            goal,
            ("reading", "count", "under 0.1", "above 0.5"),
            rows,
        )
    ]


def _hard_scenes(sizes: Sizes) -> Iterator[tuple[str, Case, Samples]]:
    noises = {"white": white_noise, "pink": pink_noise, "another violin": rooms.other_violin}
    for snr_db in (20.0, 10.0, 5.0, 0.0, -5.0):
        for kind, noise in noises.items():
            label = f"octave doubt: {kind} at {snr_db:.0f} dB"
            for name in names(VIOLIN):
                for point in (0.2, 0.33, 0.5):
                    manner = partial(_at_point, point)
                    for case in cases(VIOLIN, name, sizes.of(8), snr_db, manner, first_seed=20_000):
                        yield label, case, case.sound(0.6, noise)
                        label = ""


def _at_point(point: float, seed: int) -> Manner:
    return replace(drawn_manner(seed), point=point)


def drift(sizes: Sizes) -> list[Table]:
    return [_turned(sizes), _still(sizes)]


START_S, STOP_S = 0.6, 1.4  # of the turn, after the pluck


def _turned(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for speed in (20.0, 50.0, 100.0, 200.0):
        sizes.progress(f"drift: {speed:.0f} cents a second")
        for name in names(VIOLIN):
            rises: list[float] = []
            falls: list[float] = []
            lags: list[float] = []
            ratios: list[float] = []
            for case in cases(VIOLIN, name, sizes.of(30), 20.0):
                sign = 1.0 if case.seed % 2 else -1.0
                turn = Turning(sign * speed, Seconds(START_S), Seconds(STOP_S))
                turned = replace(case, manner=replace(case.manner, turning=turn))
                said = readings(turned.sound(STOP_S + 0.6), case.range)
                _measure(said, turned, rises, falls, lags, ratios)
            rows.append(
                (
                    f"{speed:.0f}",
                    name,
                    len(rises),
                    _ms(median(rises)),
                    _ms(percentile(rises, 95)),
                    _ms(median(falls)),
                    _ms(median(lags)),
                    median(ratios),
                )
            )
    columns = (
        "cents/s",
        "string",
        "plucks",
        "half the rate after, ms",
        "95 %",
        "half gone after the stop, ms",
        "frequency lag, ms",
        "rate said / true",
    )
    goal = "drift_cents_per_s follows with at most 80 ms lag"
    return Table("drift", "A string being turned while it rings, 20 dB", goal, columns, tuple(rows))


def _measure(
    said: list[Reading],
    case: Case,
    rises: list[float],
    falls: list[float],
    lags: list[float],
    ratios: list[float],
) -> None:
    turning = case.manner.turning
    assert turning is not None
    rate, lead = turning.cents_per_s, case.manner.lead_s
    inside = [r for r in said if lead + START_S <= r.time_s <= lead + STOP_S]
    after = [r for r in said if r.time_s > lead + STOP_S]
    rises += [r.time_s - lead - START_S for r in inside if r.drift_cents_per_s / rate > 0.5][:1]
    falls += [r.time_s - lead - STOP_S for r in after if r.drift_cents_per_s / rate < 0.5][:1]
    for r in inside:
        since = r.time_s - lead - START_S
        if since > 0.3:
            behind = rate * since - off_by(r.frequency_hz, case.frequency)
            lags.append(behind / rate)
            ratios.append(r.drift_cents_per_s / rate)


def _still(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for label, wobble, hertz in (
        ("still", 0.0, 5.0),
        ("wobbling 3 cents at 5 Hz", 3.0, 5.0),
        ("wobbling 2 cents at 2 Hz", 2.0, 2.0),
    ):
        sizes.progress(f"drift: {label}")
        for name in names(VIOLIN):
            drifts: list[float] = []
            for case in cases(VIOLIN, name, sizes.of(30), 20.0):
                manner = replace(case.manner, wobble_cents=Cents(wobble), wobble_hz=hertz)
                said = readings(replace(case, manner=manner).sound(1.6), case.range)
                drifts += [abs(r.drift_cents_per_s) for r in said if r.time_s > case.manner.lead_s + 0.3]
            rows.append(
                (
                    label,
                    name,
                    median(drifts),
                    percentile(drifts, 95),
                    share(sum(d > 20.0 for d in drifts), len(drifts)),
                )
            )
    columns = (
        "string nobody turns",
        "string",
        "median |drift| cents/s",
        "95 %",
        "said to turn faster than 20 cents/s",
    )
    return Table(
        "still",
        "A turn told from a wobble, 20 dB, from 0.3 s on",
        "no drift said where nobody turns",
        columns,
        tuple(rows),
    )


def bowing(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    for label, level, snr_db in (("loud", -12.0, 30.0), ("usual", -25.0, 20.0), ("soft", -45.0, 10.0)):
        sizes.progress(f"bowed: {label}")
        for name in names(VIOLIN):
            sway: list[float] = []
            wrong = absent = counted = strokes = 0
            for seed in range(10_000, 10_000 + sizes.of(30)):
                pitch, said, changes = _bowed(name, seed, level, snr_db)
                strokes += 1 + len(changes)
                counted += max((r.pluck for r in said), default=0)
                r = at(said, LEAD_S + 0.4)
                absent += r is None
                off = [off_by(x.frequency_hz, pitch) for x in said if x.time_s > LEAD_S + 0.3]
                wrong += any(abs(o) > WRONG_CENTS for o in off)
                sway += [abs(o) for o in off if abs(o) <= WRONG_CENTS]
            rows.append(
                (
                    label,
                    name,
                    sizes.of(30),
                    absent,
                    wrong,
                    median(sway),
                    percentile(sway, 95),
                    f"{counted} of {strokes}",
                )
            )
    columns = (
        "bow",
        "string",
        "notes",
        "no reading after 0.4 s",
        "with a wrong one",
        "median cents",
        "95 %",
        "soundings counted of strokes",
    )
    goal = (
        "read as well as plucked ones (the bow itself sways by 1.5 cents); bow changes counted as soundings"
    )
    return [Table("bowed", "Bowed open strings", goal, columns, tuple(rows))]


def _bowed(
    name: str, seed: int, level_dbfs: float, snr_db: float
) -> tuple[Hz, list[Reading], tuple[float, ...]]:
    rng = np.random.default_rng((seed, 17))
    pitch = Hz(open_frequency(VIOLIN, name) * 2.0 ** (rng.uniform(-50.0, 50.0) / 1200.0))
    changes = tuple(LEAD_S + float(t) for t in (rng.uniform(0.9, 1.2), rng.uniform(1.9, 2.2)))
    bow = Bowing(changes_s=changes, lead_s=LEAD_S, level_dbfs=level_dbfs)
    clean = bowed(pitch, Seconds(LEAD_S + 3.0), RATE, bowing=bow, seed=seed)
    sound = with_noise(clean, white_noise(clean.size, seed), snr_db, RATE, start_s=Seconds(LEAD_S + 0.2))
    return pitch, readings(sound, wall_range(VIOLIN)), changes


def _ms(seconds: float | None) -> float | None:
    return None if seconds is None else round(1000.0 * seconds)
