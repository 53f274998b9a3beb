"""When strings are struck: every attack in a stream, to a few milliseconds, with no pitch.

Rhythm needs the moment alone, also of notes too short or too close together for a pitch to be followed. The
sound is taken up to 5 kHz; `dsp.onset_functions` says roughly when something begins, and the steepest
rise of the level thereabouts, in frames of 2.5 ms, says when. What does not go on as a string does
(`dsp.lasting`) was a knock, and is not told.

A box that clicks while it listens clicks above 6 kHz (`dsp.clicks`), where nothing of this is heard.

Constants marked as chosen were chosen on `dsp.synthesis` plucks of seeds 0 to 99, on the takes a, b and rr1
of the recorded plucks, and on knocks of seeds 0 to 99; `tests/test_attacks.py` reports on others.
"""

import math
from collections import deque
from dataclasses import dataclass

import numpy as np

from dsp.lasting import STEPS, Lasting, Ranges, lasting, rings
from dsp.onset_functions import HOP_S, SPECTRUM_S, OnsetFunction
from dsp.reading import Samples, Signal
from dsp.units import Hz, Seconds

KNOWN_AFTER_S = Seconds(0.18)  # at most so much later than it began an attack is told
_BAND_RATE_HZ = 12_000.0  # plucked strings have little above 5 kHz
_PASSES_HZ, _FILTER_S, _KAISER = 4800.0, 0.00135, 8.0  # of the low-pass: 80 dB down from 6.6 kHz on
_FRAME_S = 0.0025
_LARGEST_OF = 6  # hops on either side: 30 ms
_NEXT_S = 0.06  # two attacks are at least so far apart; an eighth at 160 to the minute lasts 188 ms
_KEPT_S = 0.7  # of sound
_LOOKS_S = (0.05, 0.03)  # before and after the middle of the spectrum that tells of it
_STEEP = 0.6  # share of the steepest rise that is the beginning: chosen
_SOON_S, _APART_S = 0.015, 0.07  # the two spectra after the beginning
_LONG_S, _LONG_LOW_S = 0.045, 0.06  # each of them
_LOW_BELOW_HZ = 100.0
_LEAST_APART_S = 0.02  # with less until the next attack nothing is known of how it goes on


@dataclass(frozen=True, slots=True)
class Attack:
    """One string was struck."""

    time_s: Seconds  # from the start of the stream
    level_dbfs: float  # of its loudest frame; 0 dBFS is a full-scale square wave


class AttackWatch:
    """Finds attacks in mono sound of any block length.

    `sample_rate_hz` is 8000 or more; `lowest_hz` is the pitch of the lowest string.
    """

    def __init__(self, sample_rate_hz: float, lowest_hz: Hz) -> None:
        self._thin = max(1, round(sample_rate_hz / _BAND_RATE_HZ))  # samples that become one
        self._filter = _low_pass(sample_rate_hz, self._thin)
        self._rate = sample_rate_hz / self._thin
        self._late_s = (self._filter.size - 1) / 2.0 / sample_rate_hz
        self._hop = round(HOP_S * self._rate)
        self._window = 2 * round(SPECTRUM_S * self._rate / 2.0)
        self._frame = round(_FRAME_S * self._rate)
        self._long = round((_LONG_LOW_S if lowest_hz < _LOW_BELOW_HZ else _LONG_S) * self._rate)
        self._ranges = Ranges(self._rate, lowest_hz)
        self._function = OnsetFunction(self._rate, self._window)
        self._rest = np.zeros(self._filter.size - 1, np.float64)
        self._sound = np.zeros(round(_KEPT_S * self._rate), np.float64)
        self._first = -self._sound.size  # the number of the oldest sample kept
        self._hops = 0  # looked at so far
        self._over: deque[float] = deque([0.0] * (2 * _LARGEST_OF + 1), maxlen=2 * _LARGEST_OF + 1)
        self._begun: list[int] = []  # samples at which something began that is not told yet
        self._last = -self._sound.size

    def feed(self, samples: Samples) -> list[Attack]:
        """Take the next samples; the attacks that are known by now, in order of time."""
        most = round(0.1 * self._rate) * self._thin
        found: list[Attack] = []
        for start in range(0, len(samples), most):
            self._take(samples[start : start + most])
            self._notice()
            found += self._told()
        return found

    def _take(self, samples: Samples) -> None:
        """Thin the new samples out and keep them."""
        raw = np.concatenate([self._rest, samples.astype(np.float64)])
        count = max(0, (raw.size - self._filter.size + 1) // self._thin)
        self._rest = raw[count * self._thin :]
        if not count:
            return
        thinned = np.convolve(raw[: count * self._thin + self._filter.size - 1], self._filter, "valid")
        fresh = thinned[:: self._thin][:count]
        self._sound = np.concatenate([self._sound[fresh.size :], fresh])
        self._first += fresh.size

    def _notice(self) -> None:
        """See whether something began, in the hops that are complete by now."""
        end = self._first + self._sound.size
        count = max(0, (end - self._window) // self._hop + 1 - self._hops)
        starts = self._hop * (self._hops + np.arange(count)) - self._first
        frames = self._sound[starts[:, None] + np.arange(self._window)]
        for over in self._function.of(frames):
            self._hops += 1
            self._over.append(over)
            middle = self._over[_LARGEST_OF]
            if middle >= 1.0 and middle >= max(self._over):
                self._begins((self._hops - 1 - _LARGEST_OF) * self._hop + self._window // 2)

    def _begins(self, about: int) -> None:
        """Something began near a sample; note exactly when."""
        before, after = (round(span * self._rate) for span in _LOOKS_S)
        low = about - before - self._first
        began = about - before + _steepest(self._sound[max(low, 0) : low + before + after], self._frame)
        if began - self._last >= _NEXT_S * self._rate:
            self._begun.append(began)
            self._last = began

    def _told(self) -> list[Attack]:
        """What began long enough ago to be known."""
        end, found = self._first + self._sound.size, list[Attack]()
        while self._begun:
            began = self._begun[0]
            following = self._begun[1] if len(self._begun) > 1 else None
            soon = began + round(_SOON_S * self._rate)
            late = soon + round(_APART_S * self._rate)
            if following is not None:
                late = min(late, following - self._frame - self._long)
            late -= (late - began + self._long + 2 * self._frame) % STEPS
            if late + self._long > end:
                break
            self._begun.pop(0)
            if late - soon < _LEAST_APART_S * self._rate or rings(self._goes_on(began, soon, late)):
                found.append(self._attack(began))
        return found

    def _goes_on(self, began: int, soon: int, late: int) -> Lasting:
        """How what began goes on."""
        later = began - self._long - 2 * self._frame
        firsts = (later - (late - later) // STEPS, later)
        before = np.stack([self._part(first) for first in firsts])
        apart_s = (late - soon) / self._rate
        return lasting(before, self._part(soon), self._part(late), apart_s, self._ranges)

    def _part(self, first: int) -> Signal:
        start = max(first - self._first, 0)
        return self._sound[start : start + self._long]

    def _attack(self, began: int) -> Attack:
        start = began - self._first
        frames = self._sound[start : start + 16 * self._frame].reshape(16, self._frame)
        level = 10.0 * math.log10(max(float(np.mean(frames**2, axis=1).max()), 1e-20))
        return Attack(Seconds(max(began / self._rate - self._late_s, 0.0)), level)


def _steepest(sound: Signal, frame: int) -> int:
    """The sample at which the level begins to rise most, as a whole or in its higher half."""
    frames = sound[: sound.size // frame * frame].reshape(-1, frame)
    best, place = 0.0, 0
    for level in (np.mean(frames**2, axis=1), np.mean(np.diff(frames, axis=1) ** 2, axis=1)):
        power = level + 2.0 * np.quantile(level, 0.1) + 1e-12
        after = np.maximum(power[3:-1], power[4:])
        before = np.maximum(np.maximum(power[:-4], power[1:-3]), power[2:-2])
        rise = np.log(after / before)
        if rise.max() > best:
            best, place = float(rise.max()), 3 + int(np.flatnonzero(rise > _STEEP * rise.max())[0])
    return place * frame + frame // 2


def _low_pass(rate_hz: float, thin: int) -> Signal:
    """A windowed sinc (Kaiser's window); nothing where there is little above what passes."""
    if thin == 1 and rate_hz < _BAND_RATE_HZ:
        return np.ones(1)
    taps = 2 * round(_FILTER_S / 2.0 * rate_hz) + 1
    place = np.arange(taps) - (taps - 1) / 2.0
    weights = np.sinc(2.0 * _PASSES_HZ / rate_hz * place) * np.kaiser(taps, _KAISER)
    return np.asarray(weights / weights.sum())
