"""Lessons whose strings sound by the steps of `tests/bench/modal_strings.py`, through the box's signal path.

Everything that is heard is reckoned from a string's mechanics, not ours; the player does what the
picture says, and each picture is judged by where the strings truly stand.
"""

import random
from collections import Counter
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from scipy.signal import resample_poly

from demo.lessons.cells import pegbox_of
from demo.lessons.ears import HEARD_S, Sound, TrackerReadings
from demo.lessons.guides import CoachGuide
from demo.lessons.lesson import SimLesson
from demo.lessons.outcome import LessonOutcome
from demo.mechanics.build import Build, string_up
from demo.players.characters import CHARACTERS
from demo.players.player import Player
from demo.room import RATE_HZ
from device.config.settings import Settings
from device.events import Heard, LessonEvent, Plucked
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.state import Phase
from dsp import Cents, Hz, Samples, Seconds, cents, shifted
from dsp.synthesis import pink_noise
from tests.bench.common import RATE
from tests.bench.modal_strings import bank

A_STRING = 16  # plucks in the bank
AWAY = (1.0, 40.0)  # cents to either side, where each string stands at the start
NEAR = Cents(2.0)  # nearer to the target than this neither way of turning is called wrong
FINER = 8  # times, before a sound is read between its samples: what that leaves lies 50 dB lower
FALSE_BEYOND = Cents(3.0)  # of the tolerance, as elsewhere
NOISE_DB = (-60.0, -40.0)  # under a pluck's loudest tenth of a second


@lru_cache(maxsize=4)
def plucks(seed: int) -> tuple[tuple[Hz, Samples], ...]:
    """A bank for the violin: pitch and sound."""
    pitches = [hz for hz in Settings().targets.values() for _ in range(A_STRING)]
    slower = round(RATE / RATE_HZ)  # lessons are heard at a third of the rate
    made = [np.asarray(resample_poly(one, 1, slower), np.float32) for one in bank(pitches, HEARD_S, seed)]
    return tuple(zip(pitches, made, strict=True))


class ModalSounds:
    """A pluck of the bank at random, played so much faster or slower as its string stands off."""

    def __init__(self, bank_seed: int, rng: np.random.Generator) -> None:
        self._plucks, self._rng = plucks(bank_seed), rng

    def samples(self, sound: Sound) -> Samples:
        """The pluck at its pitch of the moment, with some noise of its own."""
        wanted = sound.pitch(Seconds(0.0))
        near = [(hz, made) for hz, made in self._plucks if abs(cents(wanted, hz)) < 300.0]
        hz, made = near[int(self._rng.integers(len(near)))]
        finer = resample_poly(made, FINER, 1)
        steps = np.arange(made.size) * (FINER * wanted / hz)
        played = np.interp(steps, np.arange(finer.size), finer, right=0.0)
        noise = pink_noise(made.size, int(self._rng.integers(1 << 30)))
        loudest = np.sqrt(np.max(np.mean(made[: made.size // 1600 * 1600].reshape(-1, 1600) ** 2, axis=1)))
        level = loudest * 10.0 ** (self._rng.uniform(*NOISE_DB) / 20.0) / np.std(noise)
        return np.asarray(played + level * noise, np.float32)


class PlainEars:
    """Hears what the tracker says, without any mishap."""

    misled = 0

    def __init__(self, readings: TrackerReadings) -> None:
        self._readings, self._number = readings, 0

    def hear(self, sound: Sound) -> list[Plucked | Heard]:
        """The pluck and its readings."""
        self._number += 1
        readings = self._readings.of(sound, self._number)
        first = [Plucked(sound.at, self._number, readings[0].level_dbfs)] if readings else []
        return [*first, *readings]


@dataclass
class Judged:
    """What the box showed, counted; and each thing that was wrong."""

    lessons: int = 0
    in_tune: int = 0
    plucks: int = 0
    arrows: Counter[str] = field(default_factory=Counter)  # turns shown, by the part
    right: int = 0  # strings called right
    all_right: int = 0
    wrong_way: list[str] = field(default_factory=list)
    needless_peg: list[str] = field(default_factory=list)
    falsely_right: list[str] = field(default_factory=list)
    falsely_all_right: int = 0


class JudgingGuide(CoachGuide):
    """The box's lesson, each change of what it shows compared with where the strings stand."""

    def __init__(self, settings: Settings, judged: Judged, label: str) -> None:
        super().__init__(settings)
        self.lesson: SimLesson | None = None
        self._judged, self._label, self._tolerance = judged, label, settings.tolerance.cents

    def take(self, event: LessonEvent) -> None:
        """Pass the event on, and judge what has become of it."""
        before = self.coach
        super().take(event)
        now = self.coach
        if now.advice != before.advice and now.advice.turn is not TuningPart.NONE:
            self._judge_arrow(event)
        if now.phase is Phase.RIGHT and (before.phase is not Phase.RIGHT or now.string != before.string):
            self._judged.right += 1
            self._judge_right(now.string)

    def _off(self, string: str) -> Cents:
        assert self.lesson is not None
        off = self.lesson.off(string)
        assert off is not None
        return off

    def _judge_arrow(self, event: LessonEvent) -> None:
        advice = self.coach.advice
        assert advice.string is not None
        off = self._off(advice.string)
        self._judged.arrows[advice.turn.value] += 1
        heard = (
            f", heard {event.frequency_hz:.2f} Hz +- {event.std_error_cents:.1f}"
            if isinstance(event, Heard)
            else ""
        )
        turn = f"{advice.direction.value} {advice.turn.value} of {advice.string}"
        where = f"{self._label}: {advice.say.value}, {turn} at {off:+.1f} cents{heard}"
        if (off > NEAR and advice.tightens) or (off < -NEAR and advice.direction is Direction.LOOSEN):
            self._judged.wrong_way.append(where)
        if advice.turn is TuningPart.PEG and abs(off) <= AWAY[1]:
            self._judged.needless_peg.append(where)

    def _judge_right(self, string: str) -> None:
        off = self._off(string)
        if abs(off) > self._tolerance + FALSE_BEYOND:
            self._judged.falsely_right.append(f"{self._label}: {string} called right at {off:+.1f} cents")


def played(judged: Judged, number: int, bank_seed: int, character: str = "careful") -> LessonOutcome:
    """One lesson from strings that stand 1 to 40 cents off, each to either side."""
    rng, settings = random.Random(f"modal {bank_seed} {number}"), Settings()
    build = Build(settings.instrument)
    off = {name: Cents(rng.choice((-1, 1)) * rng.uniform(*AWAY)) for name in settings.targets}
    instrument = string_up(build, {n: shifted(hz, off[n]) for n, hz in settings.targets.items()}, rng)
    guide = JudgingGuide(settings, judged, f"bank {bank_seed}, lesson {number}")
    sounds = ModalSounds(bank_seed, np.random.default_rng((bank_seed, number)))
    ears = PlainEars(TrackerReadings(settings, number, sounds))
    player = Player(CHARACTERS[character], pegbox_of(settings, instrument), rng)
    lesson = SimLesson(instrument, player, guide, ears, settings)
    guide.lesson = lesson
    outcome = lesson.run()
    judged.lessons += 1
    judged.in_tune += outcome.in_tune
    judged.plucks += outcome.plucks
    judged.all_right += guide.shown.all_right
    judged.falsely_all_right += outcome.falsely_all_right
    return outcome
