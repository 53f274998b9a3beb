"""What is known of one sounding, stage by stage: it begins, gets a pitch, is followed, is told of.

Every record is replaced, never changed.
"""

from dataclasses import dataclass

from dsp.reading import Signal
from dsp.units import Cents, Hz, cents


@dataclass(frozen=True, slots=True)
class Past:
    """The decimated sound that is still kept."""

    sound: Signal  # shape (n,), the newest last
    count: int  # samples since the start of the stream
    rate_hz: float
    band_hz: Hz

    def between(self, start: int, stop: int) -> Signal:
        """Samples by their count from the start of the stream; fewer where they are gone."""
        shift = self.sound.size - self.count
        return self.sound[max(start + shift, 0) : max(stop + shift, 0)]


@dataclass(frozen=True, slots=True)
class Onset:
    """The beginning of a sounding."""

    start: int  # decimated sample
    plucked: bool  # by a leap in level; otherwise it swelled, as under a bow
    follows: bool = False  # a string of ours sounded when it began
    ringing: float = 0.0  # power of what sounded just before

    def age_s(self, past: Past) -> float:
        """Seconds since then."""
        return (past.count - self.start) / past.rate_hz


def apart(a: Hz, b: Hz) -> Cents:
    """Distance of two pitches in cents, never negative."""
    return Cents(abs(cents(a, b)))
