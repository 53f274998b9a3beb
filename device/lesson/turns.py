"""Which part of a string to turn, which way and how far: as far as helps, and no further than is safe.

The monitor's bounds say what is safe. A turn that it would not let through is made smaller; where that
would waste plucks, or nothing is left of it, the strings in the way are heard first.
"""

from device.instrument.frozen import replace
from device.instrument.pitch_bounds import Bound
from device.instrument.strung import StrungString
from device.instrument.tuning_parts import FINE_REACH, Amount, Direction, Slope, TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.evidence import Context, Outcome, told, turn_advice
from device.lesson.memory import HearingOthers, Known, Lesson, PendingTurn, ShowingLeft, Tuning
from device.safety.monitor import in_danger
from device.safety.string_bounds import to_be_heard, twice
from dsp import Cents, Hz, Instrument, cents, shifted

LEARNED_MARGIN = 1.1  # a learned slope is taken so much steeper, so that a turn errs small
GUESSED_MARGIN = 1.3  # the same for one that was learned on another string
LEAST_DEGREES = {TuningPart.FINE_TUNER: 10.0, TuningPart.PEG: 1.0}  # no hand turns less
OVER = 0.3  # of the tolerance: a turn upwards aims so far above the place, a first one at the place itself
FIRST_PAST = Cents(60.0)  # so far past its place a first turn of a peg may take the steepest string
UNDER = 0.4  # of the tolerance: a sharp string is let down so far below its place, to come up again
WORTH = 0.5  # a turn cut down to less than this is worth hearing other strings for
SLACK = Cents(-150.0)  # a string further down counts as slack: no second one is let down
MOST_HEARINGS = 3  # times that others are heard for one turn; then they cannot be told apart
OUT_OF_HAND = 5  # turns in vain before a string is left


def slope_of(lesson: Lesson, now: Context, name: str, part: TuningPart) -> tuple[Slope, float]:
    """The slope to reckon with, and by how much to take it steeper."""
    string, known = now.strung.of(name), lesson.of(name)
    learned = known.peg if part is TuningPart.PEG else known.screw
    if learned is not None:
        return string.slope(part).times(learned), LEARNED_MARGIN
    other = known.screw if part is TuningPart.PEG else known.peg
    kin = [k for k in lesson.known if not now.strung.of(k.name).plain and not string.plain]
    guesses = [v for k in kin for v in (k.peg, k.screw) if v is not None]
    if other is not None:
        return string.slope(part).times(other), GUESSED_MARGIN
    if guesses:
        return string.slope(part).times(sorted(guesses)[len(guesses) // 2]), GUESSED_MARGIN
    return string.slope(part), 1.0


def part_for(now: Context, known: Known) -> TuningPart:
    """The fine tuner within its reach, where there is one with travel left; otherwise the peg."""
    string, off = now.strung.of(known.name), now.off(known)
    if string.screw is None or known.screw_ended * off < 0.0:
        return TuningPart.PEG
    reach = string.screw_reach + (10.0 if known.screw is not None else 0.0)
    if known.screw is not None and known.screw > 1.0:
        reach = min(2.0 * reach, known.screw * reach)
    return TuningPart.FINE_TUNER if abs(off) <= max(reach, FINE_REACH) else TuningPart.PEG


def turn_for(lesson: Lesson, now: Context, name: str, say: Say = Say.TURN) -> Outcome:
    """The turn that a string deserves, as it was last heard, or why there is none."""
    known = lesson.of(name)
    part = part_for(now, known)
    if part is TuningPart.PEG and not _may_turn_peg(lesson, now, known):
        return left(lesson, now, name, part)
    if now.watch.of(name).rose(now.strung.of(name)):
        return left(lesson, now, name, TuningPart.PEG)
    if now.off(known) > 0.0:
        return _loosen(lesson, now, name, part, say)
    return _tighten(lesson, now, name, part, say)


def _may_turn_peg(lesson: Lesson, now: Context, known: Known) -> bool:
    """A double bass has nothing finer than its machine heads: near its place anyone may turn them."""
    bass = now.strung.instrument is Instrument.DOUBLE_BASS and abs(now.off(known)) <= FINE_REACH
    return bass or now.grown_up(lesson, known.name)


def left(lesson: Lesson, now: Context, name: str, part: TuningPart = TuningPart.NONE) -> Outcome:
    """Leave a string for a grown-up; the picture tells them which way its peg goes, but asks for no turn."""
    known = replace(lesson.of(name), left=True)
    lesson = replace(lesson.knowing(known), pending=None, task=ShowingLeft(name), last_left=name, hearings=0)
    advice = Advice(Say.GROWN_UP, string=name)
    if part is TuningPart.PEG and known.hz is not None:
        direction = Direction.TIGHTEN if now.off(known) < 0.0 else Direction.LOOSEN
        rotation, away = now.strung.way(name, part, direction)
        advice = replace(advice, direction=direction, rotation=rotation, away=away)
    return Outcome(lesson, advice, name, shows=name)


def _tighten(lesson: Lesson, now: Context, name: str, part: TuningPart, say: Say) -> Outcome:
    known, string = lesson.of(name), now.strung.of(name)
    assert known.hz is not None
    slope, steeper = slope_of(lesson, now, name, part)
    over = OVER if steeper == LEARNED_MARGIN else 0.0
    goal = shifted(string.target_hz, Cents(over * now.width))
    wish = string.degrees_between(known.hz, goal, steeper * slope.usual)
    if (
        part is TuningPart.PEG and steeper == 1.0
    ):  # nothing is known of its slope: not far past, however steep
        past = shifted(goal, FIRST_PAST)
        wish = min(wish, string.degrees_between(known.hz, past, slope.most))
    return _as_far_as_safe(lesson, now, name, part, 1, _sizes(now, part, wish), say)


def _as_far_as_safe(  # noqa: PLR0913, PLR0917 - a turn has so many sides
    lesson: Lesson, now: Context, name: str, part: TuningPart, sign: int, sizes: list[float], say: Say
) -> Outcome:
    """The best of these turns that the monitor lets through, or the strings in its way are heard first."""
    safe = next((d for d in sizes if not _danger(now, name, part, sign, d)), 0.0)
    hopeful = next((d for d in sizes if _would_do(lesson, now, name, part, sign, d)), 0.0)
    if safe < WORTH * hopeful and lesson.hearings < MOST_HEARINGS:
        danger = _danger(now, name, part, sign, hopeful)
        names = tuple(n for n in to_be_heard(now.watch, now.strung, danger) if n in lesson.live)
        queue = _nearest_first(now, danger[0], names or (name,))  # what is in the way was struck off just now
        advice = Advice(Say.PLUCK_OTHERS, string=queue[0])
        lesson = replace(lesson, hearings=lesson.hearings + 1, task=HearingOthers(name, queue, say=say))
        return Outcome(lesson, advice, name)
    if not safe:
        high = now.watch.of(name).high_hz
        misread = sign < 0 and high is not None and not twice(now.watch, high)
        return told(lesson, Say.PLUCK_AGAIN, name) if misread else left(lesson, now, name, part)
    return ask(lesson, now, name, part, sign, safe, say)


def _nearest_first(now: Context, nearest: str, names: tuple[str, ...]) -> tuple[str, ...]:
    """The string nearest to breaking, then those that it may be taken for.

    One that sounded when it was asked for since the last turn is asked for again only if no other is left:
    it is known by what the others sound like.
    """
    sounded = {asked for _, asked, *_ in now.watch.roll}
    silent = [name for name in names if name not in sounded]
    return tuple(sorted(silent or names, key=lambda name: name != nearest))


def _danger(now: Context, name: str, part: TuningPart, sign: int, degrees: float) -> tuple[str, ...]:
    return in_danger(now.watch, now.strung, _turn(now, name, part, sign, degrees))


def _would_do(  # noqa: PLR0913, PLR0917 - a turn has so many sides
    lesson: Lesson, now: Context, name: str, part: TuningPart, sign: int, degrees: float
) -> bool:
    """Whether a turn would be safe once every string in its way were heard where the lesson believes it.

    One that was struck off is not heard again: what the monitor knows of it stays.
    """
    believed = {k.name: k.hz for k in lesson.known if k.hz is not None and not k.struck}
    fresh = tuple(
        Bound(b.name, believed.get(b.name, b.high_hz)) if b.name in lesson.live else b
        for b in now.watch.bounds
        if b.high_hz
    )
    turn = _turn(now, name, part, sign, degrees)
    return not in_danger(replace(now.watch, bounds=fresh), now.strung, turn)


def _sizes(now: Context, part: TuningPart, wish: float) -> list[float]:
    """Turns to choose from, the best first: what the marks of a peg stand for, any sweep of a screw."""
    table = now.strung.degrees(part)
    least, most = LEAST_DEGREES[part], table[Amount.MORE]
    if part is TuningPart.PEG:
        fit = [d for d in table.values() if d <= 1.15 * wish]
        return sorted(fit, reverse=True) or [table[Amount.A_HAIR]]
    best = min(max(wish, least), most)
    return [max(best * share, least) for share in (1.0, 0.7, 0.5, 0.3, 0.15)]


def _loosen(lesson: Lesson, now: Context, name: str, part: TuningPart, say: Say) -> Outcome:
    """Down: a peg by a hair, or a little once it was heard to fall; never while another string is slack.

    No more than would hurt no string if it were turned the wrong way round, or else the least there is.
    """
    known, string = lesson.of(name), now.strung.of(name)
    assert known.hz is not None
    near = string.load_at(known.hz) >= 0.8
    slack = any(
        k.hz is not None and not k.left and now.off(k) < SLACK for k in lesson.known if k.name != name
    )
    if part is TuningPart.PEG and slack and not near:
        return left(lesson, now, name)
    slope, steeper = slope_of(lesson, now, name, part)
    goal = shifted(string.target_hz, Cents(-UNDER * now.width))
    wish = -string.degrees_between(known.hz, goal, steeper * slope.usual)
    table = now.strung.degrees(part)
    if part is TuningPart.PEG:
        fits = known.peg is not None and wish >= table[Amount.A_LITTLE]
        sizes = [table[Amount.A_LITTLE]] * fits + [table[Amount.A_HAIR]]
    else:
        sizes = [*_sizes(now, part, wish), LEAST_DEGREES[part]]
    return _as_far_as_safe(lesson, now, name, part, -1, sizes, say)


def _turn(now: Context, name: str, part: TuningPart, sign: int, degrees: float) -> Advice:
    table = now.strung.degrees(part)
    amount = next((a for a in Amount if degrees <= table[a] + 1e-9), Amount.MORE)
    direction = Direction.TIGHTEN if sign > 0 else Direction.LOOSEN
    return turn_advice(now.strung, name, part, direction, amount, degrees)


def ask(  # noqa: PLR0913, PLR0917 - a turn has so many sides
    lesson: Lesson, now: Context, name: str, part: TuningPart, sign: int, degrees: float, say: Say
) -> Outcome:
    """The turn as advice, and the lesson that waits for its answer; whatever it may move is stale by it."""
    known, string = lesson.of(name), now.strung.of(name)
    assert known.hz is not None
    slope, _ = slope_of(lesson, now, name, part)
    wish = string.turned(known.hz, sign * degrees, slope.usual)
    movable = [
        k for k in lesson.known if not k.struck and (part is TuningPart.PEG or now.strung.of(k.name).screw)
    ]
    fresh = tuple(k.name for k in movable if not k.stale and k.name != name)
    pending = PendingTurn(now.at, name, part, sign, degrees, known.hz, known.error, wish, fresh)
    pending = _together(lesson.pending, pending, string, slope)
    lesson = lesson.knowing(*(replace(k, stale=True) for k in movable))
    lesson = replace(lesson, pending=pending, task=Tuning(name), hearings=0)
    return Outcome(lesson, replace(_turn(now, name, part, sign, degrees), say=say), name, shows=name)


def _together(
    before: PendingTurn | None, turn: PendingTurn, string: StrungString, slope: Slope
) -> PendingTurn:
    """A turn like one that was not heard to act counts on from there: two small ones make one to be heard."""
    if before is None or (before.string, before.part, before.sign) != (turn.string, turn.part, turn.sign):
        return turn
    degrees = before.degrees + turn.degrees
    return replace(
        turn,
        degrees=degrees,
        from_hz=before.from_hz,
        error=before.error,
        wish_hz=string.turned(before.from_hz, turn.sign * degrees, slope.usual),
    )


def moved_by(pending: PendingTurn, hz: Hz) -> Cents:
    """How far the string went the way it was asked to go."""
    return Cents(pending.sign * cents(hz, pending.from_hz))
