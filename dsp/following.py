"""From the partials' phases to the pitch, hop after hop; and whether the string is being turned."""

from dataclasses import replace

import numpy as np

from dsp.courses import GLIDE_GONE_S, even, settling, still_sharp
from dsp.fine import FIRST_ERROR, Fit, Tracks, first_fit, fit
from dsp.partials import basis, blocks, fewer
from dsp.sounding import LEAST_BLOCKS, Past, Sounding, latest, moved
from dsp.turns import SLOW_LOCAL_S, turned

_SPAN_S = 0.45  # of phases fitted as one settled pitch
_THIN_S = 0.08  # age from which only the telling partials are followed
_ENOUGH_PARTIALS = 10
_TOO_UNSURE = 15.0  # cents of standard error at which there is no reading
_IMPURE = 0.3  # power at right angles over expected power at which it is no string
_FAINT = 2.0  # power of the partials over their noise under which the string drowns
_FAINT_READINGS = 3
_RECENTRE_CENTS = 10.0  # further from the expected pitch than this, expect anew


def followed(note: Sounding, past: Past) -> Sounding | None:
    """Bring phases and pitch up to date; None where the string has drowned or never was one."""
    note = _grown(note, past)
    if note.tracks is None or note.tracks.time_s.size < LEAST_BLOCKS:
        return note
    if not note.turning or note.settled is None:
        note = settled(note)
    note = turned(note)
    if note.settled is None:
        note = settled(note)
    assert note.settled is not None
    seen = note.settled if note.turned is None else note.turned  # a wobble blinds the settled one
    faint = note.faint + 1 if max(seen.late_signal, note.settled.late_signal) < _FAINT else 0
    impure = min(seen.misfit, note.settled.misfit) > _IMPURE
    if faint >= _FAINT_READINGS or seen.std_error[0] > _TOO_UNSURE or impure:
        return None
    return _recentred(_thinned(replace(note, faint=faint)), past)


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
    return replace(note, tracks=latest(tracks, _SPAN_S), taken=total)


def _joined(old: Tracks, new: Tracks) -> Tracks:
    return Tracks(
        np.concatenate([old.time_s, new.time_s]),
        np.concatenate([old.phasor, new.phasor], axis=1),
        np.concatenate([old.noise, new.noise]),
        new.base,
    )


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
    tracks = Tracks(tracks.time_s, tracks.phasor[index], tracks.noise, base)
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
    reach = SLOW_LOCAL_S if note.turning else _SPAN_S
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
