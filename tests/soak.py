"""Plays hours of a practice room through the whole box: `python -m tests.soak --hours 0.5 [--seed 1]`.

Noise of a studio, knocks, and a pluck every few seconds of a string that is somewhere near, on a
clock that runs as fast as the processor allows: microphone, tracker, gate, coach, screen and panel
as on the wall. It ends with status 1 if a pluck was missed, if something was claimed that was not
played, or if the process's own memory (anonymous pages: no file lies behind them) was not flat within
256 KiB from the tenth minute on.
"""

import argparse
import os
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from device.commands.housekeeping import Housekeeping
from device.config.settings import Settings
from device.events import Heard
from device.lesson.state import Phase
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Parts, Snapshot
from dsp import Cents, Hz, Samples, Seconds, cents, shifted
from dsp.synthesis import pink_noise, pluck
from tests.stand_ins import KeepingPanel, SteppedClock, ToldButtons

RATE = 48000  # Hz, as on the wall
NOISE_DBFS = -62.0  # a quiet room at a cheap microphone
CYCLE_S = 20.0  # the noise is repeated after so long
RINGS_S = 2.5
STOPS_S = 0.015  # chosen: a finger that stops a string takes its sound down by 1/e in that time
EVERY_S = (3.2, 7.0)  # from one pluck to the next
CENTS = (-45.0, 45.0)
HEARD_WITHIN_S = 0.8
NEAR = Cents(5.0)  # a pluck counts as heard when a reading is that near
FAR = Cents(50.0)  # a reading further off than this is a claim of something that was not played
MOST_GROWTH_KIB = 256.0
SETTLED_AFTER = 10  # minutes


@dataclass(frozen=True, slots=True)
class Note:
    """One pluck: when, and at which pitch."""

    at: float
    frequency_hz: Hz
    sound: int  # in the bank


class Studio:
    """A microphone in a room where one string after the other is plucked."""

    def __init__(self, clock: SteppedClock, seed: int) -> None:
        self.sample_rate_hz = RATE
        self.notes: list[Note] = []
        self._clock, self._random, self._given = clock, np.random.default_rng(seed), 0
        noise = pink_noise(int(CYCLE_S * RATE), seed=seed)
        self._noise = (noise * 10 ** (NOISE_DBFS / 20) / np.std(noise)).astype(np.float32)
        self._bank = list(self._plucks())
        self._due = 2.0

    def read(self) -> Samples:
        until = int(self._clock.now() * RATE)
        while self._due * RATE < until:
            self._pluck()
        block = np.take(self._noise, np.arange(self._given, until), mode="wrap")
        for note in self.notes[-2:]:
            self._add(block, note)
        self._given = until
        return block

    def close(self) -> None:
        pass

    def _plucks(self):
        """A bank of plucks, so that memory stays the same for hours."""
        for k, target in enumerate(Settings().targets.values()):
            for off in np.linspace(*CENTS, 6):
                hz = shifted(target, Cents(float(off)))
                yield hz, stopped(pluck(hz, Seconds(RINGS_S), RATE, seed=k))

    def _pluck(self) -> None:
        which = int(self._random.integers(len(self._bank)))
        self.notes.append(Note(self._due, self._bank[which][0], which))
        self.notes = self.notes[-8:]
        self._due += float(self._random.uniform(*EVERY_S))

    def _add(self, block: Samples, note: Note) -> None:
        sound = self._bank[note.sound][1]
        start = int(note.at * RATE) - self._given
        first, last = max(0, start), min(len(block), start + len(sound))
        if first < last:
            block[first:last] += sound[first - start : last - start]


@dataclass
class Watch:
    """What was heard of what was played."""

    studio: Studio
    clock: SteppedClock
    plucks: int = 0
    missed: list[float] = field(default_factory=list)
    false: list[str] = field(default_factory=list)
    kib: list[float] = field(default_factory=list)  # once a minute
    pictures: int = 0
    _note: Note | None = None
    _heard: bool = True
    _right: bool = False

    def observe(self, snapshot: Snapshot) -> None:
        self._follow(snapshot.at)
        for event in snapshot.events:
            if isinstance(event, Heard):
                self._judge(event)
        right = snapshot.coach.phase is Phase.RIGHT
        if right and not self._right and self._note is not None:
            target = Settings().targets[snapshot.coach.string]
            off = cents(self._note.frequency_hz, target)
            if abs(off) > Settings().tolerance.cents + 1.0:
                self.false.append(
                    f"{snapshot.coach.string} called right at {off:.1f} cents, {snapshot.at:.1f} s"
                )
        self._right = right
        self.pictures = snapshot.health.pictures
        if snapshot.at >= 60.0 * (len(self.kib) + 1):
            self.kib.append(anonymous_kib())
            if len(self.kib) % 60 == 0:
                print(
                    f"{len(self.kib) // 60} h: {self.plucks} plucks, {self.kib[-1] / 1024:.1f} MiB, "
                    f"flat within {flat_within(self.kib):.0f} KiB",
                    file=sys.stderr,
                )

    def _follow(self, at: Seconds) -> None:
        newest = self.studio.notes[-1] if self.studio.notes else None
        if newest is not self._note:
            self._note, self._heard, self.plucks = newest, False, self.plucks + 1
        if self._note is not None and not self._heard and at > self._note.at + HEARD_WITHIN_S:
            self.missed.append(self._note.at)
            self._heard = True

    def _judge(self, event: Heard) -> None:
        played = [note for note in self.studio.notes if note.at <= event.at]
        near = [abs(cents(event.frequency_hz, note.frequency_hz)) for note in played[-2:]]
        if not near or min(near) > FAR:
            self.false.append(f"{event.frequency_hz:.1f} Hz at {event.at:.1f} s")
        elif self._note is not None and abs(cents(event.frequency_hz, self._note.frequency_hz)) < NEAR:
            self._heard = True


class CountingPanel(KeepingPanel):
    """Keeps no picture."""

    def show(self, picture) -> None:
        pass


def stopped(sound: Samples) -> Samples:
    """The same sound, stopped by a finger ten of its times before the end."""
    length = int(10 * STOPS_S * RATE)
    kept = np.exp(-np.arange(length) / (STOPS_S * RATE)).astype(np.float32)
    return np.concatenate((sound[:-length], sound[-length:] * kept))


def flat_within(kib: list[float]) -> float:
    """From the tenth minute on, how far apart the least and the most memory lie, in KiB."""
    settled = kib[SETTLED_AFTER - 1 :]
    return max(settled) - min(settled) if settled else 0.0


def anonymous_kib() -> float:
    """Memory of this process with no file behind it, in KiB (proc(5), RssAnon of status)."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return float(next(line.split()[1] for line in lines if line.startswith("RssAnon:")))


def soaked(hours: float, seed: int) -> Watch:
    """Run the box for so many simulated hours."""
    clock = SteppedClock()
    studio = Studio(clock, seed)
    watch = Watch(studio, clock)
    parts = Parts(clock, studio, ToldButtons(), CountingPanel())
    housekeeping = Housekeeping()

    def observe(snapshot: Snapshot) -> None:
        watch.observe(snapshot)
        housekeeping.watch(snapshot)

    run(parts, Settings(), box_engine(), observe=observe, stop=lambda: clock.time >= 3600.0 * hours)
    return watch


def main() -> int:
    parser = argparse.ArgumentParser(description="Hours of a practice room through the whole box.")
    parser.add_argument("--hours", type=float, default=0.5)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    begun = os.times()
    watch = soaked(asked.hours, asked.seed)
    ended = os.times()
    cpu = ended.user + ended.system - begun.user - begun.system
    growth = flat_within(watch.kib)
    print(
        f"{asked.hours:g} h, seed {asked.seed}: {watch.plucks} plucks, {len(watch.missed)} missed, "
        f"{len(watch.false)} false claims, {watch.pictures} pictures"
    )
    print(
        f"memory {anonymous_kib() / 1024:.1f} MiB, flat within {growth:.0f} KiB from minute {SETTLED_AFTER}; "
        f"{cpu / 3600.0 / asked.hours:.4f} CPU seconds per second of sound"
    )
    for line in [f"missed at {at:.1f} s" for at in watch.missed[:20]] + watch.false[:20]:
        print(line)
    return int(bool(watch.missed or watch.false) or growth > MOST_GROWTH_KIB)


if __name__ == "__main__":
    sys.exit(main())
