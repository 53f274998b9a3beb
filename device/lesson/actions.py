"""The actions of the transition table: small functions from coach and event to coach."""

import math
from dataclasses import replace

from device.config.settings import Settings
from device.events import Heard, LessonEvent, Plucked
from device.instrument.strung import Strung, strung
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.evidence import SURE, Context, Evidence, Outcome, renewed
from device.lesson.memory import (
    Asking,
    Finished,
    HearingOthers,
    Known,
    Lesson,
    Memory,
    ShowingLeft,
    Surveying,
    TellingApart,
    Tuning,
)
from device.lesson.plan import finished, next_step, order_of, to_survey, work_on
from device.lesson.state import Coach, Mark, Phase, StringState
from device.lesson.verdict import verdict
from dsp import Cents, Hz, Seconds, cents

SHOW_RIGHT_FOR = Seconds(1.5)  # long enough to be seen before the next string is asked for
SHOW_RIGHT_LEAST = Seconds(0.5)  # a pluck sooner than this is still of the same string
SHOW_LEFT_FOR = Seconds(1.8)  # long enough to be read
SHOW_BRIDGE_FOR = Seconds(4.0)
NOTHING_FOLLOWS_AFTER = Seconds(1.2)  # a pluck without a pitch that counts
PUPIL_GONE_AFTER = Seconds(60.0)  # without a pluck
END_SHOWN_FOR = Seconds(20.0)
TEACHER_STAYS_FOR = Seconds(300.0)
HASTY = Seconds(0.6)  # from pluck to pluck; in less no pitch settles
THREE = 3  # soundings in a row before they get a picture of their own
DANCES = Cents(0.75)  # a number moved by less within one sounding teaches nothing
LOWEST, HIGHEST = Hz(5.0), Hz(20000.0)  # beyond these nothing is the pitch of a string


def begun(settings: Settings, at: Seconds) -> Coach:
    """A new lesson: nothing of the last one is kept."""
    names = tuple(string.name for string in settings.strings)
    lesson = Lesson(known=tuple(Known(name) for name in names))
    memory = Memory(strung(settings), at, lesson, lesson, sounded_at=at, asked_at=at)
    first = order_of(settings)[0]
    strings = tuple(StringState(name) for name in names)
    return Coach(Phase.WAITING, first, at, strings, advice=Advice(string=first), memory=memory)


def instrument_of(coach: Coach) -> Strung:
    """What is strung; a lesson that was begun always has it."""
    if coach.memory.strung is None:
        raise ValueError("this lesson was never begun; start one with its settings")
    return coach.memory.strung


def now_of(coach: Coach, settings: Settings, at: Seconds) -> Context:
    """What everything is judged by at this moment."""
    return Context(instrument_of(coach), settings, coach.watch, at)


def stay(coach: Coach, _event: LessonEvent, _settings: Settings) -> Coach:
    """Nothing changes."""
    return coach


def listen(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    """A new sounding: the arrow comes down until there is something sure to say."""
    if not isinstance(event, Plucked) or event.pluck == coach.memory.pluck:
        return coach
    return _sounding(coach, event.pluck, event.at)


def _sounding(coach: Coach, pluck: int, at: Seconds) -> Coach:
    memory = coach.memory
    gap = None if memory.sounded_at is None else Seconds(at - memory.sounded_at)
    undecided = memory.decided is None and memory.pluck is not None
    hasty = memory.lesson.hasty + 1 if gap is not None and gap < HASTY and undecided else 0
    lesson = replace(memory.lesson, plucks=memory.lesson.plucks + 1, hasty=hasty, last_left=None)
    memory = replace(
        memory, pluck=pluck, sounded_at=at, gap_s=gap, decided=None, lesson=lesson, before=lesson
    )
    say = Say.TOO_FAST if hasty >= THREE else Say.PLUCK
    advice = Advice(say, string=coach.advice.string or coach.string)
    phase = Phase.WAITING if hasty >= THREE else Phase.LISTENING
    return replace(
        coach, phase=phase, since=at, cents=None, std_error_cents=None, advice=advice, memory=memory
    )


def judge(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A reading becomes advice, if it counts and is sure enough for what hangs on it."""
    if not isinstance(event, Heard) or not _counts(coach, event):
        return coach
    if event.pluck != coach.memory.pluck:
        coach = _sounding(coach, event.pluck, Seconds(event.at - event.since_pluck_s))
    ev = _evidence(coach, event, settings)
    outcome = verdict(ev)
    return coach if outcome is None else _decided(coach, event, outcome, settings)


def _counts(coach: Coach, event: Heard) -> bool:
    numbers = (
        event.at,
        event.std_error_cents,
        event.octave_doubt,
        event.drift_cents_per_s,
        event.since_pluck_s,
    )
    begun_at = event.at - event.since_pluck_s
    return (
        all(math.isfinite(number) for number in (*numbers, event.since_pluck_s))
        and LOWEST <= event.frequency_hz <= HIGHEST
        and event.std_error_cents >= 0.0
        and (event.pluck == coach.memory.pluck or begun_at >= coach.memory.asked_at)
    )


def _evidence(coach: Coach, event: Heard, settings: Settings) -> Evidence:
    memory = coach.memory
    asked = _asked(memory.before, coach, settings)
    ev = Evidence(
        now_of(coach, settings, event.at),
        memory.before,
        asked,
        event.pluck,
        event.frequency_hz,
        event.std_error_cents,
        event.octave_doubt,
        event.drift_cents_per_s,
        event.since_pluck_s,
        memory.gap_s,
    )
    owner = next((b.name for b in coach.watch.bounds if b.pluck == event.pluck), None)
    working = not isinstance(memory.before.task, Surveying | HearingOthers | TellingApart)
    return replace(ev, asked=owner) if ev.follows and working and owner else ev


def _asked(before: Lesson, coach: Coach, settings: Settings) -> str:
    """The string that was asked for when this sounding began."""
    task = before.task
    match task:
        case HearingOthers() | TellingApart():
            return task.queue[0]
        case Surveying():
            return to_survey(before, now_of(coach, settings, coach.since)) or coach.string
        case Asking() | Finished():
            return coach.string
    return task.string


def _decided(coach: Coach, event: Heard, outcome: Outcome, settings: Settings) -> Coach:
    """The coach after a verdict; within one sounding it changes its mind only when it surely has to."""
    held = coach.memory.decided
    if held is not None and _stands(held, outcome, coach, settings):
        return _same_answer(coach, event, outcome, settings)
    lesson = replace(outcome.lesson, like_hz=event.frequency_hz, unclear=0, hasty=0)
    return shown(coach, outcome, lesson, event.at, settings, decided=outcome.advice)


def _stands(held: Advice, outcome: Outcome, coach: Coach, settings: Settings) -> bool:
    new = outcome.advice
    if held.say is Say.RIGHT and new.say is not Say.RIGHT:
        known = outcome.lesson.of(coach.string)
        off = 0.0 if known.hz is None else instrument_of(coach).off(known.hz, known.name)
        return abs(off) - SURE * known.error <= settings.tolerance.cents
    if held.turn is not TuningPart.NONE:
        turns_round = new.turn is not TuningPart.NONE and new.direction is not held.direction
        return new.say is not Say.RIGHT and not turns_round
    if (held.turn, held.string, held.direction) != (new.turn, new.string, new.direction):
        return False
    return held.say is new.say


def _same_answer(coach: Coach, event: Heard, outcome: Outcome, settings: Settings) -> Coach:
    """What was said stands; what is known, and the number, are as the better reading has them."""
    lesson, pending = outcome.lesson, coach.memory.lesson.pending
    held = coach.memory.decided
    if held is not None and (outcome.advice.say, outcome.advice.turn) != (held.say, held.turn):
        lesson = coach.memory.lesson
    elif lesson.pending is not None and pending is not None:
        lesson = replace(lesson, pending=replace(lesson.pending, degrees=pending.degrees, at=pending.at))
    lesson = replace(lesson, like_hz=event.frequency_hz, unclear=0, hasty=0)
    coach = replace(coach, memory=replace(coach.memory, lesson=lesson))
    shows = outcome.shows if coach.cents is None else coach.string
    number, error = _number(lesson, shows, instrument_of(coach))
    old, old_error = coach.cents, coach.std_error_cents
    moves = (
        old is None
        or number is None
        or abs(number - old) > DANCES
        or (error or 0.0) < 0.5 * (old_error or 0.0)
    )
    if moves and coach.phase in {Phase.GUIDING, Phase.RIGHT}:
        coach = replace(coach, cents=number, std_error_cents=error)
    return replace(coach, strings=states(lesson, now_of(coach, settings, event.at)))


def shown(  # noqa: PLR0913 - everything that a new picture is made of
    coach: Coach,
    outcome: Outcome,
    lesson: Lesson,
    at: Seconds,
    settings: Settings,
    *,
    decided: Advice | None = None,
) -> Coach:
    """The coach showing something new."""
    number, error = _number(lesson, outcome.shows, instrument_of(coach))
    string = outcome.string or coach.string
    moved = string != coach.string or outcome.phase is Phase.WAITING
    memory = replace(
        coach.memory,
        lesson=lesson,
        decided=decided,
        asked_at=at if moved and decided is None else coach.memory.asked_at,
    )
    return replace(
        coach,
        phase=outcome.phase,
        string=string,
        since=at,
        strings=states(lesson, now_of(coach, settings, at)),
        cents=number,
        std_error_cents=error,
        advice=outcome.advice,
        memory=memory,
    )


def _number(lesson: Lesson, name: str | None, strung_: Strung) -> tuple[Cents | None, Cents | None]:
    known = lesson.of(name) if name else None
    if known is None or known.hz is None:
        return None, None
    return strung_.off(known.hz, known.name), known.error


def states(lesson: Lesson, now: Context) -> tuple[StringState, ...]:
    """How each string stands, for the strip along the bottom."""
    return tuple(_state(known, now) for known in lesson.known)


def _state(known: Known, now: Context) -> StringState:
    mark = Mark.TO_DO
    if known.left or known.struck:
        mark = Mark.GROWN_UP
    elif now.right(known):
        mark = Mark.RIGHT
    elif known.was_right:
        mark = Mark.DRIFTED
    target = now.strung.of(known.name).target_hz
    first = None if known.first_hz is None else cents(known.first_hz, target)
    return StringState(known.name, mark, first, None if known.hz is None else now.off(known))


def _go_on(coach: Coach, lesson: Lesson, event: LessonEvent, settings: Settings) -> Coach:
    """Whatever comes next, with no sounding behind it."""
    coach = replace(coach, memory=replace(coach.memory, pluck=None, before=lesson, lesson=lesson))
    now = now_of(coach, settings, event.at)
    outcome = next_step(lesson, now, coach.string)
    return shown(coach, outcome, outcome.lesson, event.at, settings)


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
    following = open_[(open_.index(coach.string) + 1) % len(open_)] if coach.string in open_ else open_[0]
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
    if coach.phase is Phase.LISTENING and event.at - coach.since >= NOTHING_FOLLOWS_AFTER:
        return _unclear(coach, event)
    gone = event.at - max(sounded, coach.since) >= PUPIL_GONE_AFTER
    return begun(settings, event.at) if gone else coach


def _unclear(coach: Coach, event: LessonEvent) -> Coach:
    """Plucked, and no pitch that counts; three times in a row get a picture of their own."""
    lesson = replace(coach.memory.lesson, unclear=coach.memory.lesson.unclear + 1, pending=None)
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
        coach = _go_on(coach, coach.memory.lesson, event, settings)
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
    return listen(_go_on(coach, lesson, event, settings), event, settings)


def begin_after_end(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new pupil when the end picture was seen."""
    return begun(settings, event.at) if event.at - coach.since >= END_SHOWN_FOR else coach


def teacher(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A grown-up is at the pegs of what was left, or of the string asked for; a silent one is struck off."""
    lesson = coach.memory.lesson
    until = Seconds(event.at + TEACHER_STAYS_FOR)
    if isinstance(lesson.task, Surveying):
        if lesson.unclear < THREE:
            return replace(
                coach,
                memory=replace(
                    coach.memory, lesson=replace(lesson, teacher=lesson.live, teacher_until=until)
                ),
            )
        lesson = renewed(replace(lesson, unclear=0), coach.string, struck=True)
        return _go_on(coach, lesson, event, settings)
    waiting = tuple(k.name for k in lesson.known if k.left and not k.struck)
    if isinstance(lesson.task, Finished) and not waiting:
        return coach
    names = waiting or (coach.string,)
    first = lesson.last_left or (coach.string if coach.string in names else names[0])
    lesson = lesson.knowing(*(replace(lesson.of(n), left=False, plucks=0, tries=0, skipped=0) for n in names))
    lesson = replace(lesson, teacher=names, teacher_until=until, task=Tuning(first), pending=None)
    outcome = work_on(lesson, now_of(coach, settings, event.at), first)
    coach = replace(coach, memory=replace(coach.memory, pluck=None, before=outcome.lesson))
    return shown(coach, outcome, outcome.lesson, event.at, settings)
