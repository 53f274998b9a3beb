"""From a sounding without a pitch to one with a first guess, and to a surer one as it grows."""

import math
from dataclasses import replace

import numpy as np

from dsp.coarse import Coarse, coarse_pitch
from dsp.octaves import doubt_of, evidence_of
from dsp.partials import basis
from dsp.sounding import Past, Sounding, apart
from dsp.spectrum import Spectrum, peaks_of, power_spectrum
from dsp.units import Hz

SKIP_S = 0.004  # of a pluck's first noise
FIRST_S = 0.034  # age at the earliest look
_GROWTH = 1.45  # a new look after the age has grown by this
_LONGEST_S = 0.2  # of the spectrum, or eight periods of the lowest pitch
_WEIGHED_S = 0.45  # longest stretch in which the octave below is sought
_SURE = 0.12  # doubt up to which a guess is followed
_CONTRADICTED = 0.6  # doubt once a later look prefers another pitch without being sure of it
_EXPLAINED = 0.5  # least share of the peaks' power
_PERIODS = 7.0  # a guess needs this many of its periods in the spectrum
_PERIODS_IF_RICH = 3.5  # or this many, with so many clean partials that no lower pitch could look like it
_RICH = 15.0  # nats
_SAME_CENTS = 40.0
_MAINS_HZ = (50.0, 60.0, 100.0, 120.0)
_MAINS_SHARE = 0.004  # mains frequency stays within this of its nominal value (0.2 in 50 Hz)
_DECAY = 0.9  # of power from the first to the second half of the look: hum does not die away


def longest_look_s(lowest_hz: Hz) -> float:
    """Longest spectrum looked at, in seconds."""
    return max(_LONGEST_S, 8.0 / lowest_hz)


def looked(note: Sounding, past: Past, lowest_hz: Hz, highest_hz: Hz) -> Sounding:
    """The sounding after a new look at its spectrum, where it has grown enough to deserve one."""
    age = note.age_s(past)
    if note.looked_s and age < _GROWTH * note.looked_s and note.coarse is not None:
        return note
    if note.looked_s < longest_look_s(lowest_hz):
        note = _looked_again(note, past, age, lowest_hz, highest_hz)
    return _weighed(replace(note, looked_s=age), past) if note.looked_s < _WEIGHED_S else note


def _looked_again(note: Sounding, past: Past, age: float, lowest_hz: Hz, highest_hz: Hz) -> Sounding:
    longest = longest_look_s(lowest_hz)
    guess = _guess(note, past, min(age, longest), lowest_hz, highest_hz)
    if guess is None or guess.explained < _EXPLAINED or not _resolved(guess, age - SKIP_S):
        return note
    known = note.coarse
    if known is not None and apart(guess.frequency_hz, known.frequency_hz) < _SAME_CENTS:
        doubt, strength = min(known.doubt, guess.doubt), max(known.strength, guess.strength)
        return replace(note, coarse=replace(known, doubt=doubt, strength=strength))
    if guess.doubt <= _SURE:
        return _locked(note, guess, past)
    return note if known is None else replace(note, coarse=replace(known, doubt=_CONTRADICTED))


def _weighed(note: Sounding, past: Past) -> Sounding:
    """The sounding with what speaks for the octave below in all of it so far."""
    if note.coarse is None:
        return note
    pitch = note.frequency_hz or note.coarse.frequency_hz
    first = max(note.start + round(SKIP_S * past.rate_hz), past.count - round(_WEIGHED_S * past.rate_hz))
    sound = past.between(first, past.count)
    before = _before(note, past, sound.size)
    spectrum = power_spectrum(sound, past.rate_hz)
    evidence = evidence_of(spectrum, pitch, note.coarse.inharmonicity, past.band_hz, before)
    return replace(note, octave_doubt=doubt_of(evidence, note.coarse.strength))


def _before(note: Sounding, past: Past, size: int) -> Spectrum | None:
    """The spectrum of as long a stretch of the room just before a pluck, where it is kept."""
    last = note.start - round(SKIP_S * past.rate_hz)
    earlier = past.between(last - size, last)
    kept = note.plucked and last >= size and earlier.size == size
    return power_spectrum(earlier, past.rate_hz) if kept else None


def _resolved(guess: Coarse, span_s: float) -> bool:
    """Whether a pitch an octave or a twelfth lower would have shown in a spectrum this long."""
    periods = guess.frequency_hz * span_s
    rich = guess.strength > _RICH and guess.doubt < 0.01
    return periods >= (_PERIODS_IF_RICH if rich else _PERIODS)


def _guess(note: Sounding, past: Past, span_s: float, lowest_hz: Hz, highest_hz: Hz) -> Coarse | None:
    skip = round(SKIP_S * past.rate_hz)
    size = round(span_s * past.rate_hz) - skip
    sound = past.between(past.count - size, past.count)
    before = _before(note, past, size)
    peaks = peaks_of(power_spectrum(sound, past.rate_hz), past.band_hz, 0.4 * lowest_hz, before)
    guess = coarse_pitch(peaks, past.band_hz, lowest_hz, highest_hz)
    if guess is None or not _is_mains(guess.frequency_hz):
        return guess
    early, late = (float(half @ half) for half in np.array_split(sound[: size // 2 * 2], 2))
    return guess if late < _DECAY * early else None


def _is_mains(frequency_hz: Hz) -> bool:
    return any(abs(frequency_hz / mains - 1.0) < _MAINS_SHARE for mains in _MAINS_HZ)


def _locked(note: Sounding, guess: Coarse, past: Past) -> Sounding:
    """Follow this guess, from the start of the sounding or as far back as is kept."""
    base = basis(guess.frequency_hz, guess.inharmonicity, past.rate_hz, past.band_hz)
    first = max(note.start + round(SKIP_S * past.rate_hz), past.count - math.floor(0.9 * past.sound.size))
    return replace(
        note, coarse=guess, base=base, first=first, taken=0, tracks=None, settled=None, turned=None
    )


def lost(note: Sounding) -> Sounding:
    """The sounding when the guess led nowhere: open to another one."""
    return replace(note, coarse=None, base=None, taken=0, tracks=None, settled=None, turned=None)
