"""What is claimed of a sound: by the tracker, and by the coach that hears the tracker."""

from collections import Counter
from dataclasses import dataclass, field

from device.config.settings import Settings
from device.events import Plucked, Tick
from device.instrument.tuning_parts import TuningPart
from device.lesson.monitored import advance, start
from device.lesson.state import Phase
from device.runtime.audio_in import heard_event
from dsp import Instrument, Reading, Seconds
from tests.bench.common import names, off_by, open_frequency

CLAIM_COLUMNS = (
    "seconds",
    "readings",
    "soundings",
    "readings that name a string",
    "soundings that do",
    "readings sure of it",
    "which",
    "in tune said",
    "turns asked for",
)
SURE_CENTS = 5.0  # a reading surer than this, and of its octave, is one a coach could act upon


class Lesson:
    """A lesson at the wall while this is heard: how often the coach says in tune, or asks for a turn."""

    def __init__(self) -> None:
        self.settings = Settings()
        self.coach = start(self.settings, Seconds(0.0))
        self.pluck = 0
        self.in_tune = 0
        self.turns: set[int] = set()  # soundings after which a turn was asked for

    def hear(self, reading: Reading) -> None:
        at = reading.time_s
        before = self.coach
        if reading.pluck != self.pluck:
            self.pluck = reading.pluck
            self.coach = advance(self.coach, Plucked(at, reading.pluck, reading.level_dbfs), self.settings)
        self.coach = advance(self.coach, heard_event(reading, at, reading.pluck), self.settings)
        self.coach = advance(self.coach, Tick(at), self.settings)
        self.in_tune += self.coach.phase is Phase.RIGHT and before.phase is not Phase.RIGHT
        if self.coach.advice.turn is not TuningPart.NONE:
            self.turns.add(reading.pluck)


@dataclass
class Claims:
    """What was said in one kind of sound."""

    seconds: float = 0.0
    readings: int = 0
    naming: int = 0  # within 50 cents of an open string
    sure: int = 0  # of these, with a small standard error and the octave not in doubt
    soundings: set[int] = field(default_factory=set)
    naming_soundings: set[int] = field(default_factory=set)
    strings: Counter[str] = field(default_factory=Counter)
    lesson: Lesson = field(default_factory=Lesson)

    def add(self, reading: Reading) -> None:
        self.lesson.hear(reading)
        self.readings += 1
        self.soundings.add(reading.pluck)
        for name in names(Instrument.VIOLIN):
            if abs(off_by(reading.frequency_hz, open_frequency(Instrument.VIOLIN, name))) <= 50.0:
                self.naming += 1
                self.naming_soundings.add(reading.pluck)
                sure = reading.octave_doubt < 0.5 and reading.std_error_cents < SURE_CENTS
                self.sure += sure
                self.strings[name] += sure

    def cells(self) -> list[object]:
        """A row of `CLAIM_COLUMNS`."""
        strings = ", ".join(f"{name} {count}" for name, count in self.strings.most_common()) or "none"
        counts = [self.readings, len(self.soundings), self.naming, len(self.naming_soundings), self.sure]
        return [round(self.seconds), *counts, strings, self.lesson.in_tune, len(self.lesson.turns)]
