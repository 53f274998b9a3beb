"""Row on bowed open strings: soft and loud, with bow changes."""

from dataclasses import dataclass, field

import numpy as np

from dsp import Hz, Instrument, Seconds
from dsp.synthesis import Bowing, bowed, white_noise, with_noise
from tests.bench.common import (
    FIRST_SEED,
    LEAD_S,
    RATE,
    WRONG_CENTS,
    Sizes,
    at,
    names,
    off_by,
    open_frequency,
    readings,
    wall_range,
)
from tests.bench.report import Table, median, percentile

VIOLIN = Instrument.VIOLIN
BOWS = (("loud", -12.0, 30.0), ("usual", -25.0, 20.0), ("soft", -45.0, 10.0))  # dBFS and SNR dB


@dataclass
class Strokes:
    """What was read of many bowed notes."""

    notes: int = 0
    absent: int = 0
    wrong: int = 0
    strokes: int = 0
    counted: int = 0
    off: list[float] = field(default_factory=list)

    def add(self, name: str, seed: int, level_dbfs: float, snr_db: float) -> None:
        rng = np.random.default_rng((seed, 17))
        pitch = Hz(open_frequency(VIOLIN, name) * 2.0 ** (rng.uniform(-50.0, 50.0) / 1200.0))
        changes = tuple(LEAD_S + float(t) for t in (rng.uniform(0.9, 1.2), rng.uniform(1.9, 2.2)))
        bow = Bowing(changes_s=changes, lead_s=LEAD_S, level_dbfs=level_dbfs)
        clean = bowed(pitch, Seconds(LEAD_S + 3.0), RATE, bowing=bow, seed=seed)
        sound = with_noise(clean, white_noise(clean.size, seed), snr_db, RATE, start_s=Seconds(LEAD_S + 0.2))
        said = readings(sound, wall_range(VIOLIN))
        off = [abs(off_by(r.frequency_hz, pitch)) for r in said if r.time_s > LEAD_S + 0.3]
        self.notes += 1
        self.absent += at(said, LEAD_S + 0.4) is None
        self.wrong += any(o > WRONG_CENTS for o in off)
        self.strokes += 1 + len(changes)
        self.counted += max((r.pluck for r in said), default=0)
        self.off += [o for o in off if o <= WRONG_CENTS]


def bowing(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    for label, level, snr_db in BOWS:
        sizes.progress(f"bowed: {label}")
        for name in names(VIOLIN):
            found = Strokes()
            for seed in range(FIRST_SEED, FIRST_SEED + sizes.of(30)):
                found.add(name, seed, level, snr_db)
            off = (median(found.off), percentile(found.off, 95))
            counted = f"{found.counted} of {found.strokes}"
            rows.append((label, name, found.notes, found.absent, found.wrong, *off, counted))
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
