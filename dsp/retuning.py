"""Whether the string is being turned while it rings.

A turn shows as a pitch that moves evenly in the last tenth of a second and has left the settled course
behind. A wobble (two swings that beat, a hand that shakes the instrument) moves as fast but comes back: once
the slope has changed its sign within a few cents, it is not a turn. A slow turn and the first quarter of a
slow wobble look alike, so a slow one must come further before it is believed. Downwards a sharp start looks
like a turn, so while one may still sink, a downward one must come further than starts do.

A string that was turned from its pluck on has no settled course to leave: what is taken for one follows the
turn as if the string sank, or rose, to it. Such a turn shows only in a longer look, as a slope that no
string has which nobody turns (`_creeps`).

Lengths and limits were chosen on synthetic plucks turned at 20 to 200 cents a second and on wobbles of
1 cent at 7 Hz, 3 cents at 5 Hz and 2 cents at 2 Hz, seeds 100 to 107, and on recorded plucks nobody turned.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from dsp.reading import Signal
from dsp.settling import Settled
from dsp.tracking import Followed, rate_of
from dsp.tracks import Tracks

SHORT_S = 0.075  # of phases in which a turn is looked for: its middle is 40 ms old
LOCAL_S = 0.11  # where that does not tell enough, and while it is being turned
_SLOW_S = 0.2  # and for a slow one
_PERIODS = 12.0  # but never fewer periods of the string than this
_SLOW = 50.0  # cents per second
_MOVED_CENTS = 1.5  # least distance from the settled course that may be a turn
_SWAYED_CENTS = 2.3  # and of a slow one: two swings that beat, or a shaken instrument, sway by less
_SANK_CENTS = 12.0  # by which a start may sink beyond what was foreseen, while it may, and a bow may sway
_SINKS_S = 0.6  # and until when it may
_MOVED_SURE = 4.5  # and in standard errors
_SLOWEST, _QUICKEST = 8.0, 220.0  # cents per second; hands turn at 20 to 200
_SLOPE_SURE = 3.0  # standard errors of a slope that may begin a turn
_SLOPE_STAYS = 2.0  # and that may go on
_VAGUE = 50.0  # of that error, cents a second, from which nothing is said of turning: many players at once
_WOBBLE_CENTS = 8.0  # a pitch that comes back within this much is not being turned
_WOBBLE_S = 0.4  # for as long after it came back
_SETTLED_S = 0.2  # age from which a slope is no sharp start
_BEFORE_S = 0.12  # a turn shows against the course that was found before it began
_SHARE = 0.5  # of the partials' scatter that moves within the short look, as half of it drifts
_LEAST_BLOCKS = 5
# Cents that the partials of a turned string stand off together: with it 87 of 100 readings lie within two of
# their stated errors while strings are turned at 20 to 200 cents a second (seeds from 3000), and 77 without.
_TOGETHER = 1.5
_HARDLY_KNOWN = 5.5  # cents of the course's own error from which it is several players', and not left by one
_SEVERAL = 4.0  # chi squared a degree of freedom from which the course is several players' as well
_STOPS_DB = 9.0  # that a string falls within one look when it is stopped; ringing on, some 6 at the most
# And that a string stands off for some time after what was taken for a turn: with it nine readings in ten lie
# within two of their stated errors then, and 78 in 100 without (realistic plucks that nobody turned).
_ENDED, _ENDED_S = 3.0, 0.4
# Looks in which a turn from the pluck on is sought, each from the age of the last number on, in seconds: a
# slope beyond these, up and down, is a turn. Strings that nobody turned stay within 17 and -30 in the shorter
# look and within 16 and -28 in the longer, in 98 of 100 (`dsp.synthesis`; recorded bass and guitar). A look
# alone may be deceived by two swings that beat, so that it must be sure, and go on for some time: of 48
# synthetic plucks that nobody turned (seeds from 3000) one look alone called 16 turned, this calls 5.
_CREEPS = ((0.45, 14.0, -30.0, 0.7), (0.3, 22.0, -36.0, 0.55))
_CREEP_SURE = 3.5  # standard errors of its slope
_CREEP_LASTS_S = 0.1
_DROWNS_DB = 20.0  # by which it falls within such a look when it drowns, and what is left is the room's
_EASE = 0.9  # times those slopes from which one that began to do so goes on
_CLEARLY_SURE = 12.0  # errors from which it need not last
_STEEP, _STEEPLY_SURE = 1.3, 6.0  # times those slopes from which so many do
_CREEPS_S = 1.5  # age up to which; later the settled course has seen that it never settled
_UNTURNED = 15.0  # cents per second by which a string that nobody turns may move in such a look


@dataclass(frozen=True, slots=True)
class Moving:
    """The last moments as an even movement."""

    cents: float  # the pitch at the end, from the expected one
    away: float  # cents by which the pitch at the end lies above that course
    away_error: float
    slope: float  # cents per second
    slope_error: float
    slope_noise: float  # that error if every partial moved alike: enough to see which way it goes
    age_s: float  # at the end
    fell_db: float = 0.0  # from the loudest moment of the look to its end

    @property
    def std_error(self) -> float:
        """Of the pitch itself, in cents: partials stray together as well, and swings differ."""
        return math.hypot(self.away_error, _TOGETHER)


@dataclass(frozen=True, slots=True)
class Turn:
    """What is known of turning."""

    turning: bool = False
    creeping: bool = False  # found in a longer look, and followed in one
    crept_s: float | None = None  # age from which every longer look has said so
    courses: tuple[tuple[float, Settled], ...] = ()  # ages and settled courses of late, the oldest first
    moving: Moving | None = None
    sign: int = 0  # of the last slope that was sure
    signed_s: float = -1.0  # age when that was
    reversed_s: float = -1.0  # age at which that sign last changed
    ended_s: float = -math.inf  # age at which what was taken for a turn ended

    @property
    def drift(self) -> float:
        """Cents per second, 0 while the string is not being turned."""
        return self.moving.slope if self.turning and self.moving is not None else 0.0

    def unsettled(self, age_s: float) -> float:
        """Cents that a reading must own to as well, where the string was turned, or swayed so, before."""
        return _ENDED if age_s - self.ended_s < _ENDED_S else 0.0

    @property
    def wobbles(self) -> bool:
        """Whether its pitch has just turned back."""
        return self.moving is not None and self.reversed_s == self.moving.age_s

    @property
    def suspected(self) -> bool:
        """Whether it is being turned, or may just have begun to be: then it is worth reading more often."""
        moving = self.moving
        return (
            self.turning
            or self.crept_s is not None
            or (moving is not None and self.signed_s >= moving.age_s > _SETTLED_S)
        )


def moving(note: Followed, settled: Settled, span_s: float) -> Moving | None:
    """Fit an even movement to the last moments; None where there are too few.

    The phases of the partials, each with its own constant phase and what the settled course says of its
    offset, are fitted by least squares; the scatter of the partials is a variance of the pitch they share.
    """
    tracks = note.tracks
    if tracks is None:
        return None
    local = tracks.latest(max(span_s, _PERIODS / note.base.frequency_hz), _LEAST_BLOCKS)
    if local.time_s.size < _LEAST_BLOCKS:
        return None
    late, left, weight = _left_over(local, settled)
    (a, b, c), (down, right), middle, known = _equations(late, left, weight)
    a, c = a * (1.0 + 1e-9) + 1e-12, c * (1.0 + 1e-9) + 1e-12
    whole = a * c - b * b
    end, slope = (c * down - b * right) / whole, (a * right - b * down) / whole
    chi = float(np.vdot(weight * left, left)) - float(known @ middle**2) - end * down - slope * right
    freedom = max(left.size - left.shape[0] - 2, 1)
    noise = max(1.0, chi / freedom)
    alone = float((known**2).sum() / known.sum() ** 2)  # 1 / how many partials count
    stray = _SHARE * settled.scatter**2 * alone
    span = float(-late[0])
    course = settled.cents + float(settled.sharp(local.time_s[-1:])[0])
    return Moving(
        cents=end,
        away=end - course,
        away_error=math.sqrt(noise * c / whole + stray),
        slope=slope,
        slope_error=math.sqrt(noise * a / whole + stray / span**2),
        slope_noise=math.sqrt(noise * a / whole),
        age_s=float(local.time_s[-1]),
        fell_db=_fell_db(local),
    )


_Equations = tuple[tuple[float, float, float], tuple[float, float], Signal, Signal]


def _equations(late: Signal, left: Signal, weight: Signal) -> _Equations:
    """Normal equations of a pitch and a slope, each partial's own phase eliminated.

    Returns the symmetric matrix by its three entries, the right side, and of each partial the mean phase (k,)
    and the weight (k,).
    """
    bend = 0.5 * late**2
    shapes = np.array([np.ones(late.size), late, bend, late * late, late * bend, bend * bend]).T
    seen, told = weight @ shapes, (weight * left) @ shapes[:, :3]
    known, moves = np.maximum(seen[:, 0], 1e-150), seen[:, 1:3]
    middle = told[:, 0] / known
    ((a, b), (_, c)) = (moves.T @ (moves / known[:, None])).tolist()
    _, _, _, first, mixed, second = seen.sum(axis=0).tolist()
    _, down, right = told.sum(axis=0).tolist()
    less, less_right = (middle @ moves).tolist()
    return (first - a, mixed - b, second - c), (down - less, right - less_right), middle, known


def _fell_db(local: Tracks) -> float:
    """How far the partials together have fallen, from their loudest moment to the last."""
    power = local.power.sum(axis=0)
    return 10.0 * math.log10(float(power.max()) / max(float(power[-1]), 1e-16))


def _left_over(local: Tracks, settled: Settled) -> tuple[Signal, Signal, Signal]:
    """Times before the end (j,), phases without the partials' offsets in cents seconds, weights (k, j)."""
    index, base = settled.index, local.base
    rate, late = rate_of(base)[index], local.time_s - local.time_s[-1]
    own = settled.stiffness * base.harmonic[index] ** 2 + settled.own
    left = local.phase[index] / rate[:, None]
    left -= left[:, -1:] + own[:, None] * late
    return late, left, local.over[index] * (rate**2 * settled.trust)[:, None]


def judged_move(note: Followed, turn: Turn) -> Turn:
    """What is known of turning after the newest blocks."""
    if note.settled is None or note.tracks is None:
        return turn
    turn = _remembered(turn, note.settled, float(note.tracks.time_s[-1]))
    before = turn.courses[0][1]
    slowly = turn.turning and abs(turn.drift) < _SLOW
    followed = turn.turning and not turn.creeping
    now = moving(note, before, SHORT_S if not followed else _SLOW_S if slowly else LOCAL_S)
    if now is None:
        return turn
    if not followed and abs(now.away) > 0.5 * _MOVED_CENTS and not _sure(now, _SLOPE_SURE):
        now = moving(note, before, LOCAL_S) or now
    turn = _signed(turn, now)
    if followed:
        back = turn.reversed_s == now.age_s and abs(now.away) < _WOBBLE_CENTS
        return replace(turn, moving=now, turning=not back and _sure(now, _SLOPE_STAYS))
    begins = _begins(turn, now, before.std_error, bowed=note.bowed)
    never = begins or note.bowed or now.fell_db > _STOPS_DB
    hardly = before.std_error > _HARDLY_KNOWN or before.misfit > _SEVERAL
    never = never or (hardly and not turn.creeping)
    slow = None if never else _creeps(note, turn, before)
    if slow is None:
        return replace(turn, moving=now, turning=begins, creeping=False, crept_s=None)
    last, clear = slow
    crept_s = now.age_s if turn.crept_s is None else turn.crept_s
    creeps = turn.creeping or clear or now.age_s - crept_s >= _CREEP_LASTS_S
    return replace(turn, moving=last if creeps else now, turning=creeps, creeping=creeps, crept_s=crept_s)


def _creeps(note: Followed, turn: Turn, course: Settled) -> tuple[Moving, bool] | None:
    """The last moments of what was turned since its pluck, and whether clearly; None if nothing says so."""
    assert note.tracks is not None
    age = float(note.tracks.time_s[-1])
    ease = 1.0 if turn.crept_s is None else _EASE
    for span, up, down, from_age in _CREEPS:
        if from_age <= age and (turn.creeping or age < _CREEPS_S):
            now = moving(note, course, span)
            if now is None or not _sure(now, _SLOPE_STAYS if turn.creeping else _CREEP_SURE):
                return None
            if now.fell_db > _DROWNS_DB:
                return None
            sways = 0.5 * span * _UNTURNED  # of its end, half a look after its middle
            steep = not _STEEP * down <= now.slope <= _STEEP * up
            clear = _sure(now, _STEEPLY_SURE if steep else _CLEARLY_SURE)
            now = replace(now, away_error=math.hypot(now.away_error, sways))
            beyond = not down * ease <= now.slope <= up * ease
            return (now, clear) if turn.creeping or beyond else None
    return None


def _remembered(turn: Turn, settled: Settled, age_s: float) -> Turn:
    """With the newest course, unless the string is being turned, and without those that are too old."""
    if turn.turning:
        return turn
    kept = [one for one in turn.courses if one[0] < age_s]
    while len(kept) > 1 and kept[1][0] <= age_s - _BEFORE_S:
        kept.pop(0)
    return replace(turn, courses=(*kept, (age_s, settled)))


def shifted_by(turn: Turn, by: float, partials: int) -> Turn:
    """The same for partials expected `by` cents higher, `partials` of them."""
    courses = tuple((age, course.moved(by, partials)) for age, course in turn.courses)
    now = None if turn.moving is None else replace(turn.moving, cents=turn.moving.cents - by)
    return replace(turn, courses=courses, moving=now)


def _sure(now: Moving, errors: float) -> bool:
    return now.slope_error < _VAGUE and abs(now.slope) > max(_SLOWEST, errors * now.slope_error)


def _signed(turn: Turn, now: Moving) -> Turn:
    """Keep account of which way it went last, and of when that changed."""
    if now.age_s < _SETTLED_S or abs(now.slope) < max(_SLOWEST, _SLOPE_SURE * now.slope_noise):
        return turn
    sign = int(math.copysign(1.0, now.slope))
    back = turn.sign == -sign and now.age_s - turn.signed_s < _WOBBLE_S
    return replace(turn, sign=sign, signed_s=now.age_s, reversed_s=now.age_s if back else turn.reversed_s)


def _begins(turn: Turn, now: Moving, course_error: float, *, bowed: bool) -> bool:
    if now.age_s < _SETTLED_S or not _sure(now, _SLOPE_SURE) or now.away * now.slope < 0.0:
        return False
    if now.fell_db > _STOPS_DB or abs(now.slope) > _QUICKEST or course_error > _HARDLY_KNOWN:
        return False
    if now.age_s - turn.reversed_s < _WOBBLE_S and abs(now.away) < _WOBBLE_CENTS:
        return False
    least = _MOVED_CENTS if abs(now.slope) > _SLOW else _SWAYED_CENTS
    if now.slope < 0.0 and now.age_s < _SINKS_S:
        least = _SANK_CENTS
    if bowed:
        least = _SANK_CENTS
    return abs(now.away) > max(least, _MOVED_SURE * math.hypot(now.away_error, course_error))
