"""Rows on settled tones: against the bound, and made by another generator."""

from functools import partial

import numpy as np

from dsp import Cents, Instrument, shifted
from dsp.synthesis import Manner, Swings, white_noise, with_noise
from tests.bench.bound import bound_cents
from tests.bench.common import (
    FIRST_SEED,
    LEAD_S,
    RATE,
    SKIP_S,
    Case,
    Sizes,
    at,
    cases,
    names,
    off_by,
    open_frequency,
    readings,
    wall_range,
)
from tests.bench.report import Table
from tests.bench.tally import LATE_S, Tally, headings, tallied
from tests.bench.waveguide import looped_string

VIOLIN = Instrument.VIOLIN
WINDOWS = (0.1, 0.3, 0.6, 1.0)
GROSS_RMS_CENTS = 0.2  # at 20 dB and 0.3 s: ten times the goal


def plain_manner(_seed: int) -> Manner:
    """One swing, no glide, no burst: a settled tone."""
    return Manner(swings=Swings.SIDEWAYS, glide_cents=Cents(0.0), attack_db=None)


def settled(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    gross: list[str] = []
    for snr_db in (10.0, 20.0, 30.0, 40.0):
        for name in names(VIOLIN):
            sizes.progress(f"settled: {name} at {snr_db:.0f} dB")
            batch = list(cases(VIOLIN, name, sizes.of(250), snr_db, plain_manner))
            tally = tallied(batch, WINDOWS)
            rows.append(
                (f"{snr_db:.0f}", name, tally.count, tally.wrong, tally.absent, *_beside(tally, batch[0]))
            )
            gross += _gross(tally, f"settled {name} at {snr_db:.0f} dB", snr_db)
    columns = ["SNR dB", "string", "notes", "wrong octave or note", f"no reading at {LATE_S} s"]
    for w in WINDOWS:
        columns += [f"RMS {w} s", f"bound {w} s", f"ratio {w} s"]
    goal = "RMS at most 1.2 x bound or 0.02 cents if that is larger; none wrong (cents)"
    return [Table("settled", "Settled tones in white noise", goal, tuple(columns), tuple(rows), tuple(gross))]


def _beside(tally: Tally, case: Case) -> list[object]:
    """RMS, bound and their ratio for each window."""
    cells: list[object] = []
    for w in tally.windows:
        reached, bound = tally.rms(w), bound_cents(case, SKIP_S, SKIP_S + w)
        cells += [reached, bound, None if reached is None else reached / bound]
    return cells


def _gross(tally: Tally, label: str, snr_db: float) -> list[str]:
    reached = tally.rms(LATE_S)
    losses = [f"{label}: {tally.wrong} of {tally.count} wrong"] if tally.wrong > 0.01 * tally.count else []
    if snr_db == 20.0 and (reached is None or reached > GROSS_RMS_CENTS):
        losses.append(f"{label}: RMS {reached} cents after {LATE_S} s, the limit is {GROSS_RMS_CENTS}")
    return losses


def another_generator(sizes: Sizes) -> list[Table]:
    """The same questions to plucks that owe nothing to `dsp.synthesis.plucks`."""
    rows: list[tuple[object, ...]] = []
    for name in names(VIOLIN):
        sizes.progress(f"another generator: {name}")
        tally = Tally(WINDOWS)
        for seed in range(FIRST_SEED, FIRST_SEED + sizes.of(100)):
            tally.add(_looped_errors(name, seed))
        rows.append((name, *tally.cells()))
    columns = ("string", *headings(WINDOWS))
    goal = "as with the other: none wrong; cents off the one true pitch"
    title = "Another generator (Karplus & Strong 1983), 20 dB"
    return [Table("another_generator", title, goal, columns, tuple(rows))]


def _looped_errors(name: str, seed: int) -> dict[float, float]:
    """Cents off at the end of each window that has a reading."""
    cents_off = float(np.random.default_rng((seed, 5)).uniform(-50.0, 50.0))
    near = shifted(open_frequency(VIOLIN, name), Cents(cents_off))
    clean, pitch = looped_string(near, SKIP_S + max(WINDOWS) + 0.02, seed)
    sound = with_noise(clean, white_noise(clean.size, seed), 20.0, RATE, start_s=LEAD_S)
    said = readings(sound, wall_range(VIOLIN))
    snapshots = map(partial(at, said), (LEAD_S + SKIP_S + w for w in WINDOWS))
    return {w: off_by(r.frequency_hz, pitch) for w, r in zip(WINDOWS, snapshots, strict=True) if r}
