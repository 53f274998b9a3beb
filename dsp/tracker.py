"""PitchTracker: sound in, readings out; the one thing in `dsp` that remembers.

Sound of any block length is cut into hops of some 10 ms, so the same stream gives the same readings
however it is fed. Each hop is decimated, watched for a leap in level and kept for a second and a
half. Once something sounds, its spectrum says which pitch it may be (`dsp.coarse`); then the phases
of its partials are followed (`dsp.fine`) until they drown in the room.

Constants marked as chosen, here and in the modules it uses, were chosen on `dsp.plucks` with seeds 40 to
359 and 1000 to 1029 and, for what is no string, on five minutes of synthetic speech and of music and two
of knocks and of noise (`tests/bench/hours.py`, seed 500; two minutes of seed 20000 as well). The benchmark
reports on seeds from 10000 up.

Samples that are not finite count as silence, and what lies beyond +-8 is held at that.
"""

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from dsp.belief import believed, looks_plucked
from dsp.crowd import EVERY, agreed, faded, glimpsed, pitch, promising, stands_out
from dsp.crowd import FIRST_S as FIRST_GLIMPSE_S
from dsp.decimation import decimation, filter_windows
from dsp.following import followed
from dsp.looking import FIRST_S, longest_look_s, looked, lost
from dsp.offset import without_offset
from dsp.onset import FRAMES, given_up, heard, leap, no_frames, swells
from dsp.others import disturbed, is_neighbours, led_astray, loudness, new_stroke, runs, swelled
from dsp.reading import Reading, Samples
from dsp.sounding import Past, Sounding
from dsp.turns import moves
from dsp.units import Cents, Hz, Seconds

Signal = npt.NDArray[np.float64]

_HOP_S = 0.01
_KEPT_S = 1.5  # of decimated sound
_LOUDEST = 8.0  # samples beyond are held there
_RATES_HZ = (8000.0, 192000.0)
_LONGEST_RISE_S = 1.0  # a sounding that has not been believed by then is given up
_READ_EVERY = 4  # hops: 25 readings a second
_YOUNG_READ_EVERY = 2  # hops, while a note settles or is being turned
_YOUNG_S = 0.3


class PitchTracker:
    """Follows one string at a time through a stream of sound.

    Parameters
    ----------
    sample_rate_hz : 8000 to 192000
    lowest_hz, highest_hz : the range of pitches to read; what lies outside gets no reading

    Raises ValueError where the rate or the range cannot be used.
    """

    def __init__(self, sample_rate_hz: float, lowest_hz: float, highest_hz: float) -> None:
        _check(sample_rate_hz, lowest_hz, highest_hz)
        self._rate = float(sample_rate_hz)
        self._lowest, self._highest = Hz(float(lowest_hz)), Hz(float(highest_hz))
        self._plan = decimation(self._rate, self._highest)
        self._hop = FRAMES * max(1, round(_HOP_S * self._plan.rate_hz / FRAMES))
        self._raw_hop = self._hop * self._plan.factor
        self._stretch = np.zeros(self._plan.taps.size - 1 + self._raw_hop)  # what the filter looks at
        self._windows = filter_windows(self._stretch, self._plan)
        self._offset: float | None = None  # of the sound card
        self._pending: list[Samples] = []
        self._waiting = 0
        self._kept = np.zeros(2 * round(_KEPT_S * self._plan.rate_hz))
        self._end = 0  # index in _kept after the newest sample
        self._count = 0  # decimated samples seen
        self._hops = 0
        self._frames = no_frames()
        self._levels = (0.0, 0.0, 0.0)  # power of the last hops
        self._note: Sounding | None = None  # has a pitch
        self._crowd: Sounding | None = None  # has one too, but only glimpsed
        self._rising: Sounding | None = None  # may get one
        self._ours: Sounding | None = None  # the last one that was ours, as it began
        self._plucks = 0
        self._fresh = False  # the note has just been found

    def feed(self, samples: Samples) -> list[Reading]:
        """Take the next samples and give the readings they complete.

        Parameters
        ----------
        samples : mono, in [-1, 1], shape (n,) for any n; not written into

        Raises ValueError where they are not one row of numbers.
        """
        block = np.array(samples, dtype=np.float32)
        if block.ndim != 1:
            raise ValueError(f"samples have shape {block.shape}; feed one channel, shape (n,)")
        self._pending.append(block)
        self._waiting += block.size
        if self._waiting < self._raw_hop:
            return []
        stream = np.concatenate(self._pending)
        whole = stream.size // self._raw_hop * self._raw_hop
        self._pending = [stream[whole:].copy()]
        self._waiting = stream.size - whole
        readings = [self._step(stream[i : i + self._raw_hop]) for i in range(0, whole, self._raw_hop)]
        return [reading for reading in readings if reading is not None]

    def _step(self, raw: Samples) -> Reading | None:
        """One hop."""
        self._stretch[: -self._raw_hop] = self._stretch[self._raw_hop :].copy()
        sound, self._offset = without_offset(cleaned(raw), self._offset, self._rate)
        self._stretch[-self._raw_hop :] = sound
        self._levels = (*self._levels[1:], float(sound @ sound) / sound.size)
        hop = self._windows @ self._plan.taps
        self._keep(hop)
        self._hops += 1
        sounding = self._note is not None or self._rising is not None
        self._frames = heard(self._frames, hop, sounding=sounding)
        past = Past(self._kept[: self._end], self._count, self._plan.rate_hz, self._plan.band_hz)
        self._notice(past)
        if self._rising is not None:
            self._rise(past)
        if self._note is None and self._hops % EVERY == 0:
            return self._glimpse(past)
        return self._read(past)

    def _keep(self, hop: Signal) -> None:
        if self._end + hop.size > self._kept.size:
            half = self._kept.size // 2
            self._kept[:half] = self._kept[self._end - half : self._end]
            self._end = half
        self._kept[self._end : self._end + hop.size] = hop
        self._end += hop.size
        self._count += hop.size

    def _notice(self, past: Past) -> None:
        """See whether something begins to sound."""
        began = leap(self._frames)
        if began is not None and (self._rising is None or self._rising.age_s(past) > 0.03):
            start = past.count - self._hop + (began - 1) * self._hop // FRAMES
            self._rising = Sounding(max(start, 0), plucked=True, follows=self._note is not None)
            if self._note is not None:
                self._note = disturbed(self._note, past)
        elif self._rising is None and self._note is None and swells(self._frames):
            self._rising = Sounding(past.count - round(0.05 * past.rate_hz), plucked=False)

    def _rise(self, past: Past) -> None:
        """Seek a pitch for what began to sound."""
        note = self._rising
        assert note is not None
        if note.age_s(past) < FIRST_S:
            return
        note = looked(note, past, self._lowest, self._highest)
        self._rising = note
        if note.base is not None and (note.age_s(past) < 0.1 or self._hops % _READ_EVERY == 0):
            found = followed(note, past)
            self._rising = lost(note) if found is None else found
            if found is not None and believed(found, past):
                self._rising = None
                if is_neighbours(found, self._ours, past):
                    self._frames = given_up(self._frames)
                else:
                    self._begin(replace(found, power=loudness(found), bowed=not looks_plucked(found)))
        elif note.age_s(past) > (
            _LONGEST_RISE_S if note.base or promising(note) else longest_look_s(self._lowest) + 0.1
        ):
            self._rising = None
            self._frames = given_up(self._frames)

    def _begin(self, note: Sounding) -> None:
        known = self._crowd is not None and self._crowd.start == note.start
        self._plucks += not known
        self._note = self._ours = replace(note, number=self._plucks)
        self._crowd = None
        self._fresh = True

    def _glimpse(self, past: Past) -> Reading | None:
        """Seek or follow the pitch of what has no phases to follow."""
        note = self._crowd
        if (
            self._rising is not None
            and self._rising.plucked
            and (note is None or note.start != self._rising.start)
        ):
            if self._rising.age_s(past) < FIRST_GLIMPSE_S:
                return None
            self._rising = seen = glimpsed(self._rising, past, self._lowest, self._highest)
            if not (agreed(seen) and stands_out(seen, past)):
                return None
            self._plucks += 1
            self._crowd = replace(seen, number=self._plucks)
        elif note is not None:
            note = glimpsed(note, past, self._lowest, self._highest)
            self._crowd = None if faded(note) else note
        if self._crowd is None:
            return None
        return self._crowd_reading(self._crowd, past)

    def _read(self, past: Past) -> Reading | None:
        note = self._note
        if note is None:
            return None
        if not self._fresh:
            often = note.age_s(past) < _YOUNG_S or moves(note)
            every = _YOUNG_READ_EVERY if often else _READ_EVERY
            if self._hops % every or (self._rising is not None and self._may_be_another(self._rising, past)):
                return None
            found = followed(looked(note, past, self._lowest, self._highest), past)
            if found is not None and swelled(found):
                found = disturbed(found, past)
            if found is not None and (runs(found) or led_astray(found, past)):
                found = None
            self._note = found
            if found is None or (found.settled is None and not found.turning):
                return None
            again = new_stroke(found)
            if again is not None:
                self._begin(again)
            note = again or found
        self._fresh = False
        return self._reading(note, past)

    def _may_be_another(self, rising: Sounding, past: Past) -> bool:
        """Whether readings of the old note had better wait for what just leapt up."""
        return rising.base is not None or rising.age_s(past) < 0.06

    def _reading(self, note: Sounding, past: Past) -> Reading | None:
        frequency = note.frequency_hz
        if frequency is None or note.coarse is None:
            return None
        return self._said(note, past, frequency, note.std_error(past), note.octave_doubt)

    def _crowd_reading(self, note: Sounding, past: Past) -> Reading | None:
        found = pitch(note)
        return None if found is None else self._said(note, past, *found)

    def _said(self, note: Sounding, past: Past, frequency: Hz, error: Cents, doubt: float) -> Reading | None:
        if not self._lowest <= frequency <= self._highest:
            return None
        level = 10.0 * math.log10(max(sum(self._levels) / len(self._levels), 1e-12))
        return Reading(
            time_s=Seconds(self._hops * self._raw_hop / self._rate),
            frequency_hz=frequency,
            std_error_cents=error,
            octave_doubt=doubt,
            drift_cents_per_s=note.drift,
            level_dbfs=level,
            since_pluck_s=Seconds(note.age_s(past)),
            pluck=note.number,
        )


def cleaned(raw: Samples) -> Signal:
    """The samples with what is not finite as silence and what is too loud held; a copy."""
    sound = raw.astype(np.float64)
    power = float(sound @ sound)
    if math.isfinite(power) and power <= _LOUDEST**2:
        return sound
    sound[~np.isfinite(sound)] = 0.0
    return np.clip(sound, -_LOUDEST, _LOUDEST)


def _check(sample_rate_hz: float, lowest_hz: float, highest_hz: float) -> None:
    low, high = _RATES_HZ
    if not (math.isfinite(sample_rate_hz) and low <= sample_rate_hz <= high):
        raise ValueError(
            f"sample rate {sample_rate_hz} Hz is outside {low:.0f} to {high:.0f} Hz; 48000 works"
        )
    if not (math.isfinite(lowest_hz) and math.isfinite(highest_hz) and 10.0 <= lowest_hz < highest_hz):
        raise ValueError(
            f"pitch range {lowest_hz} to {highest_hz} Hz needs a lowest pitch of at least 10 Hz below"
            " the highest; 82 to 1319 Hz suits a violin"
        )
    if highest_hz > sample_rate_hz / 4.0:
        raise ValueError(
            f"highest pitch {highest_hz} Hz is above a quarter of the sample rate {sample_rate_hz} Hz;"
            " lower it or raise the rate"
        )
