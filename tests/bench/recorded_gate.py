"""Row on equally loud recorded plucks through tracker and gate: is every one of them followed?

The same note again and again, its takes brought to one level, as a pupil does who turns a screw; then a
neighbour's note 12 dB softer, which is not to be taken for ours.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from device.config.settings import Settings
from device.events import Heard, LessonEvent, Plucked
from device.runtime.audio_in import heard_event
from device.runtime.loudness_gate import Gate, let_through
from dsp import Hz, PitchTracker, Reading, Samples, Seconds, cents
from dsp.synthesis import white_noise
from tests.bench.common import Sizes
from tests.bench.recorded_notes import FLOOR_DBFS, LEAD_S, Note
from tests.bench.report import Table

PLUCKS = 8
NEIGHBOURS = 2
APART_S = 1.7  # from pluck to pluck
LEVEL_DBFS = -16.0  # of each of our plucks, in its loudest stretch
LOUDEST_S = 0.05  # of that stretch: what an ear takes for the loudness of a blow; chosen
NEIGHBOUR_DB = -12.0
DAMPS_S = 0.02  # time constant of a finger that stops a string; chosen
JITTER_S = 0.0137  # added from pluck to pluck, so that no two fall on the same place in a block
EARLY_S = 0.03  # a pluck may be noticed this much too soon: its recording begins before it
WRONG_CENTS = 100.0  # off the name's pitch, whose own tuning is not known
COLUMNS = ("sounds", "scenes", "plucks", "not heard", "not followed", "neighbours", "taken for ours")


@dataclass(frozen=True)
class Row:
    """A row of plucks at the wall."""

    sound: Samples
    rate: float
    limits: tuple[Hz, Hz]
    ours_hz: Hz
    ours_s: tuple[float, ...]  # when our plucks begin
    neighbours_s: tuple[float, ...]


def equal_plucks(chosen: dict[str, list[Note]], sizes: Sizes) -> Table:
    """Each note of each set as a row of its own."""
    rows: list[tuple[object, ...]] = []
    for name, batch in chosen.items():
        sizes.progress(f"recorded: equal plucks, {name}")
        scenes = rows_of(batch)
        rows.append((name, len(scenes), *np.sum([judged(scene) for scene in scenes], axis=0)))
    goal = "all of ours heard and followed, no neighbour taken for ours"
    return Table("recorded_equal", "Equally loud plucks through the gate", goal, COLUMNS, tuple(rows))


def rows_of(batch: Sequence[Note]) -> list[Row]:
    """One row for each note and loudness of the batch, of all its takes in turn."""
    alike: dict[str, list[Note]] = {}
    for note in batch:
        alike.setdefault(re.sub(r"(_rr\d|[a-d])$", "", note.name), []).append(note)
    return [row_of(takes, _far_from(takes[0], batch)) for takes in alike.values()]


def row_of(takes: Sequence[Note], neighbour: Note) -> Row:
    """Eight plucks of ours from the takes in turn, then two of a neighbour's."""
    rate, count = takes[0].rate, PLUCKS + NEIGHBOURS
    starts = tuple(LEAD_S + i * (APART_S + JITTER_S) for i in range(count))
    size = round((starts[-1] + APART_S) * rate)
    sound = white_noise(size, count) * np.float32(10.0 ** (FLOOR_DBFS / 20.0))
    for i, start in enumerate(starts):
        ours = i < PLUCKS
        note = _levelled(takes[i % len(takes)] if ours else neighbour, 0.0 if ours else NEIGHBOUR_DB)
        first = round(start * rate)
        sound[first : first + note.size] += note[: size - first]
    return Row(sound, rate, takes[0].range, takes[0].nominal_hz, starts[:PLUCKS], starts[PLUCKS:])


def judged(row: Row) -> tuple[int, int, int, int, int]:
    """Of ours: how many, not heard, heard and not followed; of the neighbour's: how many, taken for ours.

    A reading is of the pluck at which its sounding began: ours may still be told of when a neighbour plucks.
    If such a one is not of our pitch any more, the neighbour's has been taken for ours as well.
    """
    followed, heard = followed_and_heard(row)

    def met(starts: Sequence[float], soundings: Sequence[float]) -> int:
        return sum(any(s - EARLY_S <= m < s + APART_S - EARLY_S for m in soundings) for s in starts)

    ours = met(row.ours_s, [_began(r) for r in heard])
    strange = [r.time_s for r in followed if abs(cents(r.frequency_hz, row.ours_hz)) > WRONG_CENTS]
    theirs = met(row.neighbours_s, [_began(r) for r in followed] + strange)
    count = len(row.ours_s)
    unfollowed = ours - met(row.ours_s, [_began(r) for r in followed])
    return count, count - ours, unfollowed, len(row.neighbours_s), theirs


def _began(reading: Reading) -> float:
    return reading.time_s - reading.since_pluck_s


def followed_and_heard(row: Row) -> tuple[list[Reading], list[Reading]]:
    """The readings that pass the gate, and all readings."""
    tracker, gate, pluck = PitchTracker(row.rate, *row.limits), Gate(), 0
    block, gate_db = round(0.01 * row.rate), Settings().gate_db
    followed: list[Reading] = []
    heard: list[Reading] = []
    for first in range(0, row.sound.size, block):
        for reading in tracker.feed(row.sound[first : first + block]):
            at = Seconds(reading.time_s)
            events: list[LessonEvent] = [heard_event(reading, at, reading.pluck)]
            if reading.pluck != pluck:
                pluck = reading.pluck
                events.insert(0, Plucked(at, pluck, reading.level_dbfs))
            gate, passed = let_through(gate, events, gate_db)
            followed += [reading for event in passed if isinstance(event, Heard)]
            heard.append(reading)
    return followed, heard


def _levelled(note: Note, against_ours_db: float) -> Samples:
    """From the onset on, at its level, stopped before the next pluck."""
    first = round((note.onset_s - LEAD_S) * note.rate)
    sound = note.recording[first:].astype(float)
    stretch = round(LOUDEST_S * note.rate)
    power = float(np.max(np.convolve(sound[: 10 * stretch] ** 2, np.full(stretch, 1.0 / stretch), "valid")))
    time = np.arange(sound.size) / note.rate
    fade = np.exp(-np.maximum(time - APART_S, 0.0) / DAMPS_S)
    gain = 10.0 ** ((LEVEL_DBFS + against_ours_db) / 20.0) / np.sqrt(power)
    return np.asarray(np.clip(gain * sound * fade, -1.0, 1.0), np.float32)


def _far_from(note: Note, batch: Sequence[Note]) -> Note:
    """A note of the batch about a fifth away: what a neighbour's other string sounds like."""
    fifth = np.log(1.5)
    return min(batch, key=lambda other: abs(abs(np.log(other.nominal_hz / note.nominal_hz)) - fifth))
