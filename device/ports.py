"""Defines what the loop needs of a part, whether it is the real one or a stand-in.

The real ones are in `device/parts/`, the simulated ones in `demo/`. A part translates its
library's errors into `PartError` at its own edge, and `close` may be called twice.
"""

from collections.abc import Sequence
from typing import Protocol, runtime_checkable

from PIL import Image

from device.events import Button
from dsp import Reading, Samples, Seconds


class Clock(Protocol):
    """Monotonic time. A simulated one advances only when the loop sleeps."""

    def now(self) -> Seconds:
        """Seconds since some fixed moment; never goes back."""
        ...

    def sleep(self, duration: Seconds) -> None:
        """Let `duration` pass."""
        ...


class Microphone(Protocol):
    """A source of mono sound."""

    @property
    def sample_rate_hz(self) -> int:
        """Samples a second, fixed while it is open."""
        ...

    def read(self) -> Samples:
        """Everything heard since the last call, perhaps nothing; never waits.

        Raises PartError when the source is lost.
        """
        ...

    def close(self) -> None:
        """Let go of the source."""
        ...


class Tracker(Protocol):
    """What makes readings of blocks of sound; the box's own is `dsp.PitchTracker`."""

    def feed(self, samples: Samples) -> Sequence[Reading]:
        """Take the next block and return the readings it completes."""
        ...


class Buttons(Protocol):
    """The levels of the push buttons, undebounced."""

    def down(self) -> Sequence[Button]:
        """Which buttons are down at this moment."""
        ...

    def close(self) -> None:
        """Let go of the pins."""
        ...


class Panel(Protocol):
    """A one-colour screen."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        ...

    def show(self, picture: Image.Image) -> None:
        """Show a 1-bit picture of the panel's size; an unchanged one costs nothing.

        Raises PartError when the panel does not answer.
        """
        ...

    def close(self) -> None:
        """Clear the panel and let go of it."""
        ...


class Speaker(Protocol):
    """Something to sound the reference tone with."""

    def play(self, samples: Samples, sample_rate_hz: int) -> None:
        """Start sounding and return at once."""
        ...

    def stop(self) -> None:
        """Fall silent at once."""
        ...

    def close(self) -> None:
        """Let go of the loudspeaker."""
        ...


@runtime_checkable
class RemembersLevels(Buttons, Protocol):
    """Buttons that are looked at apart from the loop, so that no press is lost while it works."""

    def sampled(self) -> Sequence[tuple[Seconds, Sequence[Button]]]:
        """Every look since the last call, oldest first: when it was, and which buttons were down."""
        ...


@runtime_checkable
class CountsLost(Microphone, Protocol):
    """A microphone that counts how often it dropped sound because nobody fetched it in time."""

    @property
    def overflows(self) -> int:
        """Times sound was dropped since it was opened."""
        ...


@runtime_checkable
class SendsInPieces(Panel, Protocol):
    """A panel on a slow bus: `show` only takes the picture over, and it is sent piece by piece.

    So neither sound nor a short tap is missed while a whole picture crawls over the bus.
    """

    def send_more(self) -> bool:
        """Send the next piece; True while something is left to send.

        With nothing left it only asks whether the panel is there. Raises PartError when it is not.
        """
        ...


@runtime_checkable
class TellsSounding(Speaker, Protocol):
    """A loudspeaker that knows whether it still sounds: a tone may begin, and end, later than asked for."""

    @property
    def sounding(self) -> bool:
        """Whether a tone is still to be heard."""
        ...


@runtime_checkable
class Adjusts(Panel, Protocol):
    """A panel whose brightness and way up can be set."""

    def adjust(self, brightness_percent: int, upside_down: bool) -> None:
        """Set how bright it is, 10 to 100 percent, and which way up.

        Raises PartError when the panel does not answer.
        """
        ...
