"""Whether what sounds is a string at all, and not a voice, a knock or a chord.

A plucked string leaps out of what was before, its power stands on its partials and falls from its first
moments on, and its pitch follows a settling course. A voice swells, its partials come and go with the vowel,
and its pitch runs and bends. All of that is put into one number, the log odds for a string.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from dsp.acquisition import Acquired
from dsp.background import early_growth_db, leap_db
from dsp.median import middle
from dsp.retuning import Turn
from dsp.sounding import Past, apart
from dsp.tracking import Followed
from dsp.units import Cents, Hz, shifted


@dataclass(frozen=True, slots=True)
class Marks:
    """What tells a string from a voice."""

    quiet_db: float  # its first moments over the loudest of the 1.2 s before
    comb_db: float  # power of the partials over that of what they leave, of late
    rising: float  # share of the late power in partials that have grown since the body built up
    growth_db: float  # of all partials, loudest of late over then
    fall_db_per_s: float  # since then
    slope: float  # cents a second by which the pitch moves about its course, magnitude
    scatter: float  # cents of the partials about their course
    misfit: float
    strength: float  # nats of the first guess
    doubt: float  # about the octave
    sharp: float  # of the start that is left, cents, magnitude
    age_s: float
    moves: bool = True  # whether the slope is known


_BUILD_UP_S = 0.05  # a body builds up for 20 to 50 ms
_LATE_BLOCKS = 6
_GROWN = 1.4  # in power: such a partial has grown


def marks_of(note: Followed, known: Acquired, turn: Turn, quiet_db: float, past: Past) -> Marks | None:
    """Look at a sounding that is being followed; None before its first fit."""
    tracks, settled = note.tracks, note.settled
    if tracks is None or settled is None or known.coarse is None:
        return None
    power = tracks.power
    total = power.sum(axis=0)
    time = tracks.time_s
    built = min(int(np.searchsorted(time, _BUILD_UP_S)), time.size - 1)
    late = slice(max(built, time.size - _LATE_BLOCKS), None)
    first, last = power[:, built : built + 2], power[:, -2:]
    then, now = first.sum(axis=1) / first.shape[1], last.sum(axis=1) / last.shape[1]
    span = max(float(time[-1] - time[built]), 0.02)
    moving = turn.moving
    return Marks(
        quiet_db=quiet_db,
        comb_db=10.0 * math.log10(middle(total[late]) / (middle(tracks.noise[late]) + 1e-16) + 1e-6),
        rising=float(now[now > _GROWN * then].sum() / (now.sum() + 1e-16)),
        growth_db=10.0 * float(np.log10(total[built:].max() / (then.sum() + 1e-16) + 1e-6)),
        fall_db_per_s=10.0 * float(np.log10((then.sum() + 1e-16) / (now.sum() + 1e-16))) / span,
        slope=0.0 if moving is None else abs(moving.slope),
        scatter=settled.scatter,
        misfit=settled.misfit,
        strength=known.coarse.strength,
        doubt=known.octave_doubt,
        sharp=abs(settled.now_cents - settled.cents),
        age_s=note.onset.age_s(past),
        moves=moving is not None,
    )


@dataclass(frozen=True, slots=True)
class CoursePoint:
    """What one fit said."""

    age_s: float
    frequency_hz: Hz  # where it stood
    settles_hz: Hz  # where it was foreseen to settle
    slope: float | None  # cents a second about its course, magnitude; None where it is not known


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is thought of a sounding so far."""

    believed: bool = False
    bowed: bool = False
    lately: tuple[float, ...] = ()  # log odds for a string by the last fits, the newest last
    faint: int = 0  # fits in a row in which it all but drowned
    course: tuple[CoursePoint, ...] = ()  # fits of late, the oldest first
    held_s: float = math.inf  # age from which each fit has found that it holds
    doubted: int = 0  # fits in a row that spoke against a string
    held: bool = False  # its pitch has held long enough for a bow's
    least_error: float = 0.0  # cents that a reading must own to, as this may be a voice after all
    quiet_db: float | None = None  # its first moments over what was before; None while nothing was fitted
    early_db: float = 0.0  # growth in its first 80 ms

    @property
    def told(self) -> bool:
        """Whether readings are given: what was taken for a pluck and swells must hold its pitch first."""
        return self.believed and (self.held or not self.bowed)


# Logistic regression on recorded plucks (takes that may choose), synthetic ones at 5 to 30 dB, and speech,
# seeds 3000 and 3100; the order is that of `odds`.
_WEIGHTS = (2.68, 2.36, -2.4, -1.12, -0.55, -0.81, -2.65, -1.75, -1.48, -0.62, 0.9)
_CONSTANT = -0.85
# What goes into it: each mark is held within what the sounds that chose the weights showed often, so that
# none decides alone, and counted in units in which a usual one is about 1.
_QUIET_DB, _COMB_DB, _GROWTH_DB = (-10.0, 25.0), (-5.0, 25.0), (0.0, 15.0)
_MISFIT, _STRENGTH = (0.7, 60.0), (0.0, 30.0)
_TEN_DB, _SLOPE, _SHARP_CENTS, _FALL_DB_PER_S, _AGE_S = 10.0, 30.0, 7.5, 100.0, 0.1
# Log odds from which the last two or three fits together speak for a string. Of soundings in 2,400 s of talk
# by twenty voices 8 come so far; 7 came to two fits in a row of over 3 each, which took longer for strings.
_BELIEVED, _LAST_FITS, _LEAST_FITS = 7.0, 3, 2
_MOST_OF_ONE = 5.0  # that each fit counts, for or against
_NEWEST = 2.0  # least log odds of the newest
# A pluck begins at once, or its pitch moves by less than so many cents a second about its course, or two fits
# in a row foresee it within so many cents and it does not run: a syllable swells, and its pitch runs. Of 14
# words in 95 minutes of talk that were taken for plucks 3 do as much; of 330 plucks each does soon.
_AT_ONCE_DB, _STANDS_SLOPE, _STANDS_CENTS, _RUNS_SLOPE = 0.0, 100.0, 8.0, 300.0
_MISFITS = 12.0  # chi squared a degree of freedom from which several strings sound, and not one
_DOUBTED = -2.0  # log odds below which a fit speaks against a string that was believed
_DOUBTED_READINGS = 3
# Log odds, leaving aside how quiet it was before, from which an error is believed as it is; under a bow the
# pitch must have held twice as long as well.
_ASSURED = 0.5
_MAY_BE_A_VOICE = 6.0  # cents stated at least otherwise: nothing is decided on that
_SWELLS_DB = 2.0  # by which a bowed string grows after a body has built up
_SWELLS_S = 0.5  # and until when that shows
# Growth in its first 80 ms from which it began too softly for a pluck, and the pitch above which that tells:
# of 620 recorded and realistic plucks above it none grows by more than 6.9 dB, of 7 words taken for plucks 3.
_BEGINS_SOFTLY_DB, _TELLS_HZ = 7.0, 75.0
_EARLY_KNOWN_S = 0.1  # age from which all of those are heard
_DROWNED_READINGS = 3
_BELOW_PERIODS = 11.0  # of the pitch, over five of the octave below, are heard before anything is said
_LOOKS = 2  # looks that must agree,
_CLEAR, _CLEARLY = 0.01, 9.0  # but one is enough for a doubt so small where the fits together say so much
_TOO_UNSURE = 30.0  # cents of standard error at which there is no reading
_FAINT_DB = 0.0
_HOLD_S = 0.25  # for which a bowed pitch must hold, and
_HOLD_SPAN_S = 0.2  # at least between the first and the last fit of it
# Cents within which it must. Of 612 soundings in 240 s of speech one stays within 12, and none within either
# that looks like a string's otherwise; 80 recorded bowed strings, read two and four times as fast, all do.
_HOLD_CENTS = 12.0
_HOLD_CENTS_ASSURED = 30.0  # where more speaks for a string than for a voice: a stroke begins flat or sharp
# Cents a second about its course, the median over that time and of at least so many fits, up to which a pitch
# holds. In an hour of speech 26 soundings seemed to hold their pitch otherwise, and moved by 135 and more; of
# 68 recorded and synthetic bowed strings 3 in 4 move by less than 91, and the others hold a little later.
# Several strings that are meant to be one move more, by 350 and further: they are believed where nothing
# sounded before, so far under it, and where they do not swell as a voice does.
_HOLD_SLOPE, _HOLD_FITS = 110.0, 3
_ALONE_DB, _ALONE_SWELLS_DB = 20.0, 25.0
_HOLD_PITCH = 6.0  # nats of the guess
_HOLD_ERROR = 8.5  # cents of standard error
_DOUBT = 0.3


def judged(old: Judgement, note: Followed, known: Acquired, turn: Turn, past: Past) -> Judgement:
    """What is thought of a sounding after its newest fit."""
    old = _begun(old, note, past)
    marks, pitch = marks_of(note, known, turn, old.quiet_db or 0.0, past), note.frequency_hz
    if marks is None or note.settled is None or pitch is None:
        return replace(old, lately=(), faint=old.faint + 1)
    faint = marks.comb_db < _FAINT_DB or note.settled.std_error > _TOO_UNSURE
    for_string = odds(marks)
    lately = (*old.lately, for_string if marks.misfit < _MISFITS else -_MOST_OF_ONE)[-_LAST_FITS:]
    slope = marks.slope if marks.moves else None
    course = _lately((*old.course, CoursePoint(marks.age_s, _now_hz(note), pitch, slope)))
    heard = marks.age_s * note.base.frequency_hz >= _BELOW_PERIODS and known.octave_doubt < _DOUBT
    bows = heard and for_string > _DOUBTED and pitch_holds(course, marks, note.settled.std_error, for_string)
    bowed = old.bowed or not note.onset.plucked or _swells(marks, pitch, old.early_db)
    plucked = heard and not bowed and _convinces(lately, known) and stands(course, old.early_db)
    held_s = math.inf if not bows else min(old.held_s, marks.age_s)
    alone = odds(replace(marks, quiet_db=0.0))  # were it among other sounds as loud
    assured = alone > _ASSURED and (not bowed or marks.age_s - held_s >= _HOLD_S)
    return replace(
        old,
        believed=old.believed or plucked or bows,
        bowed=bowed,
        lately=lately,
        faint=old.faint + 1 if faint else 0,
        course=course,
        held_s=held_s,
        doubted=0 if bowed or for_string > _DOUBTED else old.doubted + 1,
        held=old.held or bows,
        least_error=0.0 if assured else _MAY_BE_A_VOICE,
    )


def _convinces(lately: tuple[float, ...], known: Acquired) -> bool:
    """Whether the last fits and looks together are enough for a plucked string."""
    counted = [min(max(one, -_MOST_OF_ONE), _MOST_OF_ONE) for one in lately]
    together = max(sum(counted), sum(counted[-_LEAST_FITS:]))
    agreed = known.agreed >= _LOOKS
    if known.agreed == 1 and known.octave_doubt < _CLEAR:
        agreed = together > _CLEARLY
    return agreed and together > _BELIEVED and lately[-1] > _NEWEST


def stands(course: tuple[CoursePoint, ...], early_db: float) -> bool:
    """Whether it began at once, or its pitch stands already, as a syllable's seldom does.

    Parameters
    ----------
    course : its fits, the oldest first
    early_db : its growth in its first 80 ms
    """
    slope = course[-1].slope or 0.0
    if early_db < _AT_ONCE_DB or slope < _STANDS_SLOPE:
        return True
    off = max(apart(one.settles_hz, course[-1].settles_hz) for one in course[-2:])
    return len(course) > 1 and off < _STANDS_CENTS and slope < _RUNS_SLOPE


def _now_hz(note: Followed) -> Hz:
    """Where its pitch stands, which under a bow is steadier than where it is foreseen to settle."""
    assert note.settled is not None
    return shifted(note.base.frequency_hz, Cents(note.settled.now_cents))


def _begun(old: Judgement, note: Followed, past: Past) -> Judgement:
    """With how it began: what was before it, and how it grew in its first moments, as long as those last."""
    if old.course and old.course[-1].age_s >= _EARLY_KNOWN_S:
        return old
    quiet_db = leap_db(note.onset, past) if old.quiet_db is None else old.quiet_db
    return replace(old, quiet_db=quiet_db, early_db=early_growth_db(note.onset, past))


def _lately(course: tuple[CoursePoint, ...]) -> tuple[CoursePoint, ...]:
    return tuple(one for one in course if course[-1].age_s - one.age_s <= _HOLD_S)


def _swells(marks: Marks, pitch: Hz, early_db: float) -> bool:
    """Whether it grows as under a bow, or as a syllable: of a low string the first moments tell nothing."""
    softly = pitch > _TELLS_HZ and early_db > _BEGINS_SOFTLY_DB
    return marks.age_s < _SWELLS_S and (marks.growth_db > _SWELLS_DB or softly)


def pitch_holds(course: tuple[CoursePoint, ...], marks: Marks, std_error: float, for_string: float) -> bool:
    """Whether a pitch has held for as long as a voice's seldom does."""
    span = marks.age_s - course[0].age_s
    if span < _HOLD_SPAN_S or marks.strength <= _HOLD_PITCH or std_error > _HOLD_ERROR:
        return False
    slopes = [fit.slope for fit in course if fit.slope is not None]
    alone = marks.quiet_db > _ALONE_DB and marks.growth_db < _ALONE_SWELLS_DB
    if not alone and (len(slopes) < _HOLD_FITS or middle(np.array(slopes)) > _HOLD_SLOPE):
        return False
    pitches = [fit.frequency_hz for fit in course]
    within = _HOLD_CENTS_ASSURED if for_string > 0.0 else _HOLD_CENTS
    return marks.comb_db > _FAINT_DB and apart(max(pitches), min(pitches)) < within


def drowns(judgement: Judgement) -> bool:
    """Whether the string has all but drowned in the room, or turned out to be none."""
    return judgement.faint >= _DROWNED_READINGS or judgement.doubted >= _DOUBTED_READINGS


def odds(marks: Marks) -> float:
    """Log odds for a string, a weighted sum (logistic regression) of what tells it from a voice."""
    told = (
        _held(marks.quiet_db, _QUIET_DB) / _TEN_DB,
        _held(marks.comb_db, _COMB_DB) / _TEN_DB,
        marks.rising,
        math.log1p(_held(marks.growth_db, _GROWTH_DB)),
        math.log1p(marks.slope / _SLOPE),
        math.log(_held(marks.misfit, _MISFIT)),
        math.log1p(marks.sharp / _SHARP_CENTS),
        max(marks.fall_db_per_s / _FALL_DB_PER_S - 1.0, 0.0),
        max(-marks.fall_db_per_s / _FALL_DB_PER_S, 0.0),
        _held(marks.strength, _STRENGTH) / _TEN_DB,
        math.log(marks.age_s / _AGE_S),
    )
    return _CONSTANT + sum(weight * mark for weight, mark in zip(_WEIGHTS, told, strict=True))


def _held(value: float, limits: tuple[float, float]) -> float:
    return min(max(value, limits[0]), limits[1])
