"""PitchTracker: sound in, readings out; the one thing in `dsp` that remembers.

Sound comes in hops (`dsp.intake`), and each is watched for a leap in level. Once something sounds, its
spectrum says which pitch it may be (`dsp.coarse`); then the phases of its partials are followed
(`dsp.fine`) until they drown in the room.

Constants marked as chosen, here and in the modules it uses, were chosen on `dsp.synthesis` with seeds 40 to
359 and 1000 to 1029, those of octaves and bursts on seeds 2000 to 2209, and, for what is no string, on the
benchmark's speech, music, knocks and noise (`tests/bench/hours.py`): an hour each of seed 3000, a quarter
of an hour of speech of seed 3100, minutes of seeds 500, 700, 20000 and 41000.
The benchmark reports on others.
"""

import math
from dataclasses import replace

from dsp.belief import believed, looks_plucked
from dsp.crowd import EVERY, agreed, faded, glimpsed, pitch, promising, stands_out
from dsp.crowd import FIRST_S as FIRST_GLIMPSE_S
from dsp.following import followed
from dsp.intake import Intake
from dsp.looking import FIRST_S, longest_look_s, looked, lost
from dsp.onset import FRAMES, given_up, heard, leap, no_frames, swells
from dsp.others import disturbed, is_neighbours, led_astray, loudness, new_stroke, runs, swelled
from dsp.reading import Reading, Samples
from dsp.sounding import Past, Sounding
from dsp.turns import moves
from dsp.units import Cents, Hz, Seconds

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
        self._lowest, self._highest = Hz(float(lowest_hz)), Hz(float(highest_hz))
        self._intake = Intake(float(sample_rate_hz), self._highest)
        self._frames = no_frames()
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
        readings = [self._step() for _ in self._intake.hops_of(samples)]
        return [reading for reading in readings if reading is not None]

    def _step(self) -> Reading | None:
        """One hop."""
        past = self._intake.past
        sounding = self._note is not None or self._rising is not None
        self._frames = heard(self._frames, self._intake.hop, sounding=sounding)
        self._notice(past)
        if self._rising is not None:
            self._rise(past)
        if self._note is None and self._intake.hops % EVERY == 0:
            return self._glimpse(past)
        return self._read(past)

    def _notice(self, past: Past) -> None:
        """See whether something begins to sound."""
        began = leap(self._frames)
        if began is not None and (self._rising is None or self._rising.age_s(past) > 0.03):
            hop = self._intake.hop_size
            start = past.count - hop + (began - 1) * hop // FRAMES
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
        if note.base is not None and (note.age_s(past) < 0.1 or self._intake.hops % _READ_EVERY == 0):
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
            if self._intake.hops % every or (
                self._rising is not None and self._may_be_another(self._rising, past)
            ):
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
        return Reading(
            time_s=Seconds(self._intake.time_s),
            frequency_hz=frequency,
            std_error_cents=error,
            octave_doubt=doubt,
            drift_cents_per_s=note.drift,
            level_dbfs=self._intake.level_dbfs,
            since_pluck_s=Seconds(note.age_s(past)),
            pluck=note.number,
        )


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
