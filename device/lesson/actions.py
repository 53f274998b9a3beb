"""The actions of the transition table: small functions from coach and event to coach."""

from device.config.settings import Settings
from device.events import LessonEvent, Plucked
from device.instrument.frozen import replace
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.evidence import Outcome, renewed
from device.lesson.judging import THREE, begun, judge_ended, listen
from device.lesson.memory import (
    Asking,
    Finished,
    HearingOthers,
    Lesson,
    ShowingLeft,
    Surveying,
    TellingApart,
    Tuning,
)
from device.lesson.plan import finished, given_up, next_step, order_of, spent, to_survey, work_on
from device.lesson.showing import now_of, shown, states
from device.lesson.state import Coach, Phase
from device.lesson.survey import call_all
from device.safety.string_bounds import TEACHER_STAYS_FOR
from dsp import Seconds

SHOW_RIGHT_FOR = Seconds(1.5)  # long enough to be seen before the next string is asked for
SHOW_RIGHT_LEAST = Seconds(0.5)  # a pluck sooner than this is still of the same string
SHOW_LEFT_FOR = Seconds(1.8)  # long enough to be read
SHOW_BRIDGE_FOR = Seconds(4.0)
NOTHING_FOLLOWS_AFTER = Seconds(1.2)  # a pluck without a pitch that counts
PUPIL_GONE_AFTER = Seconds(60.0)  # without a pluck
END_SHOWN_FOR = Seconds(20.0)


def _go_on(coach: Coach, lesson: Lesson, event: LessonEvent, settings: Settings) -> Coach:
    """Whatever comes next, with no sounding behind it."""
    coach = replace(coach, memory=replace(coach.memory, pluck=None, before=lesson, lesson=lesson))
    now = now_of(coach, settings, event.at)
    outcome = next_step(lesson, now, coach.string)
    return shown(coach, outcome, outcome.lesson, event.at, settings)


def _overtaken(coach: Coach, lesson: Lesson, event: LessonEvent, settings: Settings) -> Coach:
    """Whatever comes next, when a pluck is there already: a turn that nobody could see was not asked for."""
    after = _go_on(coach, lesson, event, settings)
    if after.advice.turn is TuningPart.NONE:
        return after
    lesson = replace(lesson, pending=None, task=Tuning(after.string))
    marks = states(lesson, now_of(after, settings, event.at))
    return replace(after, strings=marks, memory=replace(after.memory, lesson=lesson, before=lesson))


def ask_next(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The button: go on, whatever the string does; it also answers a question."""
    lesson, task = coach.memory.lesson, coach.memory.lesson.task
    match task:
        case Surveying():
            lesson = renewed(lesson, coach.string, skipped=lesson.of(coach.string).skipped + 1)
            return _skipped_in_survey(coach, lesson, event, settings)
        case Tuning(name) | HearingOthers(name) | TellingApart(name):
            lesson = renewed(lesson, name, skipped=lesson.of(name).skipped + 1)
            lesson = replace(lesson, pending=None, task=ShowingLeft(name))
        case Asking():
            lesson = replace(lesson, task=Surveying())
    return _go_on(coach, lesson, event, settings)


def _skipped_in_survey(coach: Coach, lesson: Lesson, event: LessonEvent, settings: Settings) -> Coach:
    """Nothing may be turned before all are heard: the button only changes which is asked for first."""
    open_ = [n for n in order_of(settings) if n in lesson.live and lesson.of(n).hz is None]
    if len(open_) < 2 or all(lesson.of(n).skipped > 1 for n in open_):
        outcome = finished(lesson, now_of(coach, settings, event.at))
        return shown(coach, outcome, outcome.lesson, event.at, settings)
    following = to_survey(lesson, now_of(coach, settings, event.at)) or coach.string
    outcome = Outcome(lesson, Advice(Say.PLUCK, string=following), following, Phase.WAITING)
    return shown(coach, outcome, lesson, event.at, settings)


def ask_previous(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The button: the string before."""
    order = order_of(settings)
    place = max(order.index(coach.string) - 1, 0)
    lesson = renewed(coach.memory.lesson, order[place], skipped=0, left=False)
    if isinstance(lesson.task, Surveying):
        outcome = Outcome(lesson, Advice(Say.PLUCK, string=order[place]), order[place], Phase.WAITING)
    else:
        lesson = renewed(lesson, order[place], unsure=1)
        outcome = work_on(replace(lesson, pending=None), now_of(coach, settings, event.at), order[place])
    coach = replace(coach, memory=replace(coach.memory, pluck=None, before=outcome.lesson))
    return shown(coach, outcome, outcome.lesson, event.at, settings)


def ask_again(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """At the end: the last string once more."""
    lesson = renewed(coach.memory.lesson, coach.string, unsure=1, left=False, skipped=0)
    outcome = work_on(lesson, now_of(coach, settings, event.at), coach.string)
    return shown(coach, outcome, outcome.lesson, event.at, settings)


def begin(_coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new pupil: nothing is kept."""
    return begun(settings, event.at)


def pass_time(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A sounding that nothing followed; a pupil who is gone."""
    memory = coach.memory
    sounded = memory.sounded_at if memory.sounded_at is not None else coach.since
    if coach.phase is Phase.LISTENING:
        coach = judge_ended(coach, event.at, settings)
    if coach.phase is Phase.LISTENING and event.at - coach.since >= NOTHING_FOLLOWS_AFTER:
        return _unclear(coach, event, settings)
    gone = event.at - max(sounded, coach.since) >= PUPIL_GONE_AFTER
    return begun(settings, event.at) if gone else coach


def _unclear(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """Plucked, and no pitch that counts; three times in a row get a picture of their own."""
    if spent(coach.memory.lesson):
        outcome = finished(coach.memory.lesson, now_of(coach, settings, event.at))
        return shown(coach, outcome, outcome.lesson, event.at, settings)
    lesson = replace(coach.memory.lesson, unclear=coach.memory.lesson.unclear + 1, pending=None)
    if lesson.unclear >= 2 * THREE:
        asked = coach.advice.string or coach.string
        outcome = given_up(lesson, now_of(coach, settings, event.at), asked)
        return shown(coach, outcome, outcome.lesson, event.at, settings)
    say = Say.NO_PITCH if lesson.unclear >= THREE else Say.PLUCK_AGAIN
    memory = replace(coach.memory, lesson=lesson, before=lesson)
    advice = Advice(say, string=coach.advice.string or coach.string)
    return replace(coach, phase=Phase.WAITING, since=event.at, advice=advice, memory=memory)


def move_on(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The next string by itself: hands are full."""
    if settings.move_on and event.at - coach.since >= SHOW_RIGHT_FOR:
        return _go_on(coach, coach.memory.lesson, event, settings)
    return pass_time(coach, event, settings)


def go_on_and_listen(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A pluck while right is shown is of the next string already, if it goes on by itself."""
    if isinstance(event, Plucked) and event.pluck == coach.memory.pluck:
        return coach
    if settings.move_on and event.at - coach.since >= SHOW_RIGHT_LEAST:
        coach = _overtaken(coach, coach.memory.lesson, event, settings)
    return coach if coach.phase is Phase.FINISHED else listen(coach, event, settings)


def leave_it(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """What is left for a grown-up was shown long enough."""
    bridge = coach.advice.say is Say.CHECK_BRIDGE
    if event.at - coach.since >= (SHOW_BRIDGE_FOR if bridge else SHOW_LEFT_FOR) and settings.move_on:
        return _go_on(coach, coach.memory.lesson, event, settings)
    return pass_time(coach, event, settings)


def answer_and_listen(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A pluck answers a question that stands: go on as it is."""
    lesson = replace(coach.memory.lesson, task=Surveying())
    return listen(_overtaken(coach, lesson, event, settings), event, settings)


def begin_after_end(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new pupil when the end picture was seen."""
    return begun(settings, event.at) if event.at - coach.since >= END_SHOWN_FOR else coach


def _survey_vouched(coach: Coach, lesson: Lesson, event: LessonEvent, settings: Settings) -> Coach:
    """A grown-up is here: if they were asked for, all strings are called for them, whatever stood there."""
    if coach.advice.say is not Say.GROWN_UP:
        return replace(coach, memory=replace(coach.memory, lesson=lesson, before=lesson))
    outcome = replace(call_all(lesson, 0), phase=Phase.WAITING)
    coach = replace(coach, memory=replace(coach.memory, pluck=None, before=outcome.lesson))
    return shown(coach, outcome, outcome.lesson, event.at, settings)


def teacher(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A grown-up is at the pegs of what was left, or of the string asked for; a silent one is struck off."""
    lesson = coach.memory.lesson
    until = Seconds(event.at + TEACHER_STAYS_FOR)
    if isinstance(lesson.task, Surveying):
        if lesson.unclear < THREE or coach.string in lesson.placed:
            lesson = replace(lesson, teacher=lesson.live, teacher_until=until)
            return _survey_vouched(coach, lesson, event, settings)
        lesson = renewed(replace(lesson, unclear=0), coach.string, struck=True)
        return _go_on(coach, lesson, event, settings)
    waiting = tuple(k.name for k in lesson.known if k.left and not k.struck)
    if isinstance(lesson.task, Finished) and not waiting:
        return coach
    names = waiting or (coach.string,)
    first = lesson.last_left or (coach.string if coach.string in names else names[0])
    lesson = lesson.knowing(
        *(replace(lesson.of(n), left=False, plucks=0, tries=0, passed=0, skipped=0) for n in names)
    )
    lesson = replace(lesson, teacher=names, teacher_until=until, task=Tuning(first), pending=None)
    outcome = work_on(lesson, now_of(coach, settings, event.at), first)
    coach = replace(coach, memory=replace(coach.memory, pluck=None, before=outcome.lesson))
    return shown(coach, outcome, outcome.lesson, event.at, settings)
