"""How a pluck is heard in a simulated lesson: by the real tracker, or by its measured errors.

Either way one sounding in twenty is heard an octave or a fifth wrong, all through, and half of
those carry the octave doubt of a right reading: worse than any tracker may be, so that the coach is
proved against it.
"""

import random
from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np

from demo.reading_table import ROWS, Row
from demo.room import LEAD_S, RATE_HZ, Room
from device.config.settings import Settings
from device.events import Heard
from device.runtime.audio_in import heard_event
from dsp import Cents, Hz, PitchTracker, Seconds, shifted

WRONG_SHARE = 0.05
WRONG_RATIOS = (2.0, 0.5, 1.5, 2.0 / 3.0)
SEEN_THROUGH = 0.8  # octave doubt of a wrong reading that the tracker would see through
PLUCK_DBFS = -20.0
HEARD_S = Seconds(1.6)  # of a pluck: a player listens for 1.2 s, and the next pluck damps the rest


class Ears(Protocol):
    """Something that hears one pluck."""

    def hear(self, at: Seconds, pluck: int, pitch: Hz, duration: Seconds) -> Sequence[Heard]:
        """Readings of the sounding number `pluck` that begins `at` and is listened to for `duration`."""
        ...


class TrackerEars:
    """The real signal path: a synthetic pluck in a noisy room, through the tracker."""

    def __init__(self, settings: Settings, seed: int) -> None:
        self._room = Room(RATE_HZ, seed, rings_s=HEARD_S)
        self._tracker = PitchTracker(RATE_HZ, *settings.tracking_range)
        self._samples = 0  # fed so far

    def hear(self, at: Seconds, pluck: int, pitch: Hz, duration: Seconds) -> Sequence[Heard]:
        """Readings, at the lesson's time and with the lesson's count."""
        begins = self._samples / RATE_HZ + LEAD_S
        self._room.pluck(Seconds(begins), pitch)
        until = self._samples + round((LEAD_S + duration) * RATE_HZ)
        block = self._room.sound(self._samples, until)
        self._samples = until
        readings = self._tracker.feed(block)
        fresh = [r for r in readings if r.time_s - r.since_pluck_s > begins - LEAD_S / 2.0]
        return [heard_event(r, Seconds(at + r.time_s - begins), pluck) for r in fresh]


class TableEars:
    """The tracker's measured errors in its place: the same statistics at a thousandth of the cost."""

    def __init__(self, settings: Settings, rng: random.Random) -> None:
        self._targets = settings.targets
        self._rng = rng

    def hear(self, at: Seconds, pluck: int, pitch: Hz, duration: Seconds) -> Sequence[Heard]:
        """Readings whose errors follow the table of the string nearest in pitch."""
        name = min(ROWS, key=lambda row: abs(np.log(ROWS[row].hz / pitch)))
        luck = self._rng.gauss(0.0, 1.0)
        lucks = [0.9 * luck + 0.436 * self._rng.gauss(0.0, 1.0) for _ in ROWS[name].rows]
        rows = zip(ROWS[name].rows, lucks, strict=True)
        return [_reading(row, luck, at, pluck, pitch) for row, luck in rows if row.since_s <= duration]


class WrongAtTimes:
    """Hears one sounding in twenty an octave or a fifth wrong."""

    def __init__(self, ears: Ears, rng: random.Random) -> None:
        self._ears, self._rng = ears, rng

    def hear(self, at: Seconds, pluck: int, pitch: Hz, duration: Seconds) -> Sequence[Heard]:
        """As the ears hear it, or wrong."""
        readings = self._ears.hear(at, pluck, pitch, duration)
        if self._rng.random() >= WRONG_SHARE:
            return readings
        ratio, seen_through = self._rng.choice(WRONG_RATIOS), self._rng.random() < 0.5
        return [
            replace(
                r,
                frequency_hz=Hz(r.frequency_hz * ratio),
                octave_doubt=SEEN_THROUGH if seen_through else r.octave_doubt,
            )
            for r in readings
        ]


def _reading(row: Row, luck: float, at: Seconds, pluck: int, pitch: Hz) -> Heard:
    return Heard(
        at=Seconds(at + row.since_s),
        pluck=pluck,
        frequency_hz=shifted(pitch, Cents(row.bias + luck * row.spread)),
        std_error_cents=Cents(row.std_error),
        octave_doubt=0.0,
        drift_cents_per_s=0.0,
        level_dbfs=PLUCK_DBFS,
        since_pluck_s=Seconds(row.since_s),
    )
