"""Rows on a room with other sounds in it: noises at 5 dB, and a neighbour plucking the same string."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from device.events import Heard, LessonEvent, Plucked
from device.gate import Gate, let_through
from device.listening import heard_of
from device.settings import Settings
from dsp import (
    Cents,
    Instrument,
    Reading,
    Samples,
    Seconds,
    pink_noise,
    pluck,
    shifted,
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
    readings,
)
from tests.bench.peers import available
from tests.bench.report import Table, share

SNR_DB = 5.0
GATE_DB = Settings().gate_db
LAST_S = 1.0
Scene = Callable[[Case, float], Samples]


def _added(noise: Callable[[int, int], Samples], case: Case, duration_s: float) -> Samples:
    return case.sound(duration_s, noise)


def _changed(change: Callable[[Case, Samples], Samples], case: Case, duration_s: float) -> Samples:
    """The clean note changed by the room, then white noise at the same ratio."""
    sound = change(case, case.clean(duration_s))
    return with_noise(
        sound, white_noise(sound.size, case.seed), case.snr_db, RATE, start_s=case.manner.lead_s
    )


def _microphone(case: Case, duration_s: float) -> Samples:
    return rooms.without_bass(case.sound(duration_s))


def _clipping(case: Case, duration_s: float) -> Samples:
    return rooms.clipped(case.sound(duration_s))


SCENES: dict[str, Scene] = {
    "white noise": partial(_added, white_noise),
    "pink noise": partial(_added, pink_noise),
    "another violin": partial(_added, rooms.other_violin),
    "50 Hz hum": partial(_added, partial(rooms.hum, 50.0)),
    "60 Hz hum": partial(_added, partial(rooms.hum, 60.0)),
    "speech": partial(_added, rooms.speech),
    "small room, white noise": partial(_changed, lambda case, sound: rooms.reverberant(sound, case.seed)),
    "other strings ringing along, white noise": partial(_changed, rooms.ringing_along),
    "microphone without bass, white noise": _microphone,
    "clipped, white noise": _clipping,
}


@dataclass
class Count:
    """Of one scene: plucks, answers and wrong ones."""

    plucks: int = 0
    absent: int = 0
    wrong: int = 0
    said: int = 0
    wrong_said: int = 0


def noises(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    scenes = {n: s for n, s in SCENES.items() if n != "speech" or not rooms.missing()}
    for label, scene in scenes.items():
        sizes.progress(f"noises: {label}")
        total = Count()
        by_string = []
        for name in names(Instrument.VIOLIN):
            count = _count(scene, name, sizes.of(100))
            by_string.append(f"{name} {count.wrong}")
            for field in ("plucks", "absent", "wrong", "said", "wrong_said"):
                setattr(total, field, getattr(total, field) + getattr(count, field))
        answered = total.plucks - total.absent
        rows.append(
            (
                label,
                total.plucks,
                total.absent,
                share(total.wrong, answered),
                ", ".join(by_string),
                share(total.wrong_said, total.said),
            )
        )
    columns = (
        "sound at 5 dB",
        "plucks",
        "no reading at 0.3 s",
        "wrong at 0.3 s",
        "by string",
        "of all readings to 1 s",
    )
    goal = "off by more than 50 cents in at most 0.5 % (speech 3 %)"
    gross = [f"noises: {r[0]}: {r[3]} wrong" for r in rows if _gross(str(r[3]))]
    ours = Table("noises", "Other noises at 5 dB", goal, columns, tuple(rows), tuple(gross))
    return [ours, _methods_in_noise(sizes, scenes)]


def _count(scene: Scene, name: str, plucks: int) -> Count:
    count = Count()
    for case in cases(Instrument.VIOLIN, name, plucks, SNR_DB):
        said = readings(scene(case, LAST_S), case.range)
        lead = case.manner.lead_s
        reading = at(said, lead + SKIP_S + 0.3)
        count.plucks += 1
        count.absent += reading is None
        count.wrong += reading is not None and _wrong(reading, case)
        later = [r for r in said if r.time_s > lead + SKIP_S]
        count.said += len(later)
        count.wrong_said += sum(_wrong(r, case) for r in later)
    return count


def _wrong(reading: Reading, case: Case) -> bool:
    return abs(error_cents(reading.frequency_hz, case)) > WRONG_CENTS


def _gross(wrong: str) -> bool:
    """More than one in ten, and more than chance makes of two or three."""
    if wrong == "-":
        return False
    part, whole = (int(n) for n in wrong.split("(")[1].rstrip(")").split("/"))
    return part > 3 and part > 0.1 * whole


def _methods_in_noise(sizes: Sizes, scenes: dict[str, Scene]) -> Table:
    rows: list[tuple[object, ...]] = []
    for method, estimate in available().items():
        sizes.progress(f"noises: {method}")
        row: list[object] = [method]
        for scene in scenes.values():
            wrong = answers = 0
            for name in names(Instrument.VIOLIN):
                for case in cases(Instrument.VIOLIN, name, sizes.of(12), SNR_DB):
                    first = round((case.manner.lead_s + SKIP_S) * RATE)
                    window = scene(case, 0.4)[first : first + round(0.3 * RATE)]
                    answer = estimate(window, RATE, *case.range)
                    answers += answer is not None
                    wrong += answer is not None and abs(error_cents(answer, case)) > WRONG_CENTS
            row.append(share(wrong, answers))
        rows.append(tuple(row))
    goal = "window of 0.3 s from 30 ms after the pluck; share off by more than 50 cents"
    return Table(
        "noises_methods", "Methods side by side in noise at 5 dB", goal, ("method", *scenes), tuple(rows)
    )


def neighbour(sizes: Sizes) -> list[Table]:
    """The same string of another violin, 12 dB softer, while ours rings, with it, and after it."""
    rows: list[tuple[object, ...]] = []
    for label, gap in (
        ("within 0.1 s of ours", (-0.1, 0.1)),
        ("0.2 to 1 s after ours", (0.2, 1.0)),
        ("1.5 to 3 s after ours", (1.5, 3.0)),
    ):
        sizes.progress(f"neighbour: {label}")
        taken = new_pluck = passed = trials = 0
        for name in names(Instrument.VIOLIN):
            for case in cases(Instrument.VIOLIN, name, sizes.of(50), 20.0):
                said, other, moment = _with_neighbour(case, gap)
                mine = [r for r in said if r.time_s > case.manner.lead_s + SKIP_S + 0.1]
                theirs = [r for r in mine if _nearer(r, other, case)]
                passed += any(_nearer(r, other, case) for r in followed(said) if r in mine)
                first = min((r.pluck for r in mine), default=0)
                trials += 1
                taken += bool(theirs)
                new_pluck += any(r.pluck > first for r in mine if r.time_s > moment)
        counts = (share(n, trials) for n in (passed, taken, new_pluck))
        rows.append((label, trials, *counts))
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
        events: list[LessonEvent] = [heard_of(r, r.time_s, r.pluck)]
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
