"""A reading becomes advice: the rules in their order, the first that answers.

Each rule is one function of the evidence. An outcome without a string means that the reading is not sure
enough yet for what hangs on it: the next one of the same sounding may be.
"""

import math
from collections.abc import Callable

from device.instrument.frozen import replace
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.answers import answer, next_heard, other_heard, remembered
from device.lesson.evidence import STILL, SURE, Outcome, PluckEvidence, renewed, told
from device.lesson.memory import HearingOthers, Lesson, ShowingRight, Surveying, TellingApart, Tuning
from device.lesson.plan import next_step
from device.lesson.state import Phase
from device.lesson.survey import call_all, survey
from device.lesson.turns import left
from device.safety.string_bounds import MOST_DOUBT, asked_twice, to_be_heard
from dsp import Cents, Seconds

MOST_ODD = 3  # soundings in a row that nothing explains, then all strings are called
START, SHARP_START = Seconds(0.5), Cents(40.0)
"""A hard pluck starts up to so much sharp (recorded violins), never flat: what is flat at once is flat."""
GOOD_ENOUGH = Cents(4.0)  # of error, to answer with another picture than a turn before a sounding is late
MORE_PLUCKS = 1  # of a string that seems right but not surely, before it is turned by a hair
SETTLED_AFTER = Seconds(0.15)  # a plucked string starts sharp; a lone reading before this is worth less

Rule = Callable[[PluckEvidence], Outcome | None]


def doubtful(ev: PluckEvidence) -> Outcome | None:
    """The octave is in doubt, to the end of the sounding: pluck again, and nothing is learned."""
    if ev.doubt <= MOST_DOUBT:
        return None
    other = ev.asked
    return told(ev.lesson, Say.PLUCK_AGAIN, other) if ev.late else Outcome(ev.lesson, Advice(), "")


def wavering(ev: PluckEvidence) -> Outcome | None:
    """Another string sounds into it, or it into another: pluck again, and nothing is learned."""
    if not ev.wavered:
        return None
    return told(ev.lesson, Say.PLUCK_AGAIN, ev.asked) if ev.late else Outcome(ev.lesson, Advice(), "")


def surveying(ev: PluckEvidence) -> Outcome | None:
    """The strings are being heard, one after the other."""
    return survey(ev, ev.lesson.task) if isinstance(ev.lesson.task, Surveying) else None


def hearing_others(ev: PluckEvidence) -> Outcome | None:
    """Another string than the one worked on was asked for."""
    task = ev.lesson.task
    if not isinstance(task, HearingOthers):
        return None
    if ev.asked == _owner(ev):
        return other_heard(ev, task)
    if not ev.late:
        return Outcome(ev.lesson, Advice(), "")
    if _owner(ev) is None and (told_apart := _one_of_several(ev, task)) is not None:
        return told_apart
    lesson = replace(ev.lesson, task=replace(task, misses=task.misses + 1))
    if lesson.odd + 1 >= MOST_ODD or task.misses >= 2 * MOST_ODD:
        return call_all(lesson, 0)
    return Outcome(
        replace(lesson, odd=lesson.odd + (_owner(ev) is None)),
        Advice(Say.PLUCK_OTHERS, string=ev.asked),
        task.string,
    )


def _one_of_several(ev: PluckEvidence, task: HearingOthers) -> Outcome | None:
    """It may be the one asked for or another: the rest of the queue tells, or all such are plucked."""
    if len(task.queue) > 1 and ev.asked in _may(ev):
        return next_heard(ev, ev.lesson, replace(task, queue=task.queue[1:]))
    return _alike(ev, task.string)


def telling_apart(ev: PluckEvidence) -> Outcome | None:
    """One more of the strings that may sound alike; after the last, the string worked on is judge_asked."""
    task = ev.lesson.task
    if not isinstance(task, TellingApart):
        return None
    task = replace(task, queue=task.queue[1:], heard=(*task.heard, (ev.asked, ev.pluck, ev.hz, ev.error)))
    if task.queue:
        lesson = replace(ev.lesson, task=task)
        return Outcome(lesson, Advice(Say.PLUCK_ALL, string=task.queue[0]), task.string)
    heard_in = {b.name: b.pluck for b in ev.now.watch.bounds}
    latest = {name: pluck for name, pluck, *_ in task.heard}
    if all(heard_in.get(name) == pluck for name, pluck in latest.items()):
        return _told_apart(ev, task)
    vouched = ev.now.at <= ev.now.watch.vouched_until
    return call_all(ev.lesson, 0) if vouched else left(ev.lesson, ev.now, task.string)


def _told_apart(ev: PluckEvidence, task: TellingApart) -> Outcome | None:
    """Each of them is known: the string worked on is judged by its own pluck."""
    lesson = replace(ev.lesson, task=Tuning(task.string))
    latest = {entry[0]: entry for entry in task.heard}
    for name, pluck, hz, error in latest.values():
        if name != task.string:
            lesson = remembered(replace(ev, lesson=lesson, pluck=pluck, hz=hz, error=error), name)
    _, pluck, hz, error = latest[task.string]
    return judge_asked(replace(ev, lesson=lesson, asked=task.string, pluck=pluck, hz=hz, error=error))


def _alike(ev: PluckEvidence, string: str) -> Outcome | None:
    """Whether this may be the string asked for and others as well: tell them apart, then go on.

    This one sounded already; the others are plucked from the lowest up.
    """
    may = _may(ev)
    if ev.asked not in may or len(may) < 2:
        return None
    watch = ev.now.watch
    if ev.now.at <= watch.vouched_until and not asked_twice(watch, ev.now.strung, ev.asked, ev.hz):
        return told(ev.lesson, Say.PLUCK_AGAIN, ev.asked)  # a grown-up is believed the second time
    group = to_be_heard(ev.now.watch, ev.now.strung, [*may, string])
    queue = tuple(name for name in group if name != ev.asked and name in ev.lesson.live)
    if not queue:  # the other one was struck off, and may still be there
        return left(ev.lesson, ev.now, string)
    lesson = replace(ev.lesson, task=TellingApart(string, queue, ((ev.asked, ev.pluck, ev.hz, ev.error),)))
    return Outcome(lesson, Advice(Say.PLUCK_ALL, string=queue[0]), string)


def another_string(ev: PluckEvidence) -> Outcome | None:
    """Not the string that was asked for, as far as can be told; three in a row, and all are called."""
    owner = _owner(ev)
    if owner == ev.asked:
        return None
    if not ev.late and owner is None:
        return Outcome(ev.lesson, Advice(), "")
    if owner is None and (alike := _alike(ev, ev.asked)) is not None:
        return alike
    odd = ev.lesson.odd + 1
    lesson = replace(ev.lesson, odd=odd)
    if odd >= MOST_ODD:
        return call_all(lesson, 0)
    return told(lesson, Say.OTHER_STRING, ev.asked, heard=owner)


def not_yet(ev: PluckEvidence) -> Outcome | None:
    """It is not surely off: waiting may tell. Only a late reading says that a string is right."""
    known = remembered(ev, ev.asked).of(ev.asked)
    off = ev.now.off(known)
    clear = abs(off) - SURE * known.error > ev.now.width and abs(ev.drift) < STILL
    started_sharp = 0.0 < off <= ev.now.width + SHARP_START and ev.since < START
    return None if ev.late or (clear and not started_sharp) else Outcome(ev.lesson, Advice(), "")


def judge_asked(ev: PluckEvidence) -> Outcome | None:
    """It is the string asked for: what the last turn did, whether it is right, and the next turn."""
    lesson = remembered(ev, ev.asked)
    if lesson.of(ev.asked).doubted and ev.now.seems_right(lesson.of(ev.asked)):
        return told(lesson, Say.PLUCK_AGAIN, ev.asked)
    answered = answer(ev, lesson)
    after = answered.lesson if isinstance(answered, Outcome) else answered[0]
    if ev.now.right(after.of(ev.asked)):
        return _right(ev, after)
    if isinstance(answered, Outcome):
        return answered
    lesson, say = answered
    known = lesson.of(ev.asked)
    surer = replace(known, error=Cents(known.error / math.sqrt(2.0)))  # as a second pluck makes it
    may_be_right = ev.now.right(surer) and known.unsure < MORE_PLUCKS
    if may_be_right or abs(ev.now.off(known)) <= SURE * known.error:
        lesson = renewed(lesson, ev.asked, unsure=known.unsure + 1)
        return replace(told(lesson, Say.PLUCK_AGAIN, ev.asked), shows=ev.asked)
    lesson = renewed(lesson, ev.asked, unsure=0)
    return next_step(replace(lesson, task=Tuning(ev.asked)), ev.now, ev.asked, say)


def _right(ev: PluckEvidence, lesson: Lesson) -> Outcome:
    lesson = renewed(lesson, ev.asked, was_right=True, unsure=0, tries=0, left=False)
    lesson = replace(lesson, task=ShowingRight(ev.asked), pending=None)
    return Outcome(lesson, Advice(Say.RIGHT, string=ev.asked), ev.asked, Phase.RIGHT, ev.asked)


def _owner(ev: PluckEvidence) -> str | None:
    """The string that the monitor took this sounding for, or the one asked for if no other is to be expected.

    None where it may be several or none. A grown-up is believed where the last turn may have taken it: the
    lesson may err, since the monitor goes on reckoning with the turn until it can tell.
    """
    sure = next((b.name for b in ev.now.watch.bounds if b.pluck == ev.pluck), None)
    may = _may(ev)
    likely = may == [ev.asked] or (ev.asked in may and _as_turned(ev))
    return sure or (ev.asked if likely and ev.pluck != ev.now.watch.jumped else None)


def _as_turned(ev: PluckEvidence) -> bool:
    """Whether a grown-up is there, and the string asked for stands where its last turn may have taken it."""
    vouched, pending = ev.now.at <= ev.now.watch.vouched_until, ev.lesson.pending
    turned = pending is not None and pending.string == ev.asked
    return vouched and turned and not remembered(ev, ev.asked).of(ev.asked).doubted


def _may(ev: PluckEvidence) -> list[str]:
    """The strings to be expected at this pitch."""
    return [b.name for b in ev.now.watch.bounds if b.may_sound(ev.hz, ev.now.strung.of(b.name))]


RULES: tuple[Rule, ...] = (
    doubtful,
    wavering,
    surveying,
    hearing_others,
    telling_apart,
    another_string,
    not_yet,
    judge_asked,
)


def verdict(ev: PluckEvidence) -> Outcome | None:
    """What this reading deserves; None while it is not sure enough.

    Only a turn and a warning are worth an early, unsure reading; all else would change with the next one.
    """
    unsure = ev.error > GOOD_ENOUGH and not ev.late
    for rule in RULES:
        outcome = rule(ev)
        if outcome is not None:
            hand = outcome.advice.turn is not TuningPart.NONE or outcome.advice.warning is not None
            return outcome if outcome.string and (hand or not unsure) else None
    raise AssertionError("the last rule answers every reading")
