"""What a tracker makes of recorded plucks: how soon, how far off, how honestly, and how often quite wrong."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from dsp import Hz, PitchTracker, Reading, Samples, cents
from tests.bench.recorded_notes import TRUTH_SPREAD, Note
from tests.bench.report import median, percentile

MOMENTS = (0.1, 0.2, 0.3, 0.6)  # seconds after the onset
ANSWERED_BY = (0.1, 0.15)
FULL_SPEED = Hz(140.0)  # lower notes are given time in proportion to their period
LASTS_S = 1.2  # of a note, from the onset on, is listened to
WRONG_CENTS = 50.0  # further off the truth than this is another note
WRONG_WITHOUT_TRUTH = 90.0  # further off the name's pitch where no truth is known
DOUBTED = 0.5  # an octave doubt above this is a warning
COLUMNS = (
    "sounds",
    "notes",
    *(f"by {t} s %" for t in ANSWERED_BY),
    *(f"{what} {t} s" for t in MOMENTS for what in ("median", "95 %")),
    "mean 0.3 s",
    *(f"{n} se {t} s %" for t in MOMENTS for n in (1, 2)),
    "octave",
    "sub",
    "other",
    "doubted",
    "silent",
)


class Tracker(Protocol):
    """What is measured: `dsp.PitchTracker`, or anything that hears as it does."""

    def feed(self, samples: Samples) -> Sequence[Reading]:
        """The readings that the new samples bring."""
        ...


Factory = Callable[[float, Hz, Hz], Tracker]
"""Builds a tracker of a sample rate and a range, all in Hz."""


@dataclass(frozen=True)
class Scene:
    """A note as it is handed to a tracker, maybe spoilt on the way."""

    note: Note
    sound: Samples
    rate: float


@dataclass
class Figures:
    """Of some scenes; errors in cents, sharp positive, only of right notes whose truth is known."""

    notes: int = 0
    known: int = 0  # with a truth
    answered: Counter[float] = field(default_factory=Counter)  # of the known
    errors: dict[float, list[tuple[float, float]]] = field(default_factory=dict)  # (error, its std error)
    wrong: Counter[str] = field(default_factory=Counter)  # notes with any such reading
    worst: list[tuple[float, str]] = field(default_factory=list)  # errors over the stated one, and where

    def add(self, note: Note, said: Sequence[tuple[float, Reading]]) -> None:
        """One more note, and its readings with their times since the onset."""
        self.notes += 1
        self.wrong.update({kind for _, r in said for kind in _kinds(note, r)})
        self.wrong["silent"] += not said
        if not note.truth:
            return
        self.known += 1
        patience = max(1.0, FULL_SPEED / note.truth.frequency_hz)
        self.answered.update(by for by in ANSWERED_BY if said and said[0][0] <= by * patience)
        for moment in MOMENTS:
            heard = [r for t, r in said if t <= moment]
            if heard and abs(off := cents(heard[-1].frequency_hz, note.truth.frequency_hz)) <= WRONG_CENTS:
                said_of = heard[-1].std_error_cents
                self.errors.setdefault(moment, []).append((off, said_of))
                self.worst.append(
                    (abs(off) / _spread(said_of), f"{note.name} {moment} s: {off:.1f} +- {said_of:.1f}")
                )

    def row(self, label: str) -> tuple[object, ...]:
        """The cells under `COLUMNS`."""
        cells: list[object] = [label, self.notes]
        cells += [self._percent(self.answered[by]) for by in ANSWERED_BY]
        for moment in MOMENTS:
            size = [abs(e) for e, _ in self.errors.get(moment, [])]
            cells += [median(size), percentile(size, 95)]
        early = [e for e, _ in self.errors.get(0.3, [])]
        cells.append(float(np.mean(early)) if early else None)
        cells += [self.inside(moment, n) for moment in MOMENTS for n in (1, 2)]
        cells += [self.wrong[kind] for kind in ("octave", "sub", "other", "doubted", "silent")]
        return tuple(cells)

    def inside(self, moment: float, times: int) -> float | None:
        """Per cent of the errors inside so many stated ones, the truth's own spread added."""
        pairs = self.errors.get(moment, [])
        return 100.0 * float(np.mean([abs(e) <= times * _spread(s) for e, s in pairs])) if pairs else None

    def _percent(self, part: int) -> float | None:
        return 100.0 * part / self.known if self.known else None


def figures(scenes: Sequence[Scene], factory: Factory = PitchTracker) -> Figures:
    """A fresh tracker over each scene."""
    made = Figures()
    for scene in scenes:
        made.add(scene.note, heard(scene, factory))
    return made


def heard(scene: Scene, factory: Factory) -> list[tuple[float, Reading]]:
    """All readings after the onset, with their times since then."""
    tracker = factory(scene.rate, *scene.note.range)
    block, end = round(0.01 * scene.rate), round((scene.note.onset_s + LASTS_S) * scene.rate)
    said: list[Reading] = []
    for first in range(0, min(end, scene.sound.size), block):
        said += tracker.feed(scene.sound[first : first + block])
    return [(r.time_s - scene.note.onset_s, r) for r in said if r.time_s > scene.note.onset_s]


def _spread(std_error: float) -> float:
    return float(np.hypot(std_error, TRUTH_SPREAD))


def _kinds(note: Note, reading: Reading) -> tuple[str, ...]:
    """How a reading is wrong, and whether it said so; empty where it is right."""
    target = note.truth.frequency_hz if note.truth else note.nominal_hz
    off, limit = cents(reading.frequency_hz, target), WRONG_CENTS if note.truth else WRONG_WITHOUT_TRUTH
    if abs(off) <= limit:
        return ()
    part = target / reading.frequency_hz
    if abs(off - 1200.0 * round(off / 1200.0)) <= limit:
        kind = "octave"
    elif round(part) >= 3 and abs(cents(Hz(part), Hz(round(part)))) <= limit:
        kind = "sub"
    else:
        kind = "other"
    return (kind, "doubted") if reading.octave_doubt > DOUBTED else (kind,)
