"""Rows on a room with other sounds in it, 5 dB softer than the pluck."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from dsp import Instrument, Reading, Samples
from dsp.synthesis import pink_noise, white_noise, with_noise
from tests.bench import rooms
from tests.bench.common import (
    RATE,
    SKIP_S,
    WRONG_CENTS,
    Case,
    Sizes,
    at,
    cases,
    error_cents,
    names,
    readings,
)
from tests.bench.peers import Estimate, available
from tests.bench.report import Table, share

SNR_DB = 5.0
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
    absent: int = 0  # no reading at 0.3 s
    wrong: int = 0  # a wrong one then
    said: int = 0  # readings in the first second
    wrong_said: int = 0

    def add(self, scene: Scene, case: Case) -> None:
        said = readings(scene(case, LAST_S), case.range)
        lead = case.manner.lead_s
        reading = at(said, lead + SKIP_S + 0.3)
        later = [r for r in said if r.time_s > lead + SKIP_S]
        self.plucks += 1
        self.absent += reading is None
        self.wrong += reading is not None and _wrong(reading, case)
        self.said += len(later)
        self.wrong_said += sum(_wrong(r, case) for r in later)

    @property
    def gross(self) -> bool:
        """More than one in ten wrong, and more than chance makes of two or three."""
        return self.wrong > 3 and self.wrong > 0.1 * (self.plucks - self.absent)


def noises(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    gross: list[str] = []
    scenes = {n: s for n, s in SCENES.items() if n != "speech" or not rooms.missing()}
    for label, scene in scenes.items():
        sizes.progress(f"noises: {label}")
        count = Count()
        for name in names(Instrument.VIOLIN):
            for case in cases(Instrument.VIOLIN, name, sizes.of(100), SNR_DB):
                count.add(scene, case)
        wrong = share(count.wrong, count.plucks - count.absent)
        rows.append((label, count.plucks, count.absent, wrong, share(count.wrong_said, count.said)))
        gross += [f"noises: {label}: {wrong} wrong"] if count.gross else []
    columns = ("sound at 5 dB", "plucks", "no reading at 0.3 s", "wrong at 0.3 s", "of all readings to 1 s")
    goal = "off by more than 50 cents in at most 0.5 % (speech 3 %)"
    ours = Table("noises", "Other noises at 5 dB", goal, columns, tuple(rows), tuple(gross))
    return [ours, _methods_in_noise(sizes, scenes)]


def _wrong(reading: Reading, case: Case) -> bool:
    return abs(error_cents(reading.frequency_hz, case)) > WRONG_CENTS


def _methods_in_noise(sizes: Sizes, scenes: dict[str, Scene]) -> Table:
    rows: list[tuple[object, ...]] = []
    for method, estimate in available().items():
        sizes.progress(f"noises: {method}")
        cells = [_share_wrong(estimate, scene, sizes.of(12)) for scene in scenes.values()]
        rows.append((method, *cells))
    goal = "window of 0.3 s from 30 ms after the pluck; share off by more than 50 cents"
    title = "Methods side by side in noise at 5 dB"
    return Table("noises_methods", title, goal, ("method", *scenes), tuple(rows))


def _share_wrong(estimate: Estimate, scene: Scene, plucks: int) -> str:
    wrong = answers = 0
    for name in names(Instrument.VIOLIN):
        for case in cases(Instrument.VIOLIN, name, plucks, SNR_DB):
            first = round((case.manner.lead_s + SKIP_S) * RATE)
            window = scene(case, 0.4)[first : first + round(0.3 * RATE)]
            answer = estimate(window, RATE, *case.range)
            answers += answer is not None
            wrong += answer is not None and abs(error_cents(answer, case)) > WRONG_CENTS
    return share(wrong, answers)
