"""Which note is held, plucked or bowed: a pitch that stands still, named soon, and not to be tuned by.

The tracker follows a string that begins to sound from silence or is plucked. Under the bow one note often
goes on into the next, swelling and without a beginning of its own. For whoever only has to know which note
it is, the period of the sound says it: the cumulative mean normalized difference (A. de Cheveigne and
H. Kawahara, YIN, a fundamental frequency estimator for speech and music, JASA 111, 2002), every 10 ms, over
some eight periods of the lowest string. A note is told when it has stood within `STEADY_WITHIN` for
`HELD_S`; a voice seldom stands so still.

Constants marked as chosen were chosen on `dsp.synthesis` notes of the seeds that `tests/test_held_notes.py`
uses and of seeds 10000 to 10007, and on two minutes of synthetic speech. What came of it, together with the
tracker's readings, on other seeds is in `demo/lessons/practice.md`.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np

from dsp.reading import Samples, Signal
from dsp.units import Cents, Hz, Seconds, cents

HELD_S = Seconds(0.15)  # chosen
STEADY_WITHIN = Cents(8.0)  # from the lowest to the highest in that time; speech bends more: chosen
STANDS_WITHIN = Cents(25.0)  # of its middle, from then on
_RATE_HZ = 12_000.0
_HOP_S = 0.01
_PERIODS = 8.0  # of the lowest string in the window
_LONGEST_S = 0.1  # of the window
_DIP = 0.12  # of the difference function: YIN's threshold is 0.1 to 0.15
_AS_DEEP = 1.6  # a shorter period counts whose dip is so many times as deep as the deepest, or
_NEARLY = 0.02  # by no more than this: chosen
_SOFT = np.array([1.0, 2.0, 3.0, 2.0, 1.0]) / 9.0  # nothing above 4 kHz, so that dips are wider than a lag
_DEEPER, _DEEPER_BY = 1.3, 0.006  # the dip at twice the period, against that at the period: chosen
_ABOVE_ROOM = 10.0  # in power; chosen
_ROOM_FALLS = 0.2  # share a hop: 50 ms down
_ROOM_RISES = 10.0 ** (0.015 / 10.0)  # factor a hop, 1.5 dB a second: a long stroke is no room; chosen
_QUIETEST = 1e-10  # power of a room, -100 dBFS


@dataclass(frozen=True, slots=True)
class HeldNote:
    """A pitch that stands; told once when it is known, again each hop while it stands."""

    time_s: Seconds  # of the newest sample, from the start of the stream
    began_s: Seconds  # since when it has stood
    frequency_hz: Hz  # the middle of what was found since
    number: int  # grows by one with each note


class HeldNoteWatch:
    """Finds notes that stand, in mono sound of any block length.

    `sample_rate_hz` is 8000 or more; pitches between `lowest_hz` and `highest_hz` are found.
    """

    def __init__(self, sample_rate_hz: float, lowest_hz: Hz, highest_hz: Hz) -> None:
        self._thin = max(1, round(sample_rate_hz / _RATE_HZ))
        self._rate = sample_rate_hz / self._thin
        self._lags = int(self._rate / highest_hz), int(self._rate / lowest_hz) + 2
        self._window = max(2 * self._lags[1], round(min(_PERIODS / lowest_hz, _LONGEST_S) * self._rate))
        self._hop = round(_HOP_S * self._rate)
        self._rest = np.zeros(0, np.float64)
        self._sound = np.zeros(self._window + self._lags[1], np.float64)
        self._count = 0  # hops taken
        self._room: float | None = None
        self._stands: deque[Hz] = deque(maxlen=round(1.0 / _HOP_S))
        self._number, self._told = 0, False

    def feed(self, samples: Samples) -> list[HeldNote]:
        """Take the next samples; what stands after each hop that they complete."""
        raw = np.concatenate([self._rest, samples.astype(np.float64)])
        step = self._hop * self._thin
        notes = list[HeldNote]()
        for start in range(0, raw.size - step + 1, step):
            fresh = raw[start : start + step].reshape(self._hop, self._thin).mean(axis=1)
            self._sound = np.concatenate([self._sound[self._hop :], fresh])
            self._count += 1
            note = self._after(self._pitch())
            notes += [note] if note is not None else []
        self._rest = raw[raw.size // step * step :]
        return notes

    def _after(self, pitch: Hz | None) -> HeldNote | None:
        stands = self._stands
        if pitch is None or (stands and abs(cents(pitch, _middle(stands))) > STANDS_WITHIN):
            stands.clear()
            self._told = False
        if pitch is None:
            return None
        stands.append(pitch)
        if not self._told:
            if not _steady(stands):
                return None
            self._told, self._number = True, self._number + 1
            self._began = self._count - len(stands)
        time_s = self._count * self._hop / self._rate
        heard_s = self._window / self._rate / 2.0  # the middle of the window lies so far back
        began_s = Seconds(self._began * self._hop / self._rate - heard_s)
        return HeldNote(Seconds(time_s), began_s, _middle(stands), self._number)

    def _pitch(self) -> Hz | None:
        """The pitch of the newest sound; None where it has no clear period or hardly stands out."""
        power = float(np.mean(self._sound[-self._window :] ** 2))
        room = power if self._room is None else self._room
        falls = room + (power - room) * _ROOM_FALLS
        self._room = max(falls if power < room else min(room * _ROOM_RISES, power), _QUIETEST)
        if power < _ABOVE_ROOM * self._room:
            return None
        soft = np.convolve(self._sound, _SOFT, "same")
        dips = _normalized_difference(soft, self._window, self._lags[1])
        low, high = self._lags
        inner = dips[low : high + 1]
        valleys = np.flatnonzero((inner[1:-1] <= inner[:-2]) & (inner[1:-1] < inner[2:])) + low + 1
        if valleys.size == 0:
            return None
        bends = [_vertex(*dips[lag - 1 : lag + 2]) for lag in valleys]
        depths = np.array([depth for _, depth in bends])
        if depths.min() > _DIP:
            return None
        first = int(np.flatnonzero(depths <= max(_AS_DEEP * depths.min(), depths.min() + _NEARLY))[0])
        lag = int(valleys[first]) + bends[first][0]
        twice = np.abs(valleys - 2.0 * lag) < 2.0
        if twice.any() and depths[twice].min() * _DEEPER + _DEEPER_BY < depths[first]:
            return None  # it may be an octave lower, and its odd partials weak
        return Hz(self._rate / lag)


def _normalized_difference(sound: Signal, window: int, longest: int) -> Signal:
    """YIN's difference function at lags 0..longest + 1, cumulative mean normalized."""
    size = 1 << (sound.size + window).bit_length()
    newest = sound[-window:]
    matched = np.fft.irfft(np.fft.rfft(sound, size) * np.conj(np.fft.rfft(newest, size)), size)
    start = sound.size - window
    shared = matched[start - np.arange(start + 1)]
    squares = np.concatenate([[0.0], np.cumsum(sound**2)])
    energy = squares[window + start - np.arange(start + 1)] - squares[start - np.arange(start + 1)]
    difference = np.maximum(energy[0] + energy - 2.0 * shared, 0.0)
    lags = np.arange(1, difference.size)
    means = np.cumsum(difference[1:]) / lags
    return np.concatenate([[1.0], difference[1:] / (means + 1e-20)])[: longest + 1]


def _vertex(before: float, at: float, after: float) -> tuple[float, float]:
    """Where the parabola through three neighbours is lowest, from the middle one, -0.5..0.5; and how low."""
    bend = before - 2.0 * at + after
    place = 0.0 if bend <= 0.0 else min(max(0.5 * (before - after) / bend, -0.5), 0.5)
    return place, max(at - 0.25 * (before - after) * place, 0.0)


def _steady(stands: deque[Hz]) -> bool:
    """Whether the pitch has stood for as long as it must."""
    lately = list(stands)[-round(HELD_S / _HOP_S) - 1 :]
    return len(lately) > round(HELD_S / _HOP_S) and cents(max(lately), Hz(min(lately))) <= STEADY_WITHIN


def _middle(stands: deque[Hz]) -> Hz:
    return Hz(float(np.median(stands)))
