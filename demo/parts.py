"""Stand-ins for the parts of the box: a clock, a microphone in a simulated room, buttons, a panel.

They keep the promises of `device/ports.py`. What they cannot show: contacts that bounce, sound that
comes in uneven blocks, a panel on a slow bus.
"""

import time
from collections.abc import Iterator, Sequence

import numpy as np
from PIL import Image

from demo.room import Room
from device.events import Button
from device.ports import Clock
from dsp import Samples, Seconds

KEY_HELD_S = Seconds(0.12)  # how long a key of the keyboard holds its button down; above any debouncing


class SteppedClock:
    """Time that passes only while somebody sleeps."""

    def __init__(self) -> None:
        self._now = 0.0

    def now(self) -> Seconds:
        """Seconds slept so far."""
        return Seconds(self._now)

    def sleep(self, duration: Seconds) -> None:
        """Let `duration` pass at once."""
        self._now += duration


class WallClock:
    """The computer's monotonic time, from 0 on."""

    def __init__(self) -> None:
        self._start = time.monotonic()

    def now(self) -> Seconds:
        """Seconds since it was made."""
        return Seconds(time.monotonic() - self._start)

    def sleep(self, duration: Seconds) -> None:
        """Let `duration` pass."""
        time.sleep(duration)


class RoomMicrophone:
    """Hears a simulated room up to the clock's present."""

    def __init__(self, room: Room, clock: Clock) -> None:
        self._room, self._clock = room, clock
        self._heard = 0  # samples

    @property
    def sample_rate_hz(self) -> int:
        """Samples a second."""
        return self._room.sample_rate_hz

    def read(self) -> Samples:
        """Everything sounded since the last call."""
        until = round(self._clock.now() * self.sample_rate_hz)
        block = self._room.sound(self._heard, until)
        self._heard = until
        return block

    def close(self) -> None:
        """Nothing to let go of."""


class RecordedMicrophone:
    """Plays a recording to the box at the clock's pace, never holding more than a moment of it."""

    def __init__(self, blocks: Iterator[Samples], sample_rate_hz: int, clock: Clock) -> None:
        self._blocks, self._rate, self._clock = blocks, sample_rate_hz, clock
        self._ready = np.zeros(0, np.float32)
        self._heard = round(clock.now() * sample_rate_hz)
        self.over = False  # whether all of it was heard

    @property
    def sample_rate_hz(self) -> int:
        """Samples a second."""
        return self._rate

    def read(self) -> Samples:
        """What was recorded since the last call; silence after its end."""
        until = round(self._clock.now() * self._rate)
        wanted = max(until - self._heard, 0)
        while len(self._ready) < wanted and not self.over:
            block = next(self._blocks, None)
            self.over = block is None
            self._ready = np.concatenate(
                [self._ready, np.zeros(wanted, np.float32) if block is None else block]
            )
        self._heard = until
        now, self._ready = self._ready[:wanted], self._ready[wanted:]
        return now if len(now) == wanted else np.zeros(wanted, np.float32)

    def close(self) -> None:
        """Nothing to let go of."""


class KeyButtons:
    """Buttons that are down for a moment after `press`."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._until: dict[Button, float] = {}

    def press(self, *buttons: Button, hold_s: Seconds = KEY_HELD_S) -> None:
        """Put one or more buttons down for `hold_s`."""
        for button in buttons:
            self._until[button] = self._clock.now() + hold_s

    def down(self) -> Sequence[Button]:
        """Which are down now."""
        now = self._clock.now()
        return [button for button, until in self._until.items() if now < until]

    def close(self) -> None:
        """Nothing to let go of."""


class KeptPanel:
    """A panel that keeps every picture it was shown, with the time, and does nothing else."""

    def __init__(self, clock: Clock, size: tuple[int, int] = (128, 64)) -> None:
        self._clock, self._size = clock, size
        self.shown: list[tuple[Seconds, Image.Image]] = []

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self._size

    def show(self, picture: Image.Image) -> None:
        """Keep `picture`."""
        self.shown.append((self._clock.now(), picture.copy()))

    def close(self) -> None:
        """Nothing to let go of."""
