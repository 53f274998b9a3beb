"""From the partials' phases to the pitch, hop after hop; and whether the string is being turned.

A longer stretch of phases knows the pitch better, by the power 3/2 of its length, but costs more. So the
last moments are kept block by block, and what is older than the sharp start and they is merged into
columns of some 50 ms, turned by the pitch found so far. At 0.7 s the start is let go, and with it the
many ways it may have died away. The spans here were chosen on settled tones and on plucks of one swing
and of both, seeds 100 to 131.
"""

import math
from dataclasses import replace

import numpy as np

from dsp.courses import GLIDE_GONE_S, even, settling, still_sharp
from dsp.fine import FIRST_ERROR, Fit, first_fit, fit, phase_path
from dsp.partials import basis, blocks, fewer
from dsp.sounding import LEAST_BLOCKS, Past, Sounding, latest, moved
from dsp.tracks import Tracks, joined, merged
from dsp.turns import SLOW_LOCAL_S, turned

_SPAN_S = 1.0  # of phases fitted as one settled pitch
_BOWED_SPAN_S = 0.45  # and under a bow, which keeps moving the pitch
_GLIDING_S = 0.7  # age up to which the sharp start is fitted as well
_RECENT_S = 0.22  # of phases kept block by block; older ones are merged
_MERGED_S = 0.05  # length of what is merged
_THIN_S = 0.08  # age from which only the telling partials are followed
_ENOUGH_PARTIALS = 10
_TOO_UNSURE = 15.0  # cents of standard error at which there is no reading
_IMPURE = 0.3  # power at right angles over expected power at which it is no string
_FAINT = 2.0  # power of the partials over their noise under which the string drowns
_FAINT_READINGS = 3
_ASTRAY = 0.1  # that power at which the pitch has left its course, as a sinking gut string does
_FITS = 0.2  # of it, at most, in the last moments where it has
_AFRESH_S = (
    0.3  # of phases then kept; these three were chosen on the gut strings of tests/test_sound_fonts.py
)
_RECENTRE_CENTS = 10.0  # further from the expected pitch than this, expect anew


def followed(note: Sounding, past: Past) -> Sounding | None:
    """Bring phases and pitch up to date; None where the string has drowned or never was one."""
    note = _grown(note, past)
    if note.tracks is None or note.tracks.time_s.size < LEAST_BLOCKS:
        return note
    if not note.turning or note.settled is None:
        note = settled(note)
    note = _afresh(turned(note))
    if note.settled is None:
        note = settled(note)
    assert note.settled is not None
    seen = note.settled if note.turned is None else note.turned  # a wobble blinds the settled one
    faint = note.faint + 1 if max(seen.late_signal, note.settled.late_signal) < _FAINT else 0
    impure = min(seen.misfit, note.settled.misfit) > _IMPURE
    if faint >= _FAINT_READINGS or seen.std_error[0] > _TOO_UNSURE or impure:
        return None
    return _recentred(_merged(_thinned(replace(note, faint=faint))), past)


def _afresh(note: Sounding) -> Sounding:
    """Let the past go where it no longer fits one pitch and the last moments do: gut sinks for a second."""
    whole, late, tracks = note.settled, note.turned, note.tracks
    if whole is None or late is None or tracks is None or note.turning or whole.misfit < _ASTRAY:
        return note
    if late.misfit > _FITS * whole.misfit or tracks.time_s[-1] < GLIDE_GONE_S:
        return note
    ends = [0, -1]  # the pitch and the change of B; how fast it moves is left behind
    start = replace(late, x=late.x[ends], std_error=late.std_error[ends])
    return settled(replace(note, tracks=latest(tracks, _AFRESH_S), settled=start))


def _grown(note: Sounding, past: Past) -> Sounding:
    """Add the blocks that have become complete."""
    base, rate = note.base, past.rate_hz
    assert base is not None
    total = (past.count - note.first - base.length) // base.hop + 1
    forgotten = past.count - past.sound.size - note.first  # where it was not followed for long
    taken = max(note.taken, math.ceil(forgotten / base.hop))
    if total <= taken:
        return note
    start = note.first + taken * base.hop
    start_s = (start - note.start) / rate
    new = blocks(past.between(start, past.count), total - taken, base, start_s, rate)
    time = start_s + (0.5 * (base.length - 1) + base.hop * np.arange(total - taken)) / rate
    tracks = Tracks(np.asarray(time, np.float64), new.phasor, new.noise, base)
    if note.tracks is not None:
        tracks = joined(note.tracks, tracks)
    return replace(note, tracks=latest(tracks, _span_s(note, tracks)), taken=total)


def _span_s(note: Sounding, tracks: Tracks) -> float:
    """How much of the past to keep: all while the start is fitted as well, then only what came after it."""
    now = float(tracks.time_s[-1])
    if note.bowed:
        return _BOWED_SPAN_S
    return _GLIDING_S if now < _GLIDING_S else min(_SPAN_S, now - GLIDE_GONE_S)


def _merged(note: Sounding) -> Sounding:
    """Keep older blocks in fewer columns, turned by the pitch that was found."""
    tracks, found = note.tracks, note.settled
    if tracks is None or found is None or note.turning or note.bowed or not note.number:
        return note
    size = round(_MERGED_S / (tracks.time_s[-1] - tracks.time_s[-2]))
    start = int(np.flatnonzero(np.append(1.0, tracks.many) > 1.0)[-1:].sum())
    last = int(np.searchsorted(tracks.time_s, tracks.time_s[-1] - _RECENT_S))
    start = max(start, int(np.searchsorted(tracks.time_s, GLIDE_GONE_S)))
    if size < 2 or last - start < size:
        return note
    time = tracks.time_s[start : start + size]
    path = phase_path(tracks.base, time, float(found.x[0]), float(found.x[-1]))
    return replace(note, tracks=merged(tracks, start, size, path))


def settled(note: Sounding) -> Sounding:
    """Fit all that is kept as one pitch that settles."""
    assert note.tracks is not None
    time = note.tracks.time_s
    assert note.base is not None
    kind = settling if time[0] < GLIDE_GONE_S else even
    course = kind(time, note.base.inharmonicity)
    size = course.prior.size
    if note.settled is None:
        result = fit(note.tracks, course, first_fit(size), rounds=4)
    else:
        result = fit(note.tracks, course, _of_size(note.settled, size), rounds=1)
    start_sharp = note.start_sharp
    if time[0] < 0.05 and time[-1] > 0.06:
        start_sharp = still_sharp(result.x, course, time, 1)
    return replace(note, settled=result, sharp=still_sharp(result.x, course, time), start_sharp=start_sharp)


def _of_size(old: Fit, size: int) -> Fit:
    """The same answer for a course of another size."""
    if old.x.size == size + 1:
        return old
    x, error = np.zeros(size + 1), np.full(size + 1, FIRST_ERROR)
    x[[0, -1]], error[[0, -1]] = old.x[[0, -1]], old.std_error[[0, -1]]
    return replace(old, x=x, std_error=error)


def _thinned(note: Sounding) -> Sounding:
    """Go on with the partials that know most of the pitch, once that is seen."""
    base, tracks, known = note.base, note.tracks, note.settled.known if note.settled else None
    assert base is not None
    if (
        tracks is None
        or known is None
        or tracks.time_s[-1] < _THIN_S
        or base.harmonic.size <= _ENOUGH_PARTIALS
    ):
        return note
    index = np.sort(np.argsort(-known)[:_ENOUGH_PARTIALS])
    base = fewer(base, index)
    tracks = Tracks(tracks.time_s, tracks.phasor[index], tracks.noise, base, tracks.many)
    return replace(note, base=base, tracks=tracks)


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
    base = basis(moved(note.base.frequency_hz, shift), b, past.rate_hz, past.band_hz)
    kept = np.flatnonzero(np.isin(base.harmonic, note.base.harmonic))
    base = fewer(base, kept)
    reach = SLOW_LOCAL_S if note.turning else _BOWED_SPAN_S
    first = max(note.first, past.count - round((reach + 0.02) * past.rate_hz) - base.length)
    fits = [_moved(old, shift) for old in (note.settled, note.turned)]
    note = replace(note, base=base, first=first, taken=0, tracks=None, settled=fits[0], turned=fits[1])
    return _grown(note, past)


def _moved(old: Fit | None, shift: float) -> Fit | None:
    """The same answer against partials expected `shift` cents higher and at the B found."""
    if old is None:
        return None
    x = old.x.copy()
    x[0] -= shift
    x[-1] = 0.0
    return replace(old, x=x)
