"""Whether what sounds is a string at all, and not a voice, a knock or a chord.

A plucked string leaps out of what was before, its power stands on its partials and falls from its first
moments on, and its pitch follows a settling course. A voice swells, its partials come and go with the vowel,
and its pitch runs and bends. All of that is put into one number, the log odds for a string.
"""

from dataclasses import dataclass, replace

import numpy as np

from dsp.acquisition import Acquired
from dsp.background import levels_before
from dsp.retuning import Turn
from dsp.sounding import Past
from dsp.tracking import Followed


@dataclass(frozen=True, slots=True)
class Marks:
    """What tells a string from a voice."""

    quiet_db: float  # loudest early frame over the loudest of the half second before
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


_BUILD_UP_S = 0.05  # a body builds up for 20 to 50 ms
_LATE_BLOCKS = 6
_GROWN = 1.4  # in power: such a partial has grown
_QUIET_MOST_DB = 40.0


def marks_of(note: Followed, known: Acquired, turn: Turn, past: Past) -> Marks | None:
    """Look at a sounding that is being followed; None before its first fit."""
    tracks, settled = note.tracks, note.settled
    if tracks is None or settled is None or known.coarse is None:
        return None
    power = tracks.power()
    total = power.sum(axis=0)
    time = tracks.time_s
    built = min(int(np.searchsorted(time, _BUILD_UP_S)), time.size - 1)
    late = slice(max(built, time.size - _LATE_BLOCKS), None)
    then, now = power[:, built : built + 2].mean(axis=1), power[:, -2:].mean(axis=1)
    span = max(float(time[-1] - time[built]), 0.02)
    moving = turn.moving
    return Marks(
        quiet_db=_quiet_db(note, past),
        comb_db=10.0
        * float(np.log10(np.median(total[late]) / (np.median(tracks.noise[late]) + 1e-16) + 1e-6)),
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
    )


def _quiet_db(note: Followed, past: Past) -> float:
    before = levels_before(note.onset, past)
    if note.onset.follows or before.size == 0:
        return _QUIET_MOST_DB
    start = note.onset.start
    sound = past.between(start, start + round(0.05 * past.rate_hz))
    now = 10.0 * float(np.log10(float(sound @ sound) / max(sound.size, 1) + 1e-15))
    return min(now - float(before.max()), _QUIET_MOST_DB)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is thought of a sounding so far."""

    believed: bool = False
    bowed: bool = False
    streak: int = 0  # fits in a row that looked like a string's
    faint: int = 0  # fits in a row in which it all but drowned
    held_s: float = -1.0  # age since which its pitch has held, -1 while it does not


DROWNED_READINGS = 3
_BELOW_PERIODS = 14.0  # of the pitch, seven of the octave below, are heard before anything is said
_STREAK = 2  # fits that must agree
_TOO_UNSURE = 30.0  # cents of standard error at which there is no reading
_FAINT_DB = 0.0
_HOLD_S = 0.3
_HOLD_SLOPE = 35.0
_HOLD_PITCH = 6.0
_DOUBT = 0.3


def judged(old: Judgement, note: Followed, known: Acquired, turn: Turn, past: Past) -> Judgement:
    """What is thought of a sounding after its newest fit."""
    marks = marks_of(note, known, turn, past)
    if marks is None or note.settled is None:
        return replace(old, streak=0, faint=old.faint + 1)
    faint = old.faint + 1 if marks.comb_db < _FAINT_DB or note.settled.std_error > _TOO_UNSURE else 0
    streak = old.streak + 1 if odds(marks) > 0.0 and known.octave_doubt < _DOUBT and known.agreed >= 2 else 0
    holds = marks.slope < _HOLD_SLOPE and marks.strength > _HOLD_PITCH
    held_s = -1.0 if not holds else old.held_s if old.held_s >= 0.0 else marks.age_s
    enough = marks.age_s * note.base.frequency_hz >= _BELOW_PERIODS
    bows = holds and held_s >= 0.0 and marks.age_s - held_s >= _HOLD_S
    if old.believed:
        return replace(old, faint=faint, streak=streak, held_s=held_s)
    plucked = enough and streak >= _STREAK and note.onset.plucked
    return Judgement(plucked or (bows and enough), not plucked, streak, faint, held_s)


def drowns(judgement: Judgement) -> bool:
    """Whether the string has all but drowned in the room."""
    return judgement.faint >= DROWNED_READINGS


def odds(marks: Marks) -> float:
    """Log odds for a string."""
    return 1.0 if marks.comb_db > 6.0 and marks.quiet_db > 0.0 else -1.0
