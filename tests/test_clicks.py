"""The box's own click: heard by people, found by the check, and never taken for a pluck."""

from dataclasses import dataclass, field

import numpy as np
import pytest

from demo.room import Room
from device.commands.delay_trial import found_click, try_delay
from device.commands.trials import Bench, Person
from device.config.settings import Settings
from device.controls.menu import Rules
from device.errors import PartError
from device.practice.count.session import CountPhase
from device.practice.running import begin_practice
from device.practice.table import practice_named
from device.runtime.audio_in import AudioIn
from device.runtime.box_state import Inputs, box_engine, initial, step
from device.runtime.reconnect import ReconnectingPart
from device.runtime.tone_out import ToneOut
from dsp import Hz, PitchTracker, Seconds
from dsp.attacks import AttackWatch
from dsp.clicks import Click, clicks
from tests.each import each
from tests.stand_ins import SteppedClock
from tests.test_attacks import in_a_room

RATE = 48_000
LEVELS_DBFS = (-50.0, -30.0, -12.0)  # at the microphone; -12 is louder than a pluck
DELAYS_S = (0.0, 0.06, 0.25)


def train(seconds=6.0, beat_s=0.375):
    return [Click(Seconds(0.5 + i * beat_s), i % 4 == 0) for i in range(int((seconds - 1.0) / beat_s))]


def bent(sound):
    """A small loudspeaker that is driven hard: second and third order, some ten percent."""
    return sound + 0.4 * sound**2 - 0.5 * sound**3


@pytest.mark.parametrize("every", [1, 3])
@pytest.mark.parametrize("level", LEVELS_DBFS)
def test_no_click_is_an_attack_straight_bent_or_in_a_room(every, level):
    """Also through a microphone of 16 kHz, whose converter lets nothing through above 8 kHz."""
    signal = pytest.importorskip("scipy.signal", reason="it is in the extra [bench]")
    clean = clicks(train(), RATE, level).astype(np.float64)
    rng = np.random.default_rng(3)
    for leaked in each([clean, bent(clean), in_a_room(clean, rng), in_a_room(bent(clean), rng)]):
        sound = signal.resample_poly(leaked, 1, every)
        sound += 10.0 ** (-70.0 / 20.0) * rng.standard_normal(len(sound))
        assert AttackWatch(RATE // every, Hz(196.0)).feed(sound.astype(np.float32)) == []


@dataclass
class LeakingWall:
    """A microphone in a room that also hears the loudspeaker, softer and later; and that loudspeaker."""

    clock: SteppedClock
    room: Room
    gain: float
    delay_s: float
    sample_rate_hz: int = RATE
    played: np.ndarray = field(default_factory=lambda: np.zeros(60 * RATE))
    plays: int = 0

    def __post_init__(self):
        self.heard = round(self.clock.now() * RATE)

    def play(self, samples, _rate):
        first = round((self.clock.now() + self.delay_s) * RATE)
        self.played[first:] = 0.0
        self.played[first : first + len(samples)] = bent(samples)
        self.plays += 1

    def stop(self):
        self.played[round((self.clock.now() + self.delay_s) * RATE) :] = 0.0

    def read(self):
        first, until = self.heard, round(self.clock.now() * RATE)
        self.heard = until
        return (self.room.sound(first, until) + self.gain * self.played[first:until]).astype(np.float32)

    def close(self):
        pass


class Counting:
    """The box at Count on a stepped clock, its clicks leaking into its microphone."""

    def __init__(self, gain, delay_s, **settings):
        self.clock = SteppedClock()
        self.clock.time = 1.0
        self.wall = LeakingWall(self.clock, Room(RATE, 5), gain, delay_s)
        self.settings = Settings(steps_move=False, **settings)
        self.engine, self.rules = box_engine(), Rules(self.settings, lambda _settings: ())
        note = lambda _sentence: None  # noqa: E731
        self.audio = AudioIn(ReconnectingPart("microphone", self.wall, None, note), self.tracker)
        self.tones = ToneOut(ReconnectingPart("loudspeaker", self.wall, None, note))
        self.state = initial(self.settings, self.engine, Seconds(1.0))
        running = begin_practice(practice_named("count"), self.settings, Seconds(1.0))
        object.__setattr__(self.state, "practice", running)
        self.struck = []

    def tracker(self, rate):
        return PitchTracker(rate, *self.settings.tracking_range)

    def ticks(self, seconds):
        end = self.clock.time + seconds
        while self.clock.time < end:
            self.clock.time += 0.01
            at = Seconds(self.clock.time)
            self.audio.want_attacks(self.state.attacks_from)
            heard = self.audio.hear(at)
            self.struck += [event for event in heard if type(event).__name__ == "Struck"]
            self.state, _ = step(self.state, Inputs(at, (), heard), self.engine, self.rules)
            muted = self.tones.follow(self.state.sound, at)
            assert muted is None  # the box hears past its clicks

    @property
    def count(self):
        return self.state.practice.state

    def plays_a_bar(self, plucks=True):
        """From the pluck that begins to the verdict."""
        self.ticks(0.6)
        self.wall.room.pluck(Seconds(self.clock.time + 0.05), Hz(196.0))
        while self.count.phase is not CountPhase.COUNTING_IN:
            self.ticks(0.05)
        first_beat = self.count.since + self.count.bar_s + self.settings.sound_delay_s
        for wanted in self.count.wanted_s if plucks else ():
            self.wall.room.pluck(Seconds(first_beat + wanted), Hz(293.66))
        while self.count.phase in {CountPhase.COUNTING_IN, CountPhase.PLAYING}:
            self.ticks(0.05)


@pytest.mark.parametrize("delay_s", DELAYS_S)
@pytest.mark.parametrize("gain", [0.03, 0.3, 2.0])
def test_the_click_is_never_a_pluck_and_no_pluck_is_lost_beside_it(gain, delay_s):
    box = Counting(gain, delay_s, tempo_bpm=120)
    box.plays_a_bar(plucks=False)
    assert box.wall.plays == 1
    assert box.count.phase is CountPhase.READY  # nothing was plucked in the bar
    assert len(box.struck) == 1
    box.plays_a_bar()
    assert box.wall.plays == 2
    assert box.count.judged is not None
    assert box.count.judged.well, (box.count.judged, gain, delay_s)


def test_who_plays_with_the_click_is_right_once_the_delay_is_taken_off():
    """The click sounds 150 ms late, and so does the player."""
    box = Counting(0.3, 0.15, tempo_bpm=120, sound_delay_ms=150.0)
    box.plays_a_bar()
    assert box.count.judged.well
    assert max(abs(off) for off in box.count.judged.off_s) < 0.03


@pytest.mark.parametrize("delay_s", [0.02, 0.12, 0.3])
@pytest.mark.parametrize("gain", [0.01, 0.3])
def test_the_check_measures_the_delay_and_says_how_to_set_it(gain, delay_s):
    clock = SteppedClock()
    clock.time = 1.0
    wall = LeakingWall(clock, Room(RATE, 6), gain, delay_s)
    finding = try_delay(Bench(clock, Person(there=False)), lambda: wall, lambda: wall, -18.0)
    assert finding.works
    told = float(finding.says.rsplit("= ", 1)[1].rstrip('"'))
    assert told == pytest.approx(1000.0 * delay_s, abs=2.0)


def test_a_click_that_is_not_heard_a_missing_loudspeaker_and_a_dead_one_are_told():
    clock = SteppedClock()
    clock.time = 1.0
    bench, wall = Bench(clock, Person(there=False)), LeakingWall(clock, Room(RATE, 6), 0.0, 0.1)
    assert "only 0 of 7" in try_delay(bench, lambda: wall, lambda: wall, -18.0).says
    assert try_delay(bench, lambda: wall, None, -18.0).works is None

    def dead():
        raise PartError("unplugged")

    assert try_delay(bench, lambda: wall, dead, -18.0).works is False


def test_noise_has_no_click_in_it():
    noise = np.random.default_rng(1).standard_normal(RATE).astype(np.float32)
    assert found_click(0.01 * noise, RATE) is None
    sound = 0.01 * noise
    sound[20_000 : 20_000 + 1440] += clicks([Click(Seconds(0.0))], RATE, -20.0)
    assert found_click(sound, RATE) == pytest.approx(20_000 / RATE, abs=0.0005)
