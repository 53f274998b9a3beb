"""From the partials' phases to the pitch, hop after hop; and whether the string is being turned."""

import math
from dataclasses import replace

import numpy as np

from dsp.courses import SETTLING_SIZE, TURNING_SIZE, settling, still_sharp, turning
from dsp.fine import Fit, Tracks, first_fit, fit
from dsp.partials import basis, blocks
from dsp.sounding import Past, Sounding
from dsp.units import Cents, shifted

_SPAN_S = 0.45  # of phases fitted as one settled pitch
_LOCAL_S = 0.14  # of phases in which a turn is looked for: its middle is 70 ms old
_LEAST_BLOCKS = 3
_TOO_UNSURE = 15.0  # cents of standard error at which there is no reading
_IMPURE = 0.3  # power at right angles over expected power at which it is no string
_FAINT = 2.0  # power of the partials over their noise under which the string drowns
_FAINT_READINGS = 3
_MOVED_CENTS = 1.5  # least distance from the settled pitch that may be a turn
_MOVED_SURE = 5.0  # and in standard errors
_SLOWEST = 8.0  # cents per second; hands turn at 20 to 200
_WOBBLE_CENTS = 8.0  # a pitch that comes back within this much is not being turned
_WOBBLE_S = 0.4  # for as long after it came back
_RECENTRE_CENTS = 10.0  # further from the expected pitch than this, expect anew


def followed(note: Sounding, past: Past) -> Sounding | None:
    """Bring phases and pitch up to date; None where the string has drowned or never was one."""
    note = _grown(note, past)
    if note.tracks is None or note.tracks.time_s.size < _LEAST_BLOCKS:
        return note
    note = _turned(_settled(note))
    assert note.settled is not None
    result = note.turned if note.turning and note.turned is not None else note.settled
    faint = note.faint + 1 if result.late_signal < _FAINT else 0
    if faint >= _FAINT_READINGS or result.std_error[0] > _TOO_UNSURE or result.misfit > _IMPURE:
        return None
    return _recentred(replace(note, faint=faint), past)


def _grown(note: Sounding, past: Past) -> Sounding:
    """Add the blocks that have become complete."""
    base, rate = note.base, past.rate_hz
    assert base is not None
    total = (past.count - note.first - base.length) // base.hop + 1
    if total <= note.taken:
        return note
    start = note.first + note.taken * base.hop
    start_s = (start - note.start) / rate
    new = blocks(past.between(start, past.count), total - note.taken, base, start_s, rate)
    time = start_s + (0.5 * (base.length - 1) + base.hop * np.arange(total - note.taken)) / rate
    tracks = Tracks(np.asarray(time, np.float64), new.phasor, new.noise, base)
    if note.tracks is not None:
        tracks = _joined(note.tracks, tracks)
    return replace(note, tracks=_last(tracks, _SPAN_S), taken=total)


def _joined(old: Tracks, new: Tracks) -> Tracks:
    return Tracks(
        np.concatenate([old.time_s, new.time_s]),
        np.concatenate([old.phasor, new.phasor], axis=1),
        np.concatenate([old.noise, new.noise]),
        new.base,
    )


def _last(tracks: Tracks, span_s: float) -> Tracks:
    """The last seconds of tracks, but not fewer than some blocks."""
    first = int(np.searchsorted(tracks.time_s, tracks.time_s[-1] - span_s))
    first = max(0, min(first, tracks.time_s.size - 2 * _LEAST_BLOCKS))
    return Tracks(tracks.time_s[first:], tracks.phasor[:, first:], tracks.noise[first:], tracks.base)


def _settled(note: Sounding) -> Sounding:
    assert note.tracks is not None
    if note.turning and note.settled is not None:
        return note
    time = note.tracks.time_s
    course = settling(time)
    if note.settled is None:
        result = fit(note.tracks, course, first_fit(SETTLING_SIZE), rounds=4)
    else:
        result = fit(note.tracks, course, note.settled, rounds=1)
    start_sharp = note.start_sharp
    if time[0] < 0.05 and time[-1] > 0.06:
        start_sharp = still_sharp(result.x, course, time, 1)
    return replace(note, settled=result, sharp=still_sharp(result.x, course, time), start_sharp=start_sharp)


def _turned(note: Sounding) -> Sounding:
    """Whether the last moments tell of a turn."""
    assert note.tracks is not None
    assert note.settled is not None
    local = _last(note.tracks, _LOCAL_S)
    if local.time_s[-1] - local.time_s[0] < 0.6 * _LOCAL_S:
        return note
    course = turning(local.time_s, float(note.settled.x[-1]))
    start = note.turned
    if start is None:
        start = first_fit(TURNING_SIZE)
        start.x[0], start.x[-1] = note.settled.x[0], note.settled.x[-1]
    result = fit(local, course, start, rounds=1)
    return _judged(replace(note, turned=result), result, float(local.time_s[-1]))


def _judged(note: Sounding, result: Fit, now: float) -> Sounding:
    assert note.settled is not None
    slope, slope_error = float(result.x[1]), float(result.std_error[1])
    away = abs(float(result.x[0]) - float(note.settled.x[0]) - note.sharp)
    unsure = math.hypot(float(result.std_error[0]), float(note.settled.std_error[0]))
    sure = abs(slope) > max(_SLOWEST, 4.0 * slope_error)
    sign = int(math.copysign(1.0, slope)) if sure else 0
    reversed_s = now if sign and note.slope_sign == -sign else note.reversed_s
    note = replace(note, slope_sign=sign or note.slope_sign, reversed_s=reversed_s)
    if note.turning:
        if sure:
            return note
        assert note.tracks is not None
        tracks = _last(note.tracks, 0.5 * _LOCAL_S)
        return _settled(replace(note, turning=False, tracks=tracks, settled=None))
    wobbles = now - reversed_s < _WOBBLE_S and away < _WOBBLE_CENTS
    moved = sure and not wobbles and away > max(_MOVED_CENTS, _MOVED_SURE * unsure)
    return replace(note, turning=moved)


def _recentred(note: Sounding, past: Past) -> Sounding:
    """Expect the partials where they are, once the pitch has moved."""
    pitch = note.frequency_hz
    assert pitch is not None
    assert note.base is not None
    assert note.settled is not None
    result = note.turned if note.turning and note.turned is not None else note.settled
    shift = float(result.x[0])
    if abs(shift) < _RECENTRE_CENTS or result.std_error[0] > 3.0:
        return note
    b = max(0.0, note.base.inharmonicity + float(result.x[-1]))
    base = basis(shifted(note.base.frequency_hz, Cents(shift)), b, past.rate_hz, past.band_hz)
    reach = _LOCAL_S if note.turning else _SPAN_S
    first = max(note.first, past.count - round((reach + 0.02) * past.rate_hz) - base.length)
    moved = [_moved(old, shift) for old in (note.settled, note.turned)]
    note = replace(note, base=base, first=first, taken=0, tracks=None, settled=moved[0], turned=moved[1])
    return _grown(note, past)


def _moved(old: Fit | None, shift: float) -> Fit | None:
    """The same answer against partials expected `shift` cents higher and at the B found."""
    if old is None:
        return None
    x = old.x.copy()
    x[0] -= shift
    x[-1] = 0.0
    return replace(old, x=x)
