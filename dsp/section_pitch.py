"""A pitch for a sound whose partials are too wide for their phases to be followed.

Two or more strings that are meant to be one (a section in a recording, a string whose two swings
lie far apart, a finger that still touches) spread every partial into a bundle of lines. The phases
then say nothing, but in a spectrum of only some eight periods each bundle is one peak. So such a
sound is glimpsed again and again in short spectra (`dsp.coarse`); when nearly all glimpses agree for
a while, and the sound dies as plucked strings do, their median is the pitch and their scatter its
error. It is never a small one: of such a sound nobody should be told that it is in tune.

The limits below were chosen on the pizzicato sections of two sound fonts (tests/test_sound_fonts.py)
against spoken words (the benchmark's speech, seeds 500, 700, 3000 and 3100).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from dsp.background import levels_before
from dsp.coarse import Coarse, coarse_pitch
from dsp.median import middle
from dsp.reading import Signal
from dsp.sounding import Onset, Past, apart
from dsp.spectrum import peaks_of, power_spectrum
from dsp.units import Cents, Hz, cents

FIRST_GLIMPSE_S = 0.05  # age at the first glimpse
_SPANS_S = (0.036, 0.055, 0.082, 0.122, 0.2)  # tried from the shortest on
_SPECTRA = 2  # looked at for one glimpse: bounds its cost
_LOWEST_PERIODS = 8.0  # of the lowest pitch in the longest of all
_PERIODS = 7.0  # of the pitch in the spectrum, so that its partials part
_WINDOW_S = 0.22  # for which glimpses must agree before they are believed
_WINDOW_PERIODS = 16.0  # or this long, for low strings
_LONGEST_S = 0.4  # of glimpses that make a reading
_LEAST = 6  # glimpses
_AGREE_CENTS = 45.0  # from their median
_SPANNED = 0.7  # share of that time between the first glimpse and the last
_AGREE_SHARE = 0.62
_STILL_SHARE = 0.5  # while it is already believed
_STRENGTH = 4.0  # nats, median
_DOUBT = 0.12
_EXPLAINED = 0.1  # least share of the peaks' power: a section's lines stray
_SLOPE = 60.0  # cents per second; a voice runs faster
_FALL_DB_PER_S = (12.0, 150.0)  # a hum does not die away; wood dies at 200 and more
_SCATTER_CENTS = 17.0  # of glimpses about an even course, standard deviation; a voice has more
_LEAST_ERROR = Cents(8.0)
_MOST_ERROR = Cents(17.0)  # of 28 recorded sections none is further off; of words taken for sections most are
_ANOTHER_CENTS = 100.0  # from there on it is another pitch
_SWELL_DB = 9.5  # from the first glimpse to the loudest: several players do not pluck at once
_CLIMB_DB = 6.5  # back up after that; two strings beat
_SWAY_DB = 3.2  # standard deviation about an even fall
_ABOVE_ROOM_DB = 12.0  # at its loudest, over the room in the half second before it
_ITS_OWN = 2  # the loudest frames before it, which may be its own ragged beginning
_QUIET_DB = 50.0  # under its loudest moment it has gone


@dataclass(frozen=True, slots=True)
class Glimpse:
    """What one short spectrum says."""

    age_s: float  # of the sounding
    frequency_hz: Hz | None  # None: nothing clear
    doubt: float  # 0..1, about the octave
    strength: float  # nats
    level_db: float


@dataclass(frozen=True, slots=True)
class Section:
    """A sounding that is only glimpsed."""

    onset: Onset
    least_db: float = -200.0  # level from which it stands out of what sounded before
    glimpses: tuple[Glimpse, ...] = ()
    loudest_db: float = -200.0  # among all glimpses
    begins_with: int = 0  # which span is tried first: that which was long enough last time, or a longer one


def begin_section(onset: Onset, past: Past) -> Section:
    """A sounding before its first glimpse.

    In somebody else's music every pitch is doubtful: only what is well above all that sounded before is
    looked at.
    """
    before = np.sort(levels_before(onset, past))[:-_ITS_OWN]
    return Section(onset, float(before[-1]) + _ABOVE_ROOM_DB if before.size else -200.0)


def stands_out(note: Section, past: Past) -> bool:
    """Whether it is well above all that sounded before, or has been: else glimpses of it are of no use."""
    return max(note.loudest_db, _level_db(past)) > note.least_db


def _level_db(past: Past) -> float:
    sound = past.between(past.count - round(_SPANS_S[0] * past.rate_hz), past.count)
    return 10.0 * math.log10(float(sound @ sound) / max(sound.size, 1) + 1e-15)


def glimpsed(note: Section, past: Past, lowest_hz: Hz, highest_hz: Hz) -> Section:
    """The sounding with one more glimpse of the newest sound."""
    age = note.onset.age_s(past)
    spans = [span for span in (*_SPANS_S, _LOWEST_PERIODS / lowest_hz) if span <= age]
    guess, first = None, note.begins_with % len(spans)
    for tried in range(first, min(first + _SPECTRA, len(spans))):
        guess, first = _guess(note, past, spans[tried], lowest_hz, highest_hz), tried
        if guess is not None and guess.frequency_hz * spans[tried] >= _PERIODS:
            break
    else:
        first += 1
    level = _level_db(past)
    one = Glimpse(age, None, 1.0, 0.0, level)
    if guess is not None and guess.explained >= _EXPLAINED:
        one = Glimpse(age, guess.frequency_hz, guess.doubt, guess.strength, level)
    longest_s = max(_LONGEST_S, _window_s(note))
    kept = tuple(g for g in note.glimpses if age - g.age_s < longest_s)
    loudest = max(note.loudest_db, level)
    return replace(note, glimpses=(*kept, one), loudest_db=loudest, begins_with=first)


def promising(note: Section) -> bool:
    """Whether more glimpses may come to agree."""
    return bool(note.glimpses) and 2 * len(_alike(note.glimpses)) >= len(note.glimpses)


def agreed(note: Section) -> bool:
    """Whether the glimpses are those of plucked strings of one pitch."""
    recent = _recent(note, _window_s(note))
    if len(recent) < _LEAST or recent[-1].age_s - recent[0].age_s < _SPANNED * _window_s(note):
        return False
    alike = _alike(recent)
    if len(alike) < _AGREE_SHARE * len(recent):
        return False
    if _middle([g.strength for g in alike]) < _STRENGTH:
        return False
    age = np.array([g.age_s for g in alike])
    course = np.polyfit(age, _cents(alike), 1)
    if float(np.std(_cents(alike) - np.polyval(course, age))) > _SCATTER_CENTS:
        return False
    fall = -float(np.polyfit([g.age_s for g in recent], [g.level_db for g in recent], 1)[0])
    falls = _FALL_DB_PER_S[0] < fall < _FALL_DB_PER_S[1]
    return abs(float(course[0])) < _SLOPE and falls and _dies_evenly(note)


def _dies_evenly(note: Section) -> bool:
    """Loudest nearly at once, and from then on evenly softer: a voice swells and sways."""
    level = np.array([g.level_db for g in note.glimpses])
    loudest = int(np.argmax(level))
    later = level[loudest:]
    climb = float((later - np.minimum.accumulate(later)).max())
    if level[loudest] - level[0] > _SWELL_DB or climb > _CLIMB_DB or later.size < 3:
        return False
    age = np.array([g.age_s for g in note.glimpses[loudest:]])
    line = np.polyfit(age, later, 1)
    sway = float(np.std(later - np.polyval(line, age)))
    return sway < _SWAY_DB and -float(line[0]) < _FALL_DB_PER_S[1]


def contradicts(note: Section, frequency_hz: Hz) -> bool:
    """Whether glimpses that agree saw another pitch than this: an octave of it, mostly."""
    found = pitch(note) if note.glimpses else None
    return found is not None and apart(found[0], frequency_hz) > _ANOTHER_CENTS


def faded(note: Section) -> bool:
    """Whether a believed sound has gone, or is something else by now."""
    recent = _recent(note, _window_s(note))
    alike = _alike(recent)
    gone = note.loudest_db - note.glimpses[-1].level_db > _QUIET_DB
    return gone or len(alike) < _STILL_SHARE * len(recent)


def pitch(note: Section) -> tuple[Hz, Cents, float] | None:
    """Pitch, its standard error, and the doubt about its octave; None where glimpses do not agree."""
    alike = _alike(_recent(note, max(_LONGEST_S, _window_s(note))))
    if len(alike) < _LEAST // 2:
        return None
    first = alike[0].frequency_hz
    assert first is not None
    off = _cents(alike)
    centre = middle(off)
    scatter = 1.4826 * middle(np.abs(off - centre))  # of a normal distribution
    error = max(_LEAST_ERROR, 2.0 * scatter / math.sqrt(off.size))
    if error > _MOST_ERROR:
        return None
    doubt = _middle([g.doubt for g in alike])
    return Hz(first * 2.0 ** (centre / 1200.0)), Cents(error), doubt


def _cents(alike: tuple[Glimpse, ...]) -> Signal:
    first = alike[0].frequency_hz
    assert first is not None
    return np.array([cents(g.frequency_hz, first) for g in alike if g.frequency_hz is not None])


def _guess(note: Section, past: Past, span_s: float, lowest_hz: Hz, highest_hz: Hz) -> Coarse | None:
    size = round(span_s * past.rate_hz)
    sound = past.between(past.count - size, past.count)
    room = past.between(note.onset.start - 2 * size, note.onset.start - size)
    before = power_spectrum(room, past.rate_hz) if room.size == size else None
    peaks = peaks_of(power_spectrum(sound, past.rate_hz), past.band_hz, 0.4 * lowest_hz, before)
    return coarse_pitch(peaks, past.band_hz, lowest_hz, highest_hz, stiff=False)


def _window_s(note: Section) -> float:
    known = [g.frequency_hz for g in note.glimpses if g.frequency_hz is not None]
    return max(_WINDOW_S, _WINDOW_PERIODS / _middle(known)) if known else _WINDOW_S


def _recent(note: Section, span_s: float) -> tuple[Glimpse, ...]:
    newest = note.glimpses[-1].age_s
    least_s = (
        0.5 * span_s
    )  # a low string cannot be seen in the first moments: that they saw nothing says nothing
    return tuple(
        g for g in note.glimpses if newest - g.age_s <= span_s and (g.frequency_hz or g.age_s > least_s)
    )


def _alike(glimpses: tuple[Glimpse, ...]) -> tuple[Glimpse, ...]:
    """Those near the median of all that saw a pitch without doubting its octave."""
    clear = [g for g in glimpses if g.frequency_hz is not None and g.doubt <= _DOUBT]
    if not clear:
        return ()
    centre = Hz(_middle([g.frequency_hz for g in clear if g.frequency_hz]))
    return tuple(g for g in clear if g.frequency_hz and apart(g.frequency_hz, centre) < _AGREE_CENTS)


def _middle(values: Sequence[float]) -> float:
    """Median of a few numbers, at least one."""
    ordered = sorted(values)
    last = len(ordered) - 1
    return 0.5 * (ordered[last // 2] + ordered[(last + 1) // 2])
