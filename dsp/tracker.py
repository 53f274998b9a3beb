"""PitchTracker: sound in, readings out; the one thing in `dsp` that remembers.

Sound of any block length is cut into hops of some 10 ms, so the same stream gives the same readings
however it is fed. Each hop is decimated, watched for a leap in level and kept for a second and a
half. Once something sounds, its spectrum says which pitch it may be (`dsp.coarse`); then the phases
of its partials are followed (`dsp.fine`) until they drown in the room.

Samples that are not finite count as silence, and what lies beyond +-8 is held at that.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from dsp.coarse import Coarse, coarse_pitch
from dsp.decimation import decimate, decimation
from dsp.fine import Fit, Tracks, fit
from dsp.onset import FRAMES, heard, leap, no_frames
from dsp.partials import Basis, amplitudes, basis
from dsp.reading import Reading, Samples
from dsp.spectrum import Spectrum, peaks_of, power_spectrum
from dsp.units import Cents, Hz, Seconds, shifted

Signal = npt.NDArray[np.float64]

_HOP_S = 0.01
_KEPT_S = 1.5  # of decimated sound
_LOUDEST = 8.0  # samples beyond are held there
_RATES_HZ = (8000.0, 192000.0)
_FIRST_S = 0.034  # earliest look at a pluck
_READ_EVERY = 3  # hops
_SKIP_S = 0.004  # of the pluck's first noise
_LONGEST_LOOK_S = 0.2
_SPAN_S = 1.0  # longest stretch of phases fitted at once
_LOCAL_S = 0.15  # stretch in which a turn is looked for


@dataclass(frozen=True, slots=True)
class _Sounding:
    """One sounding of a string, from the moment its start was noticed."""

    start: int  # decimated sample at which it began
    number: int  # its count; 0 until it has a pitch
    plucked: bool
    coarse: Coarse | None = None
    looked_s: float = 0.0  # length of the last spectrum
    base: Basis | None = None
    first: int = 0  # decimated sample of the first block
    phasor: npt.NDArray[np.complex128] | None = None
    fit: Fit | None = None
    since: int = 0  # first block of the stretch with one pitch


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
        self._tail = np.zeros(self._plan.taps.size - 1)
        self._pending: list[Samples] = []
        self._waiting = 0
        self._kept = np.zeros(2 * round(_KEPT_S * self._plan.rate_hz))
        self._end = 0  # index in _kept after the newest sample
        self._count = 0  # decimated samples seen
        self._hops = 0
        self._frames = no_frames()
        self._levels = np.zeros(3)
        self._sounding: _Sounding | None = None
        self._plucks = 0

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
        sound = np.nan_to_num(raw.astype(np.float64), nan=0.0, posinf=0.0, neginf=0.0)
        np.clip(sound, -_LOUDEST, _LOUDEST, out=sound)
        self._levels = np.append(self._levels[1:], float(sound @ sound) / sound.size)
        stretch = np.concatenate([self._tail, sound])
        self._tail = stretch[stretch.size - self._tail.size :]
        hop = decimate(stretch, self._plan)
        self._keep(hop)
        self._hops += 1
        self._frames = heard(self._frames, hop, sounding=self._sounding is not None)
        began = leap(self._frames)
        if began is not None and (self._sounding is None or self._elapsed() > 0.03):
            start = self._count - self._hop + (began - 1) * self._hop // FRAMES
            self._sounding = _Sounding(start, 0, plucked=True)
        if self._sounding is None:
            return None
        if self._elapsed() < _FIRST_S:
            return None
        return self._read()

    def _keep(self, hop: Signal) -> None:
        if self._end + hop.size > self._kept.size:
            half = self._kept.size // 2
            self._kept[:half] = self._kept[self._end - half : self._end]
            self._end = half
        self._kept[self._end : self._end + hop.size] = hop
        self._end += hop.size
        self._count += hop.size

    def _sound(self, start: int, stop: int) -> Signal:
        """Decimated samples by their count from the start of the stream; fewer where they are gone."""
        shift = self._end - self._count
        return self._kept[max(start + shift, 0) : max(stop + shift, 0)]

    def _elapsed(self) -> float:
        assert self._sounding is not None
        return (self._count - self._sounding.start) / self._plan.rate_hz

    def _read(self) -> Reading | None:
        note = self._look()
        self._sounding = note
        if note is None or note.base is None:
            return None
        if note.number and self._hops % _READ_EVERY:
            return None
        note = self._follow(note)
        self._sounding = note
        if note is None or note.fit is None or note.base is None:
            return None
        return self._reading(note)

    def _look(self) -> _Sounding | None:
        """Guess the pitch afresh where the sounding has grown enough for a better guess."""
        note = self._sounding
        assert note is not None
        elapsed = self._elapsed()
        longest = max(_LONGEST_LOOK_S, 8.0 / self._lowest)
        if note.coarse is None and elapsed > longest + 0.1:
            return None
        if note.looked_s >= longest or (note.coarse is not None and elapsed < 1.5 * note.looked_s):
            return note
        guess = self._guess(note, min(elapsed, longest))
        note = replace(note, looked_s=elapsed)
        if guess is None or guess.doubt > 0.4 or guess.explained < 0.5 or guess.frequency_hz * elapsed < 4.5:
            return note
        if note.coarse is not None and abs(math.log(guess.frequency_hz / note.coarse.frequency_hz)) < 0.02:
            return replace(note, coarse=replace(note.coarse, doubt=min(note.coarse.doubt, guess.doubt)))
        return self._lock(note, guess)

    def _guess(self, note: _Sounding, span_s: float) -> Coarse | None:
        skip = round(_SKIP_S * self._plan.rate_hz)
        size = round(span_s * self._plan.rate_hz) - skip
        spectrum = power_spectrum(self._sound(self._count - size, self._count), self._plan.rate_hz)
        past = self._sound(note.start - skip - size, note.start - skip)
        before: Spectrum | None = None
        if past.size == size and note.start - skip - size > 0:
            before = power_spectrum(past, self._plan.rate_hz)
        peaks = peaks_of(spectrum, self._plan.band_hz, 0.7 * self._lowest, before)
        return coarse_pitch(peaks, self._plan.band_hz, self._lowest, self._highest)

    def _lock(self, note: _Sounding, guess: Coarse) -> _Sounding:
        base = basis(guess.frequency_hz, guess.inharmonicity, self._plan.rate_hz, self._plan.band_hz)
        first = note.start + round(_SKIP_S * self._plan.rate_hz)
        return replace(note, coarse=guess, base=base, first=first, phasor=None, fit=None, since=0)

    def _follow(self, note: _Sounding) -> _Sounding | None:
        """Bring the phases and the fit up to date; None where the note has drowned."""
        note = self._grown(note)
        assert note.base is not None
        if note.phasor is None or note.phasor.shape[1] < 3:
            return note
        rate = self._plan.rate_hz
        centres = (
            note.first
            - note.start
            + 0.5 * (note.base.length - 1)
            + note.base.hop * np.arange(note.phasor.shape[1])
        )
        tracks = Tracks(
            np.asarray(centres[note.since :] / rate, np.float64), note.phasor[:, note.since :], note.base
        )
        result = fit(tracks, note.fit, rounds=3 if note.fit is None else 2)
        if result.std_error > 15.0 or result.misfit > 0.3:
            return replace(note, fit=None) if self._elapsed() < 0.3 else None
        number = note.number
        if number == 0:
            self._plucks += 1
            number = self._plucks
        return replace(note, fit=result, number=number)

    def _grown(self, note: _Sounding) -> _Sounding:
        """Add the blocks that have become complete."""
        base = note.base
        assert base is not None
        done = 0 if note.phasor is None else note.phasor.shape[1]
        total = (self._count - note.first - base.length) // base.hop + 1
        if total <= done:
            return note
        start = note.first + done * base.hop
        sound = self._sound(start, self._count)
        new = amplitudes(sound, 0, total - done, base)
        phasor = new if note.phasor is None else np.concatenate([note.phasor, new], axis=1)
        most = max(8, round(_SPAN_S * self._plan.rate_hz / base.hop))
        return replace(note, phasor=phasor, since=max(note.since, phasor.shape[1] - most))

    def _reading(self, note: _Sounding) -> Reading:
        assert note.fit is not None
        assert note.base is not None
        assert note.coarse is not None
        elapsed = self._elapsed()
        level = 10.0 * math.log10(max(float(self._levels.mean()), 1e-12))
        return Reading(
            time_s=Seconds(self._hops * self._raw_hop / self._rate),
            frequency_hz=shifted(note.base.frequency_hz, note.fit.offset),
            std_error_cents=Cents(max(note.fit.std_error, 0.01)),
            octave_doubt=note.coarse.doubt,
            drift_cents_per_s=0.0,
            level_dbfs=level,
            since_pluck_s=Seconds(elapsed),
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
