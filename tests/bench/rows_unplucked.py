"""Row on sounds that nobody plucked, through the whole box: what a lesson at the wall makes of them.

Microphone, tracker, loudness gate, lesson and monitor as on the wall, on a clock that runs as fast as the
processor allows; only the drawing is left out.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from PIL import Image

from device.config.settings import Settings
from device.events import Heard
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Say
from device.lesson.state import Phase
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Parts, Snapshot
from dsp import Hz, Samples, cents
from tests import sound_fonts
from tests.bench import rooms
from tests.bench.common import FIRST_SEED, RATE, WRONG_CENTS, Sizes
from tests.bench.report import Table
from tests.bench.unplucked_sounds import SOUNDS, Piece, floor
from tests.soak import CountingPanel
from tests.stand_ins import SteppedClock, ToldButtons

COLUMNS = (
    "sound",
    "minutes",
    "soundings",
    "that name a string",
    "a minute",
    "strings",
    "sure of it",
    "turns asked for",
    "right",
    "all right",
)
SURE_CENTS, SURE_DOUBT = 5.0, 0.5  # a reading that a lesson can act upon
HOURS = {"talk, ten voices and languages": 3.0}  # at scale 1; the rest half an hour each
NEEDS: dict[str, Callable[[], object]] = {
    "talk, ten voices and languages": rooms.missing,
    "choirs of two fonts": sound_fonts.missing,
    "three instruments at a time": sound_fonts.missing,
}


@dataclass
class Room:
    """A microphone in a room where the pieces sound one after the other."""

    clock: SteppedClock
    pieces: Iterator[Piece]
    seed: int
    sample_rate_hz: int = round(RATE)
    name: str = ""  # of the piece that sounds now
    began_s: float = 0.0
    _left: Samples = field(default_factory=lambda: np.zeros(0, np.float32))
    _given: int = 0

    def read(self) -> Samples:
        wanted = round(self.clock.now() * RATE) - self._given
        while self._left.size < wanted:
            self.name, sound = next(self.pieces)
            self.began_s = (self._given + self._left.size) / RATE
            under = floor(sound.size, self.seed + round(self.began_s))
            self._left = np.concatenate([self._left, np.clip(sound + under, -1.0, 1.0)])
        block, self._left = self._left[:wanted], self._left[wanted:]
        self._given += wanted
        return block

    def close(self) -> None:
        pass


@dataclass
class Claimed:
    """What the box claimed, by sounding."""

    room: Room
    minutes: float = 0.0
    soundings: set[int] = field(default_factory=set)
    naming: dict[int, str] = field(default_factory=dict)  # the string first named
    sure: set[int] = field(default_factory=set)
    turns: set[int] = field(default_factory=set)
    right: int = 0
    all_right: int = 0
    where: list[str] = field(default_factory=list)  # each sounding that names a string, to find it again
    _phase: Phase = Phase.WAITING
    _pluck: int = 0

    def observe(self, snapshot: Snapshot) -> None:
        """Take in one tick."""
        for event in snapshot.events:
            if isinstance(event, Heard):
                self._hear(event)
        coach = snapshot.coach
        if coach.advice.turn is not TuningPart.NONE:
            self.turns.add(self._pluck)
        if coach.phase is not self._phase:
            self.right += coach.phase is Phase.RIGHT
            self.all_right += coach.phase is Phase.FINISHED and coach.advice.say is Say.ALL_RIGHT
        self._phase = coach.phase

    def row(self, label: str) -> tuple[object, ...]:
        """The cells under `COLUMNS`."""
        named = sorted(self.naming.values())
        strings = ", ".join(f"{name} {named.count(name)}" for name in dict.fromkeys(named)) or "none"
        counts = (len(self.soundings), len(named), len(named) / self.minutes, strings, len(self.sure))
        return (label, round(self.minutes, 1), *counts, len(self.turns), self.right, self.all_right)

    def _hear(self, event: Heard) -> None:
        self._pluck = event.pluck
        self.soundings.add(event.pluck)
        for name, target in Settings().targets.items():
            off = cents(Hz(event.frequency_hz), target)
            if abs(off) > WRONG_CENTS:
                continue
            if event.pluck not in self.naming:
                self.naming[event.pluck] = name
                since = event.at - self.room.began_s
                self.where.append(
                    f"{event.at:.2f} s, {since:.2f} s into {self.room.name!r}: {name} {off:+.1f} "
                    f"+- {event.std_error_cents:.1f} cents, octave doubt {event.octave_doubt:.2f}"
                )
            if event.std_error_cents < SURE_CENTS and event.octave_doubt < SURE_DOUBT:
                self.sure.add(event.pluck)


def claimed(pieces: Iterator[Piece], seconds: float, seed: int) -> Claimed:
    """A lesson at the wall while the pieces sound, for so long."""
    clock = SteppedClock()
    room = Room(clock, pieces, seed)
    total = Claimed(room, seconds / 60.0)
    engine = replace(box_engine(), draw=lambda *_: Image.new("1", CountingPanel.size))
    parts = Parts(clock, room, ToldButtons(), CountingPanel())
    run(parts, Settings(), engine, observe=total.observe, stop=lambda: clock.time >= seconds)
    return total


def unplucked(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    for label, pieces in SOUNDS.items():
        if reason := NEEDS.get(label, lambda: None)():
            sizes.progress(f"unplucked: {label} left out, {reason}")
            continue
        seconds = 3600.0 * HOURS.get(label, 0.5) * sizes.scale
        sizes.progress(f"unplucked: {label}, {seconds:.0f} s")
        total = claimed(pieces(FIRST_SEED), seconds, FIRST_SEED)
        for place in total.where:
            sizes.progress(f"  {place}")
        rows.append(total.row(label))
    goal = (
        "an hour of talk names a string at most once; right never; song and music on an open string's pitch "
        f"are reported (sure: octave doubt under {SURE_DOUBT}, error under {SURE_CENTS:.0f} cents)"
    )
    title = "Sounds that nobody plucked, through the whole box"
    return [Table("unplucked", title, goal, COLUMNS, tuple(rows))]
