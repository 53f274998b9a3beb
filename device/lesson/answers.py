"""What the last turn did: answered, the wrong way, slipped back, or nothing at all."""

import math

from device.instrument.frozen import replace
from device.instrument.strung import COUPLING, MARGIN
from device.instrument.tuning_parts import TWICE, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.evidence import STILL, SURE, Outcome, PluckEvidence, renewed
from device.lesson.memory import HearingOthers, Known, Lesson, PendingTurn
from device.lesson.plan import finished, next_step, work_on
from device.lesson.turns import OUT_OF_HAND, left, moved_by, slope_of
from device.safety.string_bounds import TURNING
from dsp import Cents, Hz, cents, shifted

GOES_ON = 0.05  # seconds by which a reading is old: what moves meanwhile is known only so far; chosen
PULL = Cents(5.0)  # turning other strings pulls this one so far, from memory
CLEARLY = Cents(15.0)  # more than this against the advice is no pull of another string
LEAST_MOVE = 0.15  # of what was expected
HALF = 0.5  # of what was expected: from there on no other string was turned
SURELY = 1.5  # or so many times what the readings may be wrong by, where the slope is less than expected
SLIPPED_TIMES = 2.5  # a fall of so many times the turn is no hand: the peg slipped
SOONEST_S = 1.0  # from the picture to the next pluck, with a look, a grip and a turn between them; chosen
HEAR_OTHERS_AFTER = 2  # turns in vain
WRONG_WAYS = 4  # turns in a row that went the wrong way, before a string is left
MOST_WRONG_WAYS = 2  # strings left so, then it is no slip: the rest is left as well
MOST_RISES = 2  # of a string that was to be let down
SCREW_ENDS_AFTER = 3
PACE = 0.08  # of the breaking load, in one turn: too fast
HAND, GUESSED, LEARNED = 0.2, 0.7, 0.25
"""Relative standard errors, chosen: of how far a hand turns, of a slope that is guessed, and of one that was
heard before. Each slope counts by how surely it is known."""
TOO_FAR = 2.5  # times what was expected
UNEXPLAINED = Cents(40.0)  # other strings pull, and readings err, by less; chosen
RISE = Cents(4.0)  # less than this is no movement of another string


def remembered(ev: PluckEvidence, name: str) -> Lesson:
    """The lesson with a string heard at this reading, counted together with the sounding before.

    What was heard before others were turned counts as well, less sure by as much as they may have pulled it.
    """
    known = ev.lesson.of(name)
    hz, error = ev.hz, Cents(math.hypot(ev.error, ev.drift * GOES_ON))
    if known.hz is not None and not known.stale and _agree(ev, known):
        before = math.hypot(known.error, known.pulled)
        ours, theirs = 1.0 / max(error, 0.05) ** 2, 1.0 / max(before, 0.05) ** 2
        share = theirs / (ours + theirs)
        hz = Hz(hz * (known.hz / hz) ** share)
        error = Cents(1.0 / math.sqrt(ours + theirs))
    off = abs(ev.now.strung.off(hz, name))
    nearer, pending = off < 0.9 * known.nearest, ev.lesson.pending
    fresh = replace(
        known,
        nearest=off if nearer else known.nearest,
        stuck=0 if nearer else known.stuck + (pending is not None and pending.string == name),
        hz=hz,
        error=error,
        first_hz=known.first_hz or ev.hz,
        stale=False,
        pulled=Cents(0.0),
        plucks=known.plucks + 1,
        passed=0,
        doubted=ev.cut_in or abs(ev.drift) > STILL or _unexplained(ev, known),
    )
    strayed = ev.lesson.strayed or (not fresh.doubted and _left_its_place(ev, known))
    return replace(ev.lesson.knowing(fresh), odd=0, strayed=strayed)


def _left_its_place(ev: PluckEvidence, known: Known) -> bool:
    """Whether a string that was not to be turned is not where it was: a hand was on the wrong part."""
    pending = ev.lesson.pending
    if known.hz is None or (pending is not None and pending.string == known.name):
        return False
    return abs(cents(ev.hz, known.hz)) > CLEARLY + SURE * math.hypot(ev.error, known.error)


def _unexplained(ev: PluckEvidence, known: Known) -> bool:
    """Whether it stands where twice the last turn, by the steepest slope, could not have taken it.

    The same where another string was heard just before in its place: two soundings alike are believed.
    """
    if known.hz is None or (ev.lesson.odd and not ev.like_before):
        return known.hz is not None
    pending, string = ev.lesson.pending, ev.now.strung.of(known.name)
    low = high = known.hz
    if pending is not None and (pending.part is TuningPart.PEG or string.screw is not None):
        most = TWICE * pending.degrees
        steepest = string.slope(pending.part).most
        low, high = (string.turned(known.hz, sign * most, steepest) for sign in (-1.0, 1.0))
    return not shifted(low, Cents(-UNEXPLAINED)) <= ev.hz <= shifted(high, UNEXPLAINED)


def _agree(ev: PluckEvidence, known: Known) -> bool:
    assert known.hz is not None
    return abs(cents(ev.hz, known.hz)) <= 3.0 * math.hypot(ev.error, known.error) + 1.0


def answer(ev: PluckEvidence, lesson: Lesson) -> Outcome | tuple[Lesson, Say]:
    """What this reading says of the turn that was asked for: an outcome, or how to go on."""
    pending = ev.lesson.pending
    if pending is None or pending.string != ev.asked:
        return replace(lesson, pending=None), Say.TURN
    known = lesson.of(ev.asked)
    moved = moved_by(pending, known.hz or ev.hz)
    error = SURE * math.hypot(pending.error, known.error)
    expected = _expected(pending)
    if moved >= max(error, LEAST_MOVE * min(expected, 20.0)):
        needed = (max if lesson.strayed else min)(HALF * expected, SURELY * error)
        return _answered(ev, lesson, pending, surely=moved >= needed)
    if moved <= -(PULL + error):
        return _against(ev, lesson, pending, -moved > SLIPPED_TIMES * expected, -moved > CLEARLY + error)
    if moved + error > HALF * expected:  # it may have moved: no sign of anything, it counts with the next
        return lesson, Say.TURN
    return _in_vain(ev, lesson, pending)


def _expected(pending: PendingTurn) -> Cents:
    """How far the turn should have taken its string."""
    return Cents(abs(cents(pending.wish_hz, pending.from_hz)))


def _answered(
    ev: PluckEvidence, lesson: Lesson, pending: PendingTurn, *, surely: bool
) -> Outcome | tuple[Lesson, Say]:
    """It moved as told, which says how steep it is; the hand was on the right part, so no other moved."""
    string, rose = ev.string, cents(ev.hz, pending.from_hz)
    peg = pending.part is TuningPart.PEG
    steep = _steepness(ev, pending)
    learned = {"peg": steep} if peg else {"screw": steep, "screw_ended": 0}  # what moves is at no end
    lesson = renewed(lesson, ev.asked, tries=0, **learned)
    others = pending.fresh if surely else ()  # else they may have been turned
    lesson = lesson.knowing(*(_pulled(lesson.of(n), rose) for n in others if n != ev.asked))
    wound = lesson.wound + (abs(rose) if peg else 0.0)
    lesson = replace(lesson, pending=None, wound=wound)
    jumped = string.load_at(ev.hz) - string.load_at(pending.from_hz)
    if jumped > PACE and abs(rose) > TOO_FAR * _expected(pending):
        return Outcome(lesson, Advice(Say.WAIT, string=ev.asked, warning=Alarm.SLOWLY), ev.asked)
    came_under = pending.sign < 0 and ev.now.strung.off(ev.hz, ev.asked) < 0.0
    return lesson, Say.COME_UP if came_under else Say.TURN


def _steepness(ev: PluckEvidence, pending: PendingTurn) -> float:
    """How many times as steep as usual: what was reckoned and what was heard, each by how sure it is."""
    string, usual = ev.string, ev.string.slope(pending.part)
    reckoned = slope_of(ev.lesson, ev.now, ev.asked, pending.part)[0].usual / usual.usual
    by_one_degree = abs(string.tension(ev.hz) - string.tension(pending.from_hz)) / pending.degrees
    moved = max(abs(cents(ev.hz, pending.from_hz)), 0.1)
    doubt = math.hypot(HAND, pending.error / moved, ev.error / moved)
    before = LEARNED if ev.known.peg or ev.known.screw else GUESSED
    share = before**2 / (before**2 + doubt**2)
    factor = reckoned * math.pow(by_one_degree / usual.usual / reckoned, share)
    return min(max(factor, 0.5 * usual.least / usual.usual), 2.0 * usual.most / usual.usual)


def _pulled(known: Known, rose: float) -> Known:
    """Another string once this one rose by so many cents: it gave way by a share that is roughly known."""
    middle, spread = sum(COUPLING) / 2.0, (COUPLING[1] - COUPLING[0]) / 2.0
    hz = None if known.hz is None else shifted(known.hz, Cents(-middle * rose))
    return replace(known, hz=hz, stale=False, pulled=Cents(known.pulled + spread * abs(rose)))


def _against(
    ev: PluckEvidence, lesson: Lesson, pending: PendingTurn, far: bool, clearly: bool
) -> Outcome | tuple[Lesson, Say]:
    """It went the other way; by little, it may have been another string that was turned and pulled it."""
    tries = lesson.of(ev.asked).tries + 1
    lesson = renewed(lesson, ev.asked, tries=tries)
    if tries >= WRONG_WAYS or (pending.sign < 0 and (tries > MOST_RISES or _high(ev))):
        lesson = replace(lesson, wrong_ways=lesson.wrong_ways + 1)
        if lesson.wrong_ways >= MOST_WRONG_WAYS:
            return finished(lesson, ev.now)
        return left(lesson, ev.now, ev.asked)
    if not clearly:
        return _hear_others(ev, lesson, pending) or (replace(lesson, pending=None), Say.TURN)
    wooden = pending.part is TuningPart.PEG and ev.now.strung.push_in
    slipped = far and wooden and pending.sign > 0
    return replace(lesson, pending=None), Say.PUSH_IN if slipped else Say.TURN_ON


def _high(ev: PluckEvidence) -> bool:
    """Whether a string that rose though it was to be let down would not bear another such mistake."""
    load = ev.string.load_at(ev.hz)
    hair = 2.0 * min(ev.now.strung.peg_degrees.values()) * ev.string.peg_load
    return load + hair >= MARGIN


def _in_vain(ev: PluckEvidence, lesson: Lesson, pending: PendingTurn) -> Outcome | tuple[Lesson, Say]:
    """Nothing moved. A pluck that came too soon, or while it is being turned, only shows the turn again."""
    if ev.now.at - ev.since - pending.at < SOONEST_S or abs(ev.drift) > TURNING:
        return replace(lesson, pending=None), Say.TURN
    tries = lesson.of(ev.asked).tries + (not ev.known.unsure)  # a second pluck is no second turn
    lesson = renewed(lesson, ev.asked, tries=tries)
    if pending.part is TuningPart.FINE_TUNER and tries >= SCREW_ENDS_AFTER:
        return replace(renewed(lesson, ev.asked, tries=0, screw_ended=pending.sign), pending=None), Say.TURN
    if tries >= OUT_OF_HAND:
        return left(lesson, ev.now, ev.asked)
    if tries == HEAR_OTHERS_AFTER and (hearing := _hear_others(ev, lesson, pending)):
        return hearing
    return lesson, Say.TURN


def _hear_others(ev: PluckEvidence, lesson: Lesson, pending: PendingTurn) -> Outcome | None:
    """Which string did move? All others that have such a part are plucked, low to high."""
    queue = tuple(
        name
        for name in lesson.live
        if name != ev.asked and (pending.part is TuningPart.PEG or ev.now.strung.of(name).screw is not None)
    )
    if not queue:
        return None
    lesson = replace(lesson, task=HearingOthers(ev.asked, queue, sought=pending), pending=pending)
    return Outcome(lesson, Advice(Say.PLUCK_OTHERS, string=queue[0]), ev.asked)


def other_heard(ev: PluckEvidence, task: HearingOthers) -> Outcome:
    """One of the others was heard: it rose, so its part was the wrong one, or the next is plucked."""
    before, pending = ev.known.hz, task.sought
    lesson = remembered(ev, ev.asked)
    if pending is not None and before is not None and _rose(ev, before, pending):
        lesson = replace(renewed(lesson, task.string, tries=0), pending=None, task=task, strayed=True)
        if not ev.now.right(lesson.of(ev.asked)) and ev.now.off(lesson.of(ev.asked)) > 0.0:
            return work_on(lesson, ev.now, ev.asked, Say.LOOSEN_BACK)
    queue = tuple(name for name in task.queue if name != ev.asked)
    if queue:
        return next_heard(ev, lesson, replace(task, queue=queue))
    lesson = replace(lesson, task=task)
    if pending is not None:
        lesson = _none_moved(lesson, pending)
    return next_step(lesson, ev.now, task.string, task.say)


def _none_moved(lesson: Lesson, sought: PendingTurn) -> Lesson:
    """No string moved: the one worked on stands as heard, and a fine tuner that was turned is at its end."""
    lesson = renewed(replace(lesson, pending=None), sought.string, stale=False)
    if sought.part is TuningPart.PEG:
        return lesson
    return renewed(lesson, sought.string, tries=0, screw_ended=sought.sign)


def next_heard(ev: PluckEvidence, lesson: Lesson, task: HearingOthers) -> Outcome:
    """The next of the others, unless the turn that they were plucked for is safe already."""
    if task.sought is None:
        early = next_step(replace(lesson, task=task), ev.now, task.string, task.say)
        if early.advice.turn is not TuningPart.NONE:
            return early
    lesson = replace(lesson, task=task)
    return Outcome(lesson, Advice(Say.PLUCK_OTHERS, string=task.queue[0]), task.string)


def _rose(ev: PluckEvidence, before: Hz, pending: PendingTurn) -> bool:
    """Whether it went up by a third of what the turn would have done to it."""
    if pending.sign < 0:
        return False
    slope, _ = slope_of(ev.lesson, ev.now, ev.asked, pending.part)
    would = cents(ev.string.turned(before, pending.degrees, slope.usual), before)
    return cents(ev.hz, before) >= max(RISE + SURE * ev.error, min(would / 3.0, 30.0))
