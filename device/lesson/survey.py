"""Every string is heard before anything is turned: which pitch is which string?

A pitch in the place of the string that was asked for is that string. When one is out of its place, all are
plucked from the lowest up, and believed as the monitor believes them: each higher than the last, or all
but one in their places and that one twice alike.
"""

from device.instrument.frozen import replace
from device.instrument.roll_call import PLACE_ABOVE, PLACE_BELOW
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.answers import remembered
from device.lesson.evidence import Outcome, PluckEvidence, renewed, told
from device.lesson.memory import Asking, Known, Lesson, Surveying
from device.lesson.plan import finished, next_step
from device.safety.string_bounds import asked_twice
from dsp import OPEN_STRINGS, Cents, Hz, Instrument, cents, string_frequencies

FOUND_BELOW = Cents(-230.0)
"""A string found so far under its note is still taken for itself at sight: with `PLACE_ABOVE` the places of
strings a fourth apart, 498 cents, do not touch. The monitor judges for itself."""
SLACKEST = Cents(-1300.0)  # an octave and a little; a string slacker than that hardly sounds
NEAR_A_PLACE = Cents(40.0)  # so near to another instrument's open string it may well be that one
TWICE_OVER = 2  # times all strings were heard but one that never is, then it is over
MOST_CALLS = 3  # times all strings are called before the lesson is handed over
MOST_DOUBTED = 2  # strings that may each have been another one; more have moved, and are believed; chosen
ALIKE_WITHIN = Cents(10.0)  # all strings off by the same: another reference pitch
LEAST_ALIKE = Cents(60.0)  # strings fall by less together in a dry week
REFERENCES = (392.0, 415.0, 430.0, 440.0, 442.0, 443.0, 466.0)  # Hz, in use (common practice)


def survey(ev: PluckEvidence, task: Surveying) -> Outcome:
    """One more string of the survey."""
    if (asking := _foreign(ev)) is not None:
        return asking
    if task.strict:
        return _called(ev, task)
    return _in_any_order(ev, task)


def _in_any_order(ev: PluckEvidence, task: Surveying) -> Outcome:
    """All strings near their places: the pitch says which one it is."""
    near = ev.now.strung.nearest(ev.hz)
    in_place = FOUND_BELOW <= ev.now.strung.off(ev.hz, near) <= PLACE_ABOVE
    if in_place and near in ev.lesson.live and (near == ev.asked or ev.follows):
        lesson = remembered(replace(ev, asked=near), near)
        if ev.lesson.of(near).hz is not None:
            task = replace(task, known_ones=task.known_ones + 1)
            lesson = replace(lesson, task=task)
        if task.known_ones >= TWICE_OVER * len(ev.lesson.live):
            return finished(lesson, ev.now)
        return _surveyed(ev, lesson, task)
    if not ev.like_before:
        return told(ev.lesson, Say.OTHER_STRING, ev.asked, heard=near if in_place else None)
    if in_place and near != ev.asked and task.misses == 0:
        lesson = replace(ev.lesson, task=replace(task, misses=1))
        return told(lesson, Say.OTHER_STRING, ev.asked, heard=near)
    return call_all(ev.lesson, 0)


def call_all(lesson: Lesson, misses: int) -> Outcome:
    """All strings are called, from the lowest up; nothing is believed of what was heard before."""
    forgotten = [replace(k, hz=None, stale=False, pulled=Cents(0.0), unsure=0) for k in lesson.known]
    lesson = replace(lesson.knowing(*forgotten), task=Surveying(True, misses), pending=None, odd=0)
    return told(lesson, Say.PLUCK_ALL, lesson.live[0])


def _called(ev: PluckEvidence, task: Surveying) -> Outcome:
    lesson = remembered(ev, ev.asked)
    return _surveyed(ev, lesson, task)


def _surveyed(ev: PluckEvidence, lesson: Lesson, task: Surveying) -> Outcome:
    """On to the next string, or to work once all are known and the monitor believes it."""
    if any(lesson.of(n).hz is None for n in lesson.live):
        return next_step(lesson, ev.now, ev.asked)
    if any(b.high_hz is None for b in ev.now.watch.bounds):
        return _highest_again(ev, lesson, task) or _again(ev, lesson, task)
    if task.misses == 0 and 0 < len(doubted := _doubted(ev, lesson)) <= MOST_DOUBTED:
        asked_again = lesson.knowing(*(replace(lesson.of(n), hz=None) for n in doubted))
        return told(replace(asked_again, task=replace(task, misses=1)), Say.PLUCK_ALL, doubted[0])
    following = next_step(replace(lesson, task=Surveying()), ev.now, "")
    if "reference" not in lesson.said and _another_reference(lesson, ev):
        lesson = replace(lesson, said=lesson.said | {"reference"}, task=Asking(Alarm.ANOTHER_REFERENCE))
        return Outcome(lesson, Advice(Say.WAIT, warning=Alarm.ANOTHER_REFERENCE), following.string)
    return following


def _doubted(ev: PluckEvidence, lesson: Lesson) -> list[str]:
    """The strings that do not stand where the monitor expects them: another may have been plucked."""
    now = ev.now
    heard = [(n, lesson.of(n).hz) for n in lesson.live]
    return [n for n, hz in heard if hz and not now.watch.of(n).may_sound(hz, now.strung.of(n))]


def _highest_again(ev: PluckEvidence, lesson: Lesson, task: Surveying) -> Outcome | None:
    """The highest string is heard twice where it seems far down, since a misread one may be far too high."""
    highest = lesson.live[-1]
    hz = lesson.of(highest).hz
    if task.strict and ev.now.at > ev.now.watch.vouched_until:
        return None
    if (
        hz is None
        or ev.now.strung.off(hz, highest) >= PLACE_BELOW
        or asked_twice(ev.now.watch, ev.now.strung, highest, hz)
    ):
        return None
    return told(renewed(lesson, highest, hz=None), Say.PLUCK_AGAIN, highest)


def _again(ev: PluckEvidence, lesson: Lesson, task: Surveying) -> Outcome:
    """Not believed: the only one that is out of its place once more, or all of them, or it is over."""
    out = [k.name for k in lesson.known if not k.struck and not _in_place(k, ev)]
    if task.misses >= MOST_CALLS:
        return finished(lesson, ev.now)
    called = call_all(lesson, task.misses + 1)
    if len(out) == 1:
        lesson = replace(renewed(lesson, out[0], hz=None), task=called.lesson.task)
        called = told(lesson, Say.PLUCK_ALL, out[0])
    if ev.now.at <= ev.now.watch.vouched_until or not out or len(out) + task.misses < 2:
        return called
    return replace(called, advice=replace(called.advice, say=Say.GROWN_UP))  # slack ones only they can tell


def _in_place(known: Known, ev: PluckEvidence) -> bool:
    return known.hz is not None and PLACE_BELOW <= ev.now.off(known) <= PLACE_ABOVE


def _foreign(ev: PluckEvidence) -> Outcome | None:
    """An open string that only another instrument has, twice over: which instrument is this?"""
    if "instrument" in ev.lesson.said or abs(ev.now.strung.off(ev.hz, ev.now.strung.nearest(ev.hz))) < 150.0:
        return None
    reference = ev.now.settings.reference_hz
    known = any(
        abs(cents(ev.hz, hz)) <= NEAR_A_PLACE
        for instrument in Instrument
        if instrument is not ev.now.strung.instrument
        for hz in string_frequencies(OPEN_STRINGS[instrument], reference)
    )
    if not known or not ev.like_before or _only_slack(ev):
        return None
    lesson = replace(ev.lesson, said=ev.lesson.said | {"instrument"}, task=Asking(Alarm.ANOTHER_INSTRUMENT))
    return Outcome(lesson, Advice(Say.WAIT, warning=Alarm.ANOTHER_INSTRUMENT), ev.asked)


def _only_slack(ev: PluckEvidence) -> bool:
    """Whether another string sounded in its place when it was asked for, and this one may be slack."""
    there = any(_in_place(replace(k, hz=k.first_hz), ev) for k in ev.lesson.known)
    return there and SLACKEST <= ev.now.strung.off(ev.hz, ev.asked) < 0.0


def _another_reference(lesson: Lesson, ev: PluckEvidence) -> bool:
    """Whether all strings are off alike, and by as much as another reference pitch in use would be."""
    offs = [ev.now.off(k) for k in lesson.known if k.hz is not None]
    if len(offs) < 3 or max(offs) - min(offs) > ALIKE_WITHIN:
        return False
    middle = sum(offs) / len(offs)
    near = [cents(Hz(hz), ev.now.settings.reference_hz) for hz in REFERENCES]
    return abs(middle) > LEAST_ALIKE and any(abs(middle - there) <= ALIKE_WITHIN for there in near)
