"""The actions of the transition table, one small function each."""

from dataclasses import replace

from device.coach.once import targets_of
from device.coach.rounds import asked_for, begun, next_string, previous_string, with_teacher
from device.coach.steps import counts, judged, sounding
from device.coach.tuned import in_tune
from device.config.settings import Settings
from device.events import Heard, LessonEvent, Plucked
from device.lesson.state import Advice, Coach, Phase, Say
from dsp import Cents, Seconds, cents

SHOW_RIGHT_FOR = Seconds(1.5)  # long enough to be seen before the next string is asked for
SHOW_RIGHT_LEAST = Seconds(0.5)  # a pluck sooner than this is still of the same string
SHOW_LEFT_FOR = Seconds(1.8)  # long enough to be read
NOTHING_FOLLOWS_AFTER = Seconds(3.0)  # a pluck without a pitch
PUPIL_GONE_AFTER = Seconds(60.0)  # without a pluck
END_SHOWN_FOR = Seconds(20.0)
TEACHER_STAYS_FOR = Seconds(300.0)


def stay(coach: Coach, _event: LessonEvent, _settings: Settings) -> Coach:
    """Nothing changes."""
    return coach


def listen(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    """A new sounding."""
    if not isinstance(event, Plucked):
        return coach
    coach = sounding(coach, event.pluck, event.at)
    return replace(coach, phase=Phase.LISTENING, since=event.at, cents=None, std_error_cents=None)


def keep_and_listen(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    """A new sounding; the advice stays until there is a better one."""
    return sounding(coach, event.pluck, event.at) if isinstance(event, Plucked) else coach


def judge(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A reading becomes advice, if it counts."""
    if not isinstance(event, Heard) or not counts(coach, event):
        return coach
    return judged(coach, event, settings)


def judge_if_off(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """Right stays right while its sounding wobbles inside what is unsure."""
    if not isinstance(event, Heard) or not counts(coach, event):
        return coach
    off = cents(event.frequency_hz, targets_of(settings)[coach.string])
    surely_off = abs(off) - 2.0 * event.std_error_cents > settings.tolerance.cents
    same_sounding = event.pluck == coach.memory.pluck
    if same_sounding and not surely_off:
        if not in_tune(off, event.std_error_cents, settings):
            return coach
        return replace(coach, cents=Cents(off), std_error_cents=event.std_error_cents)
    return judged(coach, event, settings)


def ask_next(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The button: go on, whatever the string does. It also answers the question of the reference."""
    lesson = replace(coach.memory.lesson, reference_asked=_asked_reference(coach))
    coach = replace(coach, memory=replace(coach.memory, lesson=lesson))
    return next_string(coach, settings, event.at)


def _asked_reference(coach: Coach) -> bool:
    asking = coach.advice.warning is not None and coach.advice.warning.value == "another-reference"
    return coach.memory.lesson.reference_asked or asking


def ask_previous(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The button: the string before."""
    return previous_string(coach, settings, event.at)


def ask_again(coach: Coach, event: LessonEvent, _settings: Settings) -> Coach:
    """The last string once more."""
    return asked_for(coach, coach.string, coach.memory.lesson, event.at)


def begin(_coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new pupil: nothing is kept."""
    return begun(settings, event.at)


def begin_if_gone(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new pupil when nobody plucked for long."""
    sounded_at = coach.memory.sounded_at
    last = coach.since if sounded_at is None else sounded_at
    return begun(settings, event.at) if event.at - last >= PUPIL_GONE_AFTER else coach


def begin_after_end(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new pupil when the end picture was seen."""
    return begun(settings, event.at) if event.at - coach.since >= END_SHOWN_FOR else coach


def stop_listening(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """What was plucked had no pitch."""
    if event.at - coach.since < NOTHING_FOLLOWS_AFTER:
        return coach
    waiting = replace(coach, phase=Phase.WAITING, since=event.at, advice=Advice(string=coach.string))
    return begin_if_gone(waiting, event, settings)


def leave_it(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A string left for a grown-up was shown long enough."""
    seen = event.at - coach.since >= SHOW_LEFT_FOR
    if settings.move_on and coach.advice.say is Say.GROWN_UP and seen:
        return next_string(coach, settings, event.at)
    return begin_if_gone(coach, event, settings)


def move_on(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The next string by itself: hands are full."""
    if settings.move_on and event.at - coach.since >= SHOW_RIGHT_FOR:
        return next_string(coach, settings, event.at)
    return begin_if_gone(coach, event, settings)


def go_on_and_listen(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A pluck while right is shown is of the next string already, if it goes on by itself."""
    if settings.move_on and event.at - coach.since >= SHOW_RIGHT_LEAST:
        coach = next_string(coach, settings, event.at)
        return coach if coach.phase is Phase.FINISHED else listen(coach, event, settings)
    return keep_and_listen(coach, event, settings)


def lift_bar(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The teacher's chord."""
    return with_teacher(coach, settings, event.at, Seconds(event.at + TEACHER_STAYS_FOR))
