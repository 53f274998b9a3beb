"""Which string is asked for next, and when the lesson is over.

The first time through, every string is asked for once. Turning one string pulls at the others, so
afterwards each string that something was turned after is asked for again, inside the same tolerance;
three such rounds at most. A string left because nothing could be learned of it gets one more try.
"""

from dataclasses import replace

from device.coach.memory import Known, Lesson, Memory
from device.coach.order import order_of
from device.config.settings import Settings
from device.lesson.state import Advice, Coach, Mark, Phase, Say, StringState
from dsp import Seconds

TWICE = 2  # soundings of a string before the lesson may end
MOST_ROUNDS = 3  # checking rounds; more would never end on a slipping peg


def asked_for(coach: Coach, string: str, lesson: Lesson, at: Seconds) -> Coach:
    """Ask for `string`. No sounding that began before says anything of it; no proof is kept."""
    lesson = replace(
        lesson, turned=None, others=None, roll=None, proof=None, rolls=0, like_hz=None, strange=0, odd=0
    )
    lesson = lesson.knowing(replace(lesson.of(string), unanswered=0, rises=0, steps=0))
    memory = replace(coach.memory, asked_at=at, pluck=None, steady_since=None, lesson=lesson, before=lesson)
    return replace(
        coach,
        phase=Phase.WAITING,
        string=string,
        since=at,
        cents=None,
        std_error_cents=None,
        advice=Advice(string=string),
        memory=memory,
    )


def next_string(coach: Coach, settings: Settings, at: Seconds) -> Coach:
    """The next string of this round, of the next round, or the end."""
    lesson = coach.memory.lesson
    if lesson.queue:
        return asked_for(coach, lesson.queue[0], replace(lesson, queue=lesson.queue[1:]), at)
    again = _to_check(coach, settings)
    if not again or lesson.round >= MOST_ROUNDS:
        return finished(coach, at)
    known = tuple(replace(k, again=False) for k in lesson.known)
    lesson = replace(lesson, known=known, queue=again[1:], round=lesson.round + 1)
    return asked_for(coach, again[0], lesson, at)


def previous_string(coach: Coach, settings: Settings, at: Seconds) -> Coach:
    """The string before in the order; the first one stays."""
    order = order_of(settings)
    place = order.index(coach.string)
    if place == 0:
        return asked_for(coach, coach.string, coach.memory.lesson, at)
    queue = tuple(dict.fromkeys((coach.string, *coach.memory.lesson.queue)))
    lesson = replace(coach.memory.lesson, queue=queue)
    return asked_for(coach, order[place - 1], lesson, at)


def _to_check(coach: Coach, settings: Settings) -> tuple[str, ...]:
    """What has to be asked for again, in order."""
    lesson, marks = coach.memory.lesson, {string.name: string.mark for string in coach.strings}
    heard = any(known.hz is not None for known in lesson.known)
    skipped = lesson.round == 0 and heard
    return tuple(
        name
        for name in order_of(settings)
        if (marks[name] in {Mark.RIGHT, Mark.DRIFTED} and _to_hear_again(name, lesson))
        or (marks[name] is Mark.GROWN_UP and lesson.of(name).again)
        or (marks[name] is Mark.TO_DO and skipped)
    )


def _to_hear_again(name: str, lesson: Lesson) -> bool:
    """Whether a string that was right has to prove it once more.

    It has when something was turned since. Once there is a checking round it also has when it was heard
    on one pluck only, which may have been misread; with nothing to check four plucks are the lesson.
    """
    once = lesson.of(name).heard < TWICE
    return lesson.of(name).stale or (once and any(known.stale for known in lesson.known))


def finished(coach: Coach, at: Seconds) -> Coach:
    """The end picture: everything right, or what stays off."""
    right = all(string.mark is Mark.RIGHT for string in coach.strings)
    advice = Advice(Say.ALL_RIGHT if right else Say.STAYS_OFF)
    lesson = replace(coach.memory.lesson, turned=None, others=None, roll=None, proof=None)
    memory = replace(coach.memory, lesson=lesson, before=lesson)
    return replace(
        coach, phase=Phase.FINISHED, since=at, cents=None, std_error_cents=None, advice=advice, memory=memory
    )


def marked(strings: tuple[StringState, ...], name: str, mark: Mark) -> tuple[StringState, ...]:
    """The strings with the mark of one replaced."""
    return tuple(replace(s, mark=mark) if s.name == name else s for s in strings)


def begun(settings: Settings, at: Seconds) -> Coach:
    """A new lesson: nothing of the last one is kept."""
    order = order_of(settings)
    lesson = Lesson(known=tuple(Known(s.name) for s in settings.strings), queue=order[1:])
    memory = Memory(asked_at=at, sounded_at=at, lesson=lesson, before=lesson)
    strings = tuple(StringState(s.name) for s in settings.strings)
    return Coach(Phase.WAITING, order[0], at, strings, advice=Advice(string=order[0]), memory=memory)


def with_teacher(coach: Coach, settings: Settings, at: Seconds, until: Seconds) -> Coach:
    """A grown-up is at the pegs: of the string just left, or asked for; at the end, of the first left."""
    left = [s.name for s in coach.strings if s.mark is Mark.GROWN_UP]
    string = coach.string
    if coach.phase is Phase.FINISHED:
        string = next((name for name in order_of(settings) if name in left), "")
        if not string:
            return coach
    lesson = replace(coach.memory.lesson, teacher=string, teacher_until=until)
    if coach.phase is Phase.WAITING and lesson.left_last in left:  # the box went on while they came
        string = lesson.left_last or string
        queue = tuple(dict.fromkeys((coach.string, *lesson.queue)))
        lesson = replace(lesson, teacher=string, queue=queue, left_last=None)
    coach = asked_for(coach, string, lesson, at)
    if string in left:
        coach = replace(coach, strings=marked(coach.strings, string, Mark.TO_DO))
    return coach
