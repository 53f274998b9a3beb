"""Row on a neighbour two metres away who plucks the same string."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from device.config.settings import Settings
from device.events import Heard, LessonEvent, Plucked
from device.runtime.audio_in import heard_event
from device.runtime.loudness_gate import Gate, let_through
from dsp import Cents, Instrument, Reading, Seconds, shifted
from dsp.synthesis import pluck
from tests.bench.common import LEAD_S, RATE, SKIP_S, Case, Sizes, cases, names, off_by, readings
from tests.bench.report import Table, share

GATE_DB = Settings().gate_db
GAPS = (
    ("within 0.1 s of ours", (-0.1, 0.1)),
    ("0.2 to 1 s after ours", (0.2, 1.0)),
    ("1.5 to 3 s after ours", (1.5, 3.0)),
)


@dataclass
class Taken:
    """How often the neighbour's pluck was taken for ours."""

    trials: int = 0
    by_box: int = 0  # a reading nearer to theirs passed the gate
    by_tracker: int = 0  # there was one
    counted: int = 0  # as a sounding of its own

    def add(self, case: Case, gap: tuple[float, float]) -> None:
        said, other, moment = _with_neighbour(case, gap)
        late = case.manner.lead_s + SKIP_S + 0.1
        first = min((r.pluck for r in said if r.time_s > late), default=0)
        self.trials += 1
        self.by_box += any(_nearer(r, other, case) for r in followed(said) if r.time_s > late)
        self.by_tracker += any(_nearer(r, other, case) for r in said if r.time_s > late)
        self.counted += any(r.pluck > first for r in said if r.time_s > max(moment, late))


def neighbour(sizes: Sizes) -> list[Table]:
    """The same string of another violin, 12 dB softer, while ours rings, with it, and after it."""
    rows: list[tuple[object, ...]] = []
    for label, gap in GAPS:
        sizes.progress(f"neighbour: {label}")
        taken = Taken()
        for name in names(Instrument.VIOLIN):
            for case in cases(Instrument.VIOLIN, name, sizes.of(50), 20.0):
                taken.add(case, gap)
        counts = (share(n, taken.trials) for n in (taken.by_box, taken.by_tracker, taken.counted))
        rows.append((label, taken.trials, *counts))
    columns = (
        "neighbour plucks",
        "trials",
        "taken for ours by the box",
        "by the tracker alone",
        "counted as a new pluck",
    )
    goal = "at most 1 in 20 (the same string, 25 to 45 cents away from ours, 12 dB softer)"
    return [Table("neighbour", "A neighbour two metres away", goal, columns, tuple(rows))]


def followed(said: Iterable[Reading]) -> list[Reading]:
    """The readings that the box's gate lets through: it knows how loud our own plucks are."""
    gate, kept, last = Gate(), [], 0
    for r in said:
        events: list[LessonEvent] = [heard_event(r, r.time_s, r.pluck)]
        if r.pluck != last:
            events.insert(0, Plucked(r.time_s, r.pluck, r.level_dbfs))
            last = r.pluck
        gate, passed = let_through(gate, events, GATE_DB)
        kept += [r] if any(isinstance(e, Heard) for e in passed) else []
    return kept


def _with_neighbour(case: Case, gap: tuple[float, float]) -> tuple[list[Reading], float, float]:
    rng = np.random.default_rng((case.seed, 16))
    away = float(rng.uniform(25.0, 45.0) * rng.choice([-1.0, 1.0]))
    moment = float(LEAD_S + rng.uniform(*gap))
    duration = max(gap) + 1.0
    ours = case.sound(duration)
    pitch = shifted(case.frequency, Cents(away))
    softer = replace(case.manner, lead_s=Seconds(moment), level_dbfs=case.manner.level_dbfs - 12.0)
    sound = ours + pluck(pitch, Seconds(ours.size / RATE), RATE, manner=softer, seed=case.seed + 1)
    return readings(sound, case.range), pitch, moment


def _nearer(reading: Reading, other_hz: float, case: Case) -> bool:
    return abs(off_by(reading.frequency_hz, other_hz)) < abs(off_by(reading.frequency_hz, case.frequency))
