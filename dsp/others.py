"""Whose sound it is: ours again under a new stroke of the bow, or a neighbour's.

A neighbour two metres away plucks the same strings, some 12 dB softer than the one at the wall (the
level of a small source falls by 6 dB for each doubling of the distance). So a note much softer than
the one before it, of the same pitch and soon after it, is not taken for ours. And when somebody
plucks into our note's last breath, our pitch seems to move: such a note is let go.
"""

from dataclasses import replace

import numpy as np

from dsp.sounding import Past, Sounding, apart, latest

_SOFTER = 0.1  # in power: 10 dB under our last pluck it is a neighbour's
_SAME_CENTS = 70.0
_SOON_S = 4.0
_ASTRAY_CENTS = 6.0  # a pitch that moves this far after something else was plucked is not ours
_ASTRAY_S = 1.0
_YOUNG_S = 0.15  # a note this young may itself be what leapt up
_SWELL = 1.35  # in power (1.3 dB), within
_SWELL_S = 0.15
_FASTEST = 300.0  # cents per second: hands turn at 20 to 200
_DIP = 0.16  # in power (8 dB): between two strokes of the bow it is softer than before and after
_STROKE_S = 0.3  # in which the dip lies


def loudness(note: Sounding) -> float:
    """Power of its partials when they are loudest."""
    assert note.tracks is not None
    return 0.5 * float((np.abs(note.tracks.phasor) ** 2).sum(axis=0).max())


def is_neighbours(note: Sounding, ours: Sounding | None, past: Past) -> bool:
    """Whether a new note is but a soft copy of our last one."""
    if ours is None or (past.count - ours.start) > _SOON_S * past.rate_hz:
        return False
    mine, theirs = ours.frequency_hz, note.frequency_hz
    if mine is None or theirs is None or apart(mine, theirs) > _SAME_CENTS:
        return False
    return loudness(note) < _SOFTER * ours.power


def disturbed(note: Sounding, past: Past) -> Sounding:
    """Our note once something leapt up beside it: remember how it was."""
    age = note.age_s(past)
    lately = note.undisturbed_hz is not None and age - note.disturbed_s < _ASTRAY_S
    if note.frequency_hz is None or age < _YOUNG_S or lately:
        return note
    return replace(note, disturbed_s=age, undisturbed_hz=note.frequency_hz)


def swelled(note: Sounding) -> bool:
    """Whether a note that should die away has grown louder: something sounds along."""
    if note.bowed or note.tracks is None:
        return False
    power = (np.abs(latest(note.tracks, _SWELL_S).phasor) ** 2).sum(axis=0)
    return float(power[-2:].mean()) > _SWELL * float(power.min())


def led_astray(note: Sounding, past: Past) -> bool:
    """Whether our note has moved since something leapt up beside it."""
    before, now = note.undisturbed_hz, note.frequency_hz
    if before is None or now is None or note.age_s(past) - note.disturbed_s > _ASTRAY_S:
        return False
    return apart(before, now) > _ASTRAY_CENTS


def runs(note: Sounding) -> bool:
    """Whether its pitch runs faster than any hand turns a string."""
    if note.turned is None or note.turned_s < _YOUNG_S:
        return False
    return abs(float(note.turned.x[1])) > _FASTEST + 3.0 * float(note.turned.std_error[1])


def new_stroke(note: Sounding) -> Sounding | None:
    """The bowed note from its last dip on, if one lies just behind it; else None."""
    if not note.bowed or note.tracks is None:
        return None
    recent = latest(note.tracks, _STROKE_S)
    power = (np.abs(recent.phasor) ** 2).sum(axis=0)
    dip = int(np.argmin(power))
    if dip < 2 or dip > power.size - 3:
        return None
    if power[dip] > _DIP * min(float(power[:dip].max()), float(power[-2:].min())):
        return None
    moment = float(recent.time_s[dip])
    tracks = latest(note.tracks, float(note.tracks.time_s[-1]) - moment)
    return replace(note, tracks=tracks, settled=None, stroke_s=moment)
