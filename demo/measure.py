"""Measures how the tracker reads synthetic plucks, for `reading_table.py`.

    python -m demo.measure > demo/reading_table.py

Plucks are as `dsp.synthesis.realistic_manner` draws them, up to 40 cents off an open string of the violin, in
the demo's room, each after another one that a hand has stopped, as in a lesson. Errors count from the pitch
that the pluck settles on. Takes five minutes.
"""

from dataclasses import dataclass

import numpy as np

from demo.lessons.courses import Course, CourseReading, course_text
from demo.room import LEAD_S, RATE_HZ, Room
from device.config.settings import Settings
from dsp import Cents, Hz, PitchTracker, Reading, Seconds, cents, shifted

PLUCKS = 240  # a string; nine in ten late errors of 60 lie within 2.6 to 4.5 cents, as the seed has it
SEED = 20
TIMES_S = (0.1, 0.17, 0.28, 0.48, 0.72, 0.9, 1.17)
READ_FOR_S = Seconds(1.2)
BEFORE_S = Seconds(1.2)  # how long the pluck before is listened to


@dataclass(frozen=True, slots=True)
class MeasuredPluck:
    """A pluck that is read after another one."""

    before: Hz
    pitch: Hz
    seed: int

    def readings(self) -> list[Reading]:
        """What the tracker says of it, not of the one before."""
        room = Room(RATE_HZ, self.seed)
        tracker = PitchTracker(RATE_HZ, *Settings().tracking_range)
        room.pluck(Seconds(LEAD_S), self.before)
        first = round((LEAD_S + BEFORE_S) * RATE_HZ)
        tracker.feed(room.sound(0, first))
        begins = first / RATE_HZ + LEAD_S
        room.pluck(Seconds(begins), self.pitch)
        readings = tracker.feed(room.sound(first, first + round((LEAD_S + READ_FOR_S) * RATE_HZ)))
        return [r for r in readings if r.time_s - r.since_pluck_s > begins - LEAD_S / 2.0]

    def course(self) -> Course:
        """Its readings at `TIMES_S`, each the last one by then; times without a new one are left out."""
        readings, taken = self.readings(), list[Reading]()
        for until in TIMES_S:
            by_then = [r for r in readings if r.since_pluck_s <= until]
            if by_then and by_then[-1] not in taken:
                taken.append(by_then[-1])
        return tuple(self._read(reading) for reading in taken)

    def _read(self, reading: Reading) -> CourseReading:
        error = cents(reading.frequency_hz, self.pitch)
        return CourseReading(reading.since_pluck_s, error, reading.std_error_cents, reading.drift_cents_per_s)


def plucks_of(name: str, count: int, seed: int) -> list[MeasuredPluck]:
    """Plucks of one open string of the violin, each after one of any of the four."""
    targets = Settings().targets
    rng = np.random.default_rng((seed, *name.encode()))

    def near(target: Hz) -> Hz:
        return shifted(target, Cents(rng.uniform(-40.0, 40.0)))

    return [
        MeasuredPluck(
            near(targets[rng.choice(list(targets))]), near(targets[name]), int(rng.integers(1 << 30))
        )
        for _ in range(count)
    ]


def table_lines() -> list[str]:
    """The module `reading_table` as text."""
    lines = [HEAD]
    for name, target in Settings().targets.items():
        lines += [f'    "{name}": (', f"        {target:.2f},", "        ("]
        lines += [f'            "{course_text(one.course())}",' for one in plucks_of(name, PLUCKS, SEED)]
        lines += ["        ),", "    ),"]
    return [*lines, "}"]


HEAD = f'''"""What the real tracker said of {PLUCKS} plucks of each open string, one pluck a line.

Written by `python -m demo.measure`, seed {SEED}; `demo.lessons.courses` reads it. Of each string its pitch in
Hz, and of each reading: hundredths of a second since the pluck; error in tenths of a cent, sharp positive;
the standard error that it states, the same; and the drift that it claims, in cents a second, if any.
"""

COURSES: dict[str, tuple[float, tuple[str, ...]]] = {{'''

if __name__ == "__main__":
    print("\n".join(table_lines()))
