"""One sounding of a string, from the leap in level or the first sign of a bow to its last reading."""

import math
from dataclasses import dataclass

import numpy as np

from dsp.coarse import Coarse
from dsp.fine import PER_CENT, Fit
from dsp.partials import Basis
from dsp.reading import Signal
from dsp.tracks import Tracks
from dsp.units import Cents, Hz, cents

LEAST_BLOCKS = 3  # from which a pitch is fitted
# Share of the sharp start that no shape of `dsp.glides` explains, and the seconds in which it dies; chosen so
# that 60 to 76 in 100 errors at 0.3 s lie within one standard error: plucks of one swing, seeds 100 to 163.
_LINGER = (0.006, 0.14)


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
class Glimpse:
    """What one short spectrum says."""

    age_s: float  # of the sounding
    frequency_hz: Hz | None  # None: nothing clear
    doubt: float  # 0..1, about the octave
    strength: float  # nats
    level_db: float


@dataclass(frozen=True, slots=True)
class Sounding:
    """What is known of one sounding; replaced, never changed."""

    start: int  # decimated sample at which it began
    plucked: bool  # by a leap in level; otherwise it swelled, as under a bow
    follows: bool = False  # a string of ours sounded when it began
    number: int = 0  # its count; 0 until it has a pitch
    looked_s: float = 0.0  # age at the last look at the spectrum
    coarse: Coarse | None = None
    octave_doubt: float = 1.0  # 0..1, by all of the sound so far
    base: Basis | None = None
    first: int = 0  # decimated sample of the first block
    taken: int = 0  # blocks taken from there on
    tracks: Tracks | None = None
    settled: Fit | None = None  # the pitch as one that settles
    turned: Fit | None = None  # the last moments as a pitch that moves evenly
    turned_s: float = 0.0  # age for which that was said
    sharp: Cents = Cents(0.0)  # left of the sharp start
    start_sharp: Cents = Cents(0.0)  # the sharp start itself
    turning: bool = False
    slope_sign: int = 0  # of the last slope that was sure
    sloped_s: float = -1.0  # age when that was
    reversed_s: float = -1.0  # age at which that sign last changed
    power: float = 0.0  # of its partials when it was believed
    bowed: bool = False
    stroke_s: float = 0.0  # age at the last change of the bow
    disturbed_s: float = 0.0  # age when something else leapt up beside it
    undisturbed_hz: Hz | None = None  # its pitch then
    glimpses: tuple[Glimpse, ...] = ()  # while its phases are not believed; see `dsp.crowd`
    loudest_db: float = -200.0  # among all glimpses
    faint: int = 0  # readings in a row in which the string all but drowned

    def age_s(self, past: Past) -> float:
        """Seconds since it began."""
        return (past.count - self.start) / past.rate_hz

    @property
    def frequency_hz(self) -> Hz | None:
        """The pitch: settled, or while it is being turned that of the last block."""
        result = self.turned if self.turning else self.settled
        if result is None or self.base is None:
            return None
        return moved(self.base.frequency_hz, float(result.x[0]))

    @property
    def drift(self) -> float:
        """Cents per second, 0 while the string is not being turned."""
        return float(self.turned.x[1]) if self.turning and self.turned is not None else 0.0

    def std_error(self, past: Past) -> Cents:
        """One standard error of `frequency_hz`: of the fit, and of what the sharp start hides."""
        result = self.turned if self.turning else self.settled
        assert result is not None
        if self.turning:
            return Cents(float(result.std_error[0]))
        share, tau = _LINGER
        linger = self.start_sharp * share * math.exp(-self.age_s(past) / tau)
        return Cents(math.hypot(float(result.std_error[0]), linger))


def moved(expected_hz: Hz, by: float) -> Hz:
    """A pitch by its coefficient: cents so small that they count as a share of the frequency.

    >>> round(cents(moved(Hz(440.0), 6.0), Hz(440.0)), 3)
    5.99
    """
    return Hz(expected_hz * (1.0 + PER_CENT * by))


def apart(a: Hz, b: Hz) -> Cents:
    """Distance of two pitches in cents, never negative."""
    return Cents(abs(cents(a, b)))


def latest(tracks: Tracks, span_s: float) -> Tracks:
    """The last seconds of tracks, but not fewer than some blocks."""
    first = int(np.searchsorted(tracks.time_s, tracks.time_s[-1] - span_s))
    first = max(0, min(first, tracks.time_s.size - 2 * LEAST_BLOCKS))
    return tracks.since(first)
