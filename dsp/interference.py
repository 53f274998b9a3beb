"""Whose sound it is: ours again under a new stroke of the bow, or a neighbour's.

A neighbour two metres away plucks the same strings, some 12 dB softer than the one at the wall (the
level of a small source falls by 6 dB for each doubling of the distance). So a note much softer than
the one before it, of the same pitch and soon after it, is not taken for ours. And when somebody
plucks into our note's last breath, our pitch seems to move: such a note is let go.
"""

from dataclasses import dataclass, replace

import numpy as np

from dsp.retuning import Turn
from dsp.sounding import Onset, Past, apart
from dsp.tracking import Followed
from dsp.units import Cents, Hz, shifted

_SOFTER_DB = 10.0  # under our last pluck it is a neighbour's
_SAME_CENTS = 70.0
_SOON_S = 4.0
_ASTRAY_CENTS = 6.0  # a pitch that moves this far, and this many errors, after another pluck is not ours
_ASTRAY_ERRORS = 2.0
_ASTRAY_S = 1.0
_YOUNG_S = 0.15  # a note this young may itself be what leapt up
_SWELL = 1.35  # in power (1.3 dB), within
_SWELL_S = 0.15
_FASTEST = 300.0  # cents per second: hands turn at 20 to 200
_DIP = 0.16  # in power (8 dB): between two strokes of the bow it is softer than before and after
_STROKE_S = 0.3  # in which the dip lies
_DIP_BLOCKS = 2  # that lie on either side of it at least


@dataclass(frozen=True, slots=True)
class Ours:
    """Our last pluck."""

    start: int  # decimated sample
    frequency_hz: Hz
    loudness_db: float


@dataclass(frozen=True, slots=True)
class Undisturbed:
    """Our note as it was when something leapt up beside it."""

    frequency_hz: Hz
    std_error_cents: float
    age_s: float


def loudness_db(note: Followed) -> float:
    """Level of its partials when they are loudest, of the blocks that are kept."""
    return (
        -200.0 if note.tracks is None else 10.0 * float(np.log10(note.tracks.power.sum(axis=0).max() + 1e-20))
    )


def is_neighbours(onset: Onset, frequency_hz: Hz, loud_db: float, ours: Ours | None, rate_hz: float) -> bool:
    """Whether a new note is but a soft copy of our last one."""
    if ours is None or onset.start - ours.start > _SOON_S * rate_hz:
        return False
    if apart(ours.frequency_hz, frequency_hz) > _SAME_CENTS:
        return False
    return loud_db < ours.loudness_db - _SOFTER_DB


def disturbed(note: Followed, before: Undisturbed | None, past: Past) -> Undisturbed | None:
    """Our note once something leapt up beside it: remember how it was."""
    age, pitch, settled = note.onset.age_s(past), note.frequency_hz, note.settled
    lately = before is not None and age - before.age_s < _ASTRAY_S
    if pitch is None or settled is None or age < _YOUNG_S or lately:
        return before
    return Undisturbed(pitch, settled.std_error, age)


def led_astray(note: Followed, before: Undisturbed | None, past: Past) -> bool:
    """Whether our note has moved since something leapt up beside it."""
    now = note.frequency_hz
    if before is None or now is None or note.settled is None:
        return False
    if note.onset.age_s(past) - before.age_s > _ASTRAY_S:
        return False
    settled = apart(before.frequency_hz, now)
    sounding = apart(before.frequency_hz, shifted(note.base.frequency_hz, Cents(note.settled.now_cents)))
    moved = min(settled, sounding)  # where the pitch itself stayed, only what is foreseen of it has changed
    return moved > max(_ASTRAY_CENTS, _ASTRAY_ERRORS * before.std_error_cents)


def swelled(note: Followed) -> bool:
    """Whether a note that should die away has grown louder: something sounds along."""
    if note.bowed or note.tracks is None:
        return False
    power = note.tracks.latest(_SWELL_S).power.sum(axis=0)
    return float(power[-2:].mean()) > _SWELL * float(power.min())


def runs(turn: Turn) -> bool:
    """Whether its pitch runs faster than any hand turns a string."""
    now = turn.moving
    return now is not None and now.age_s > _YOUNG_S and abs(now.slope) > _FASTEST + 3.0 * now.slope_error


def beyond_hands(turn: Turn) -> bool:
    """Whether what is taken for a turn is faster than any hand: there is no telling what it is."""
    return turn.turning and turn.moving is not None and abs(turn.moving.slope) > _FASTEST


def new_stroke(note: Followed) -> Followed | None:
    """The bowed note from its last dip on, if one lies just behind it; else None."""
    if not note.bowed or note.tracks is None:
        return None
    recent = note.tracks.latest(_STROKE_S)
    power = recent.power.sum(axis=0)
    dip = int(np.argmin(power))
    if not _DIP_BLOCKS <= dip < power.size - _DIP_BLOCKS:
        return None
    if power[dip] > _DIP * min(float(power[:dip].max()), float(power[-2:].min())):
        return None
    tracks = note.tracks.latest(float(note.tracks.time_s[-1] - recent.time_s[dip]))
    return replace(note, tracks=tracks, settled=None)
