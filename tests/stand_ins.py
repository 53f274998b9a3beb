"""Stands in for parts: they do what a test tells them, on a clock that moves only when the loop sleeps."""

from collections.abc import Callable

import numpy as np
from PIL import Image

from device.errors import PartError
from device.lesson.state import Coach, Phase, StringState
from device.runtime.box_state import Engine
from dsp import Reading, Seconds

RATE = 8000  # Hz; nothing here depends on it
STEP = 2.0**-15  # of full scale: one step of a converter of 16 bits


class SteppedClock:
    def __init__(self) -> None:
        self.time = 0.0

    def now(self) -> Seconds:
        return Seconds(self.time)

    def sleep(self, duration: Seconds) -> None:
        self.time += duration


class ToldMicrophone:
    """Gives the noise of a converter at the pace of the clock until it is told to fail, or to fall quiet.

    `stuck` at a value it gives that one alone, as a microphone does whose wire is off.
    """

    def __init__(self, clock: SteppedClock) -> None:
        self.sample_rate_hz = RATE
        self.fails = self.quiet = self.closed = False
        self.stuck: float | None = None
        self._clock, self._read_at = clock, clock.now()

    def read(self):
        if self.fails:
            raise PartError("unplugged")
        if self.quiet:
            return np.zeros(0, np.float32)
        count = round((self._clock.now() - self._read_at) * RATE)
        self._read_at = Seconds(self._read_at + count / RATE)
        if self.stuck is not None:
            return np.full(count, self.stuck, np.float32)
        return np.resize(np.array([0.0, STEP], np.float32), count)

    def close(self) -> None:
        self.closed = True


class ToldButtons:
    def __init__(self) -> None:
        self.pressed = []

    def down(self):
        return self.pressed

    def close(self) -> None:
        self.pressed = []


class KeepingPanel:
    """Keeps every picture it was shown."""

    size = (128, 64)

    def __init__(self) -> None:
        self.pictures, self.fails, self.closed = [], False, False

    def show(self, picture) -> None:
        if self.fails:
            raise PartError("the panel does not answer")
        self.pictures.append(picture)

    def close(self) -> None:
        self.closed = True


class ScriptedTracker:
    """Gives the readings of a script when the stream reaches their time."""

    def __init__(self, readings: list[Reading]) -> None:
        self.fed, self.left = 0, list(readings)

    def feed(self, samples):
        self.fed += len(samples)
        due = [r for r in self.left if r.time_s <= self.fed / RATE]
        self.left = [r for r in self.left if r not in due]
        return due


def reading(time_s: float, pluck: int, frequency_hz: float = 440.0) -> Reading:
    return Reading(time_s, frequency_hz, 0.2, 0.0, 0.0, -20.0, 0.1, pluck)


def a_coach(settings, at) -> Coach:
    return Coach(Phase.WAITING, "E5", at, tuple(StringState(name) for name in settings.targets))


def plain_engine(
    new_tracker: Callable[..., object] = lambda *_: ScriptedTracker([]), advance=lambda coach, *_: coach
) -> Engine:
    """A coach that does not move, and a picture with one pixel a string and one for a fault."""
    return Engine(new_tracker, a_coach, advance, draw_a_dot)


def draw_a_dot(scene, _at):
    picture = Image.new("1", (128, 64))
    picture.putpixel((scene.coach.strings.index(next(s for s in scene.coach.strings)), 0), 1)
    if scene.fault is not None:
        picture.putpixel((127, 63), 1)
    return picture
