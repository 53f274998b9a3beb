"""From something that began to sound to a pitch it may have, in the right octave.

A short spectrum is looked at a few times as the sounding grows. Each look asks two things: which pitch
explains the peaks (`dsp.coarse`), and what stands half-way and a third of the way between its partials, which
would speak for a lower pitch (`dsp.octaves`).
"""

from dataclasses import dataclass, replace

import numpy as np

from dsp.coarse import Coarse, coarse_pitch
from dsp.octaves import doubt_of, evidence_of, share_beside
from dsp.reading import Signal
from dsp.sounding import Onset, Past, apart
from dsp.spectrum import Spectrum, peaks_of, power_spectrum
from dsp.tracking import SKIP_S
from dsp.units import Hz

FIRST_S = 0.034  # age at the earliest look
_GROWTH = 1.3  # a new look after the age has grown by this: some ten looks in all,
_SECOND_GROWTH = 1.1  # but a first guess is soon looked at again, as it is believed once two looks agree;
_CLEAR = 0.01  # doubt of the octave from which on
_CLEAR_GROWTH = 1.7  # the looks of a pitch that they agree on become fewer
_LONGEST_S = 0.2  # of the spectrum in which a pitch is sought, or eight periods of the lowest
_LONGEST_PERIODS = 8.0
_WEIGHED_S = 0.45  # longest stretch in which the octave below is sought
_SURE = 0.12  # doubt up to which a guess is followed
_CONTRADICTED = 0.6  # doubt once a later look prefers another pitch without being sure of it
_EXPLAINED = 0.5  # least share of the peaks' power: over half of it lies on the partials
_PERIODS = 7.0  # of the guess in the spectrum, so that an octave or a twelfth lower would have parted
# Share of the partials' power beside every second or third of them up to which the guess is a half or a third
# of the pitch: of 2,130 looks at 400 realistic plucks of all open strings none has less than 0.0033 there,
# so much can one partial outweigh the others.
_NOTHING = 0.001
_LITTLE = (
    0.02  # the same where clear looks agreed on the octave or the twelfth above; 1 in 5 of them has less
)
SAME_CENTS = 40.0  # closer than this, two looks mean the same pitch
_MAINS_HZ = (50.0, 60.0, 100.0, 120.0)
_MAINS_SHARE = 0.004  # mains frequency stays within this of its nominal value (0.2 in 50 Hz)
_DECAY = 0.9  # of power from the first to the second half of the look: hum does not die away


@dataclass(frozen=True, slots=True)
class Acquired:
    """What the looks at a sounding have shown so far."""

    looked_s: float = 0.0  # age at the last look
    coarse: Coarse | None = None
    agreed: int = 0  # looks in a row that found this pitch
    fresh: bool = False  # whether the last look was the first of these
    octave_doubt: float = 1.0  # 0..1, by all of the sound so far

    @property
    def is_contradicted(self) -> bool:
        """Whether the last look found another pitch than those before."""
        return self.coarse is not None and self.agreed == 0


def longest_look_s(lowest_hz: Hz) -> float:
    """Longest spectrum in which a pitch is sought, in seconds."""
    return max(_LONGEST_S, _LONGEST_PERIODS / lowest_hz)


def is_clear(known: Acquired) -> bool:
    """Whether looks agree, and the octave is hardly in doubt."""
    return known.agreed > 1 and known.octave_doubt < _CLEAR


def due(onset: Onset, known: Acquired, past: Past) -> bool:
    """Whether the sounding has grown enough to deserve another look."""
    age = onset.age_s(past)
    growth = _CLEAR_GROWTH if is_clear(known) else _GROWTH
    if known.fresh:
        growth = _SECOND_GROWTH
    return age >= max(FIRST_S, growth * known.looked_s) and known.looked_s < _WEIGHED_S


def looked(onset: Onset, known: Acquired, past: Past, limits: tuple[Hz, Hz], pitch_hz: Hz | None) -> Acquired:
    """What is known after another look.

    Parameters
    ----------
    limits : lowest and highest pitch
    pitch_hz : the pitch to a cent, where it is followed already
    """
    age, longest_s = onset.age_s(past), longest_look_s(limits[0])
    view, fresh = None, False
    if known.looked_s < longest_s:
        view = _view(onset, past, min(age, longest_s))
        old, known = known, _sought(view, known, past, *limits)
        fresh = known.agreed == 1 and known.coarse is not old.coarse
    elif known.is_contradicted:  # a sound that goes on may still say that its first pitch was right
        view = _view(onset, past, longest_s)
        known = _confirmed(known, _sought(view, known, past, *limits))
    known = replace(known, looked_s=age, fresh=fresh)
    if known.coarse is None:
        return known
    if view is None or age > longest_s:
        view = _view(onset, past, min(age, _WEIGHED_S + SKIP_S))
    return _weighed(view, known, known.coarse, pitch_hz or known.coarse.frequency_hz, past.band_hz)


@dataclass(frozen=True, slots=True)
class _View:
    """The newest stretch of a sounding, and its spectrum beside that of the room just before."""

    sound: Signal
    spectrum: Spectrum
    before: Spectrum | None


def _view(onset: Onset, past: Past, span_s: float) -> _View:
    """A look at the last `span_s`, less a pluck's first noise."""
    size = round((span_s - SKIP_S) * past.rate_hz)
    sound = past.between(past.count - size, past.count)
    return _View(sound, power_spectrum(sound, past.rate_hz), _before(onset, past, sound.size))


def _sought(view: _View, known: Acquired, past: Past, lowest_hz: Hz, highest_hz: Hz) -> Acquired:
    guess = _guess(view, past, lowest_hz, highest_hz)
    span_s = view.spectrum.span_s
    if guess is None or guess.explained < _EXPLAINED or guess.frequency_hz * span_s < _PERIODS:
        return known
    old = known.coarse
    beside = share_beside(view.spectrum, guess.frequency_hz, guess.inharmonicity, past.band_hz)
    if beside < (_LITTLE if _is_below(guess, old) else _NOTHING):
        same = old is not None and apart(guess.frequency_hz, old.frequency_hz) < SAME_CENTS
        return _contradicted(known) if same else known
    if old is not None and apart(guess.frequency_hz, old.frequency_hz) < SAME_CENTS:
        best = replace(old, doubt=min(old.doubt, guess.doubt), strength=max(old.strength, guess.strength))
        return replace(known, coarse=best, agreed=known.agreed + 1)
    surer = old is None or guess.doubt <= old.doubt  # else a longer look that met a stray peak would win
    if guess.doubt <= _SURE and surer:
        return replace(known, coarse=guess, agreed=1)
    return _contradicted(known)


def _confirmed(known: Acquired, sought: Acquired) -> Acquired:
    """What was sought anew if it is the same pitch, else what was known."""
    if known.coarse is None or sought.coarse is None:
        return known
    same = apart(known.coarse.frequency_hz, sought.coarse.frequency_hz) < SAME_CENTS
    return sought if same else known


def _is_below(guess: Coarse, old: Coarse | None) -> bool:
    """Whether it is an octave or a twelfth under what was found before."""
    times = (2.0, 3.0)
    return old is not None and any(
        apart(Hz(guess.frequency_hz * by), old.frequency_hz) < SAME_CENTS for by in times
    )


def _contradicted(known: Acquired) -> Acquired:
    """The same, in doubt of the pitch it may have had."""
    old = known.coarse
    return known if old is None else replace(known, coarse=replace(old, doubt=_CONTRADICTED), agreed=0)


def _weighed(view: _View, known: Acquired, coarse: Coarse, pitch_hz: Hz, band_hz: Hz) -> Acquired:
    """The same with what speaks for the octave below in all of it so far."""
    evidence = evidence_of(view.spectrum, pitch_hz, coarse.inharmonicity, band_hz, view.before)
    below = doubt_of(evidence, coarse.strength)
    return replace(known, octave_doubt=max(below, coarse.doubt))  # the octave above is the coarse one's


def _before(onset: Onset, past: Past, size: int) -> Spectrum | None:
    """The spectrum of as long a stretch of the room just before a pluck, where it is kept."""
    last = onset.start - round(SKIP_S * past.rate_hz)
    earlier = past.between(last - size, last)
    kept = onset.plucked and last >= size and earlier.size == size
    return power_spectrum(earlier, past.rate_hz) if kept else None


def _guess(view: _View, past: Past, lowest_hz: Hz, highest_hz: Hz) -> Coarse | None:
    peaks = peaks_of(view.spectrum, past.band_hz, 0.4 * lowest_hz, view.before)
    guess = coarse_pitch(peaks, past.band_hz, lowest_hz, highest_hz)
    if guess is None or not _is_mains(guess.frequency_hz):
        return guess
    early, late = (float(half @ half) for half in np.array_split(view.sound[: view.sound.size // 2 * 2], 2))
    return guess if late < _DECAY * early else None


def _is_mains(frequency_hz: Hz) -> bool:
    return any(abs(frequency_hz / mains - 1.0) < _MAINS_SHARE for mains in _MAINS_HZ)
