"""Whether the string is being turned while it rings.

A turn shows as a pitch that moves evenly in the last tenth of a second and has left the settled one
behind. A wobble (two swings that beat, a hand that shakes the instrument) moves as fast but comes
back: once the slope has changed its sign within a few cents, it is not a turn. A slow turn and the first
quarter of a slow wobble look alike, so a slow one must come further before it is believed.

The lengths and limits here were chosen on plucks turned at 20 to 200 cents a second and on wobbles of
1 cent at 7 Hz, 3 cents at 5 Hz and 2 cents at 2 Hz, seeds 100 to 107.
"""

import math
from dataclasses import replace

from dsp.courses import TURNING_SIZE, turning
from dsp.fine import Fit, first_fit, fit
from dsp.phases import LATE_S
from dsp.sounding import Sounding, latest

SHORT_S = LATE_S  # of phases in which a turn is looked for: its middle is 40 ms old
LOCAL_S = 0.11  # where that does not tell enough, and while it is being turned
_SLOW = 50.0  # cents per second: a slower turn needs a longer look
SLOW_LOCAL_S = 0.2
_MOVED_CENTS = 1.5  # least distance from the settled pitch that may be a turn
_SWAYED_CENTS = 2.3  # and of a slow one: two swings that beat, or a shaken instrument, sway by less
_QUIET_CENTS = 0.15  # a pitch that lies no further off of late is not looked at more closely
_QUIET_MISFIT = 0.1  # if its partials fit, too
_MOVED_SURE = 5.0  # and in standard errors
_SLOWEST = 8.0  # cents per second; hands turn at 20 to 200
_SLOPE_SURE = 3.0  # standard errors of a slope that may begin a turn
_SLOPE_STAYS = 2.0  # and that may go on
_WOBBLE_CENTS = 8.0  # a pitch that comes back within this much is not being turned
_WOBBLE_S = 0.4  # for as long after it came back
_SETTLED_S = 0.2  # age from which a slope is no sharp start
_ONCE_MORE_CENTS = 0.3  # a step this long deserves another
_SURPRISE_CENTS = 0.5  # how far the pitch may have strayed since the last reading


def turned(note: Sounding) -> Sounding:
    """The sounding with its last moments fitted as an even movement, and judged.

    Where a turn has just ended, its settled pitch is gone and has to be found anew.
    """
    assert note.tracks is not None
    assert note.settled is not None
    if float(note.tracks.time_s[-1] - note.tracks.time_s[0]) < 0.9 * SHORT_S:
        return note
    if _is_quiet(note):
        return replace(note, turned=None)
    result, now = _moving(note, SHORT_S)
    if note.turning:
        note = _signed(note, result, now)  # a wobble that turns back shows here first
        if note.reversed_s < now:
            result, now = _moving(note, SLOW_LOCAL_S if _turns_slowly(note) else LOCAL_S)
        return _still_turning(_with(note, result, now), result, now)
    if _away(note, result) > 0.5 * _MOVED_CENTS and not _sure(result, _SLOPE_SURE):
        result, now = _moving(note, LOCAL_S)
    return _begun(_signed(_with(note, result, now), result, now), result, now)


def _is_quiet(note: Sounding) -> bool:
    """Whether a note's last moments lie so well on its settled course that they need no closer look."""
    if not note.number or note.turning or note.settled is None:
        return False
    return abs(note.settled.late_cents) < _QUIET_CENTS and note.settled.misfit < _QUIET_MISFIT


def _moving(note: Sounding, span_s: float) -> tuple[Fit, float]:
    """The last moments as an even movement, and the time at their end."""
    assert note.tracks is not None
    assert note.settled is not None
    local = latest(note.tracks, span_s)
    now = float(local.time_s[-1])
    course, start = turning(local.time_s, float(note.settled.x[-1])), _expected(note, now)
    result = fit(local, course, start, rounds=1)
    if abs(float(result.x[0] - start.x[0])) > _ONCE_MORE_CENTS:
        result = fit(local, course, result, rounds=1)
    return replace(result, scatter=0.0), now  # partials that are off by a bit slope alike


def _with(note: Sounding, result: Fit, now: float) -> Sounding:
    return replace(note, turned=result, turned_s=now)


def moves(note: Sounding) -> bool:
    """Whether it is being turned, or may just have begun to be: then it is worth reading more often."""
    return note.turning or (note.sloped_s >= note.turned_s > _SETTLED_S)


def _turns_slowly(note: Sounding) -> bool:
    return note.turning and note.turned is not None and abs(float(note.turned.x[1])) < _SLOW


def _expected(note: Sounding, now: float) -> Fit:
    """Where the pitch would be if it went on as it did."""
    assert note.settled is not None
    start = note.turned or first_fit(TURNING_SIZE)
    x, error = start.x.copy(), start.std_error.copy()
    if note.turned is None:
        x[0] = note.settled.x[0]
    else:
        x[0] += x[1] * (now - note.turned_s)
    x[-1] = note.settled.x[-1]
    error[0] = math.hypot(error[0], _SURPRISE_CENTS)
    return replace(start, x=x, std_error=error)


def _away(note: Sounding, result: Fit) -> float:
    assert note.settled is not None
    return abs(float(result.x[0]) - float(note.settled.x[0]) - note.sharp)


def _sure(result: Fit, errors: float) -> bool:
    return abs(float(result.x[1])) > max(_SLOWEST, errors * float(result.std_error[1]))


def _signed(note: Sounding, result: Fit, now: float) -> Sounding:
    """Keep account of which way it went last, and of when that changed."""
    if now < _SETTLED_S or not _sure(result, _SLOPE_SURE):
        return note
    sign = int(math.copysign(1.0, result.x[1]))
    back = note.slope_sign == -sign and now - note.sloped_s < _WOBBLE_S
    return replace(note, slope_sign=sign, sloped_s=now, reversed_s=now if back else note.reversed_s)


def _begun(note: Sounding, result: Fit, now: float) -> Sounding:
    assert note.settled is not None
    away = _away(note, result)
    unsure = math.hypot(float(result.std_error[0]), float(note.settled.std_error[0]))
    wobbles = now - note.reversed_s < _WOBBLE_S and away < _WOBBLE_CENTS
    least = _MOVED_CENTS if abs(float(result.x[1])) > _SLOW else _SWAYED_CENTS
    moved = away > max(least, _MOVED_SURE * unsure)
    return replace(note, turning=now > _SETTLED_S and moved and not wobbles and _sure(result, _SLOPE_SURE))


def _still_turning(note: Sounding, result: Fit, now: float) -> Sounding:
    if note.reversed_s == now and _away(note, result) < _WOBBLE_CENTS:
        return replace(note, turning=False)
    if _sure(result, _SLOPE_STAYS):
        return note
    assert note.tracks is not None
    return replace(note, turning=False, tracks=latest(note.tracks, 0.5 * LOCAL_S), settled=None)
