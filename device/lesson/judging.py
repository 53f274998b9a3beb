"""From a sounding and its readings to what is shown; and how a lesson is begun."""

import math

from device.config.settings import Settings
from device.events import Heard, LessonEvent, Plucked
from device.instrument.frozen import replace
from device.instrument.roll_call import PLACE_ABOVE, PLACE_BELOW
from device.instrument.strung import strung
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.evidence import HASTY, LATE, STILL, SURE, Outcome, PluckEvidence, renewed
from device.lesson.memory import (
    Asking,
    Finished,
    HearingOthers,
    Known,
    Lesson,
    Memory,
    Surveying,
    TellingApart,
)
from device.lesson.one_sounding import counts, noted
from device.lesson.plan import MOST_PASSED, finished, given_up, order_of, spent, to_survey
from device.lesson.showing import instrument_of, now_of, number_of, shown, states
from device.lesson.state import Coach, Phase, StringState
from device.lesson.verdict import verdict
from device.safety.string_bounds import MOST_DOUBT
from dsp import Cents, Seconds

ONCE_MORE = {Say.PLUCK_AGAIN, Say.OTHER_STRING}
MOST_AGAIN = 7  # such answers in a row, then the string is left
THREE = 3  # soundings in a row before they get a picture of their own
DANCES = Cents(0.75)  # a number moved by less within one sounding teaches nothing
ENDED_AFTER = Seconds(0.3)  # without a reading; the tracker gives several in that time


def begun(settings: Settings, at: Seconds) -> Coach:
    """A new lesson: nothing of the last one is kept."""
    names = tuple(string.name for string in settings.strings)
    lesson = Lesson(known=tuple(Known(name) for name in names))
    memory = Memory(strung(settings), at, lesson, lesson, asked_at=at)
    first = order_of(settings)[0]
    strings = tuple(StringState(name) for name in names)
    return Coach(Phase.WAITING, first, at, strings, advice=Advice(string=first), memory=memory)


def stay(coach: Coach, _event: LessonEvent, _settings: Settings) -> Coach:
    """Nothing changes."""
    return coach


def listen(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A new sounding: the arrow comes down until there is something sure to say, or the lesson is over."""
    if not isinstance(event, Plucked) or event.pluck == coach.memory.pluck:
        return coach
    coach = _sounding(coach, event.pluck, event.at)
    lesson, asked = coach.memory.lesson, coach.advice.string or coach.string
    if lesson.hasty >= THREE and spent(lesson):
        outcome = finished(lesson, now_of(coach, settings, event.at))
    elif lesson.hasty < THREE and lesson.of(asked).passed > 2 * MOST_PASSED:  # dead, plucked without a pause
        outcome = given_up(lesson, now_of(coach, settings, event.at), asked)
    else:
        return coach
    return shown(coach, outcome, outcome.lesson, event.at, settings)


def _sounding(coach: Coach, pluck: int, at: Seconds) -> Coach:
    memory = coach.memory
    gap = None if memory.sounded_at is None else Seconds(at - memory.sounded_at)
    undecided = memory.decided is None and memory.pluck is not None
    hasty = memory.lesson.hasty + 1 if gap is not None and gap < HASTY and undecided else 0
    lesson = memory.lesson
    too_soon = lesson.too_soon + (hasty > 0)
    lesson = replace(lesson, plucks=lesson.plucks + 1, hasty=hasty, too_soon=too_soon, last_left=None)
    asked = coach.advice.string or coach.string
    lesson = renewed(lesson, asked, passed=lesson.of(asked).passed + 1)
    memory = replace(
        memory,
        pluck=pluck,
        sounded_at=at,
        gap_s=gap,
        reading=None,
        wavered=False,
        decided=None,
        lesson=lesson,
        before=lesson,
    )
    say, phase = (Say.TOO_FAST, Phase.WAITING) if hasty >= THREE else (Say.PLUCK, Phase.LISTENING)
    advice = Advice(say, string=asked)
    return replace(
        coach, phase=phase, since=at, cents=None, std_error_cents=None, advice=advice, memory=memory
    )


def judge(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """A reading becomes advice, if it counts and is sure enough for what hangs on it."""
    if not isinstance(event, Heard) or not counts(coach.memory, event):
        return coach
    if event.pluck != coach.memory.pluck:
        coach = _sounding(coach, event.pluck, Seconds(event.at - event.since_pluck_s))
    coach = replace(coach, memory=noted(coach.memory, event))
    said = coach.memory.decided is not None
    if coach.phase is Phase.RIGHT and abs(event.drift_cents_per_s) > STILL:
        return _not_sure_yet(coach, event, settings)
    if _as_well_known(coach, event) or (said and coach.memory.wavered):
        return coach
    coach = _noticed(coach, event)
    outcome = verdict(_evidence(coach, event, settings))
    return coach if outcome is None else _decided(coach, event, outcome, settings)


def _not_sure_yet(coach: Coach, event: Heard, settings: Settings) -> Coach:
    """What sounds right and then moves keeps its picture, but is heard again before it counts."""
    lesson = renewed(coach.memory.lesson, coach.string, doubted=True)
    coach = replace(coach, memory=replace(coach.memory, lesson=lesson))
    return replace(coach, strings=states(lesson, now_of(coach, settings, event.at)))


def judge_ended(coach: Coach, at: Seconds, settings: Settings) -> Coach:
    """The last reading of a sounding of which no more is heard, as the best that there is of it."""
    event, decided = coach.memory.reading, coach.memory.decided
    if event is None or decided is not None or at - event.at < ENDED_AFTER:
        return coach
    coach = replace(coach, memory=replace(coach.memory, reading=None))
    outcome = verdict(replace(_evidence(coach, event, settings), ended=True))
    return coach if outcome is None else _decided(coach, event, outcome, settings)


def _as_well_known(coach: Coach, event: Heard) -> bool:
    """Whether a late reading only says again what was answered already."""
    answered = coach.memory.decided is not None and coach.cents is not None
    if not answered or event.since_pluck_s < LATE or event.octave_doubt > MOST_DOUBT:
        return False
    differs = abs(instrument_of(coach).off(event.frequency_hz, coach.string) - (coach.cents or 0.0))
    error, known = event.std_error_cents, coach.std_error_cents or 0.0
    if error > known > 0.0 and differs <= SURE * math.hypot(error, known):
        return True  # it is less sure, as a string that dies away is, and does not contradict
    return 2.0 * error >= known and differs <= DANCES


def _noticed(coach: Coach, event: Heard) -> Coach:
    """A string is there whose place something sounds in, even if it was struck off; then all is surveyed."""
    instrument, memory = instrument_of(coach), coach.memory
    near = instrument.nearest(event.frequency_hz)
    in_place = PLACE_BELOW <= instrument.off(event.frequency_hz, near) <= PLACE_ABOVE
    if not in_place or event.octave_doubt > MOST_DOUBT or near in memory.lesson.placed:
        return coach

    def there(lesson: Lesson) -> Lesson:
        was_struck = lesson.of(near).struck
        lesson = replace(lesson, placed=lesson.placed | {near})
        if was_struck:
            lesson = replace(renewed(lesson, near, struck=False, hz=None), task=Surveying(), pending=None)
        return lesson

    return replace(coach, memory=replace(memory, lesson=there(memory.lesson), before=there(memory.before)))


def _evidence(coach: Coach, event: Heard, settings: Settings) -> PluckEvidence:
    memory = coach.memory
    asked = _asked(memory.before, coach, settings)
    ev = PluckEvidence(
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
        memory.wavered,
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
    if spent(outcome.lesson) and outcome.phase is not Phase.FINISHED:
        outcome = finished(outcome.lesson, now_of(coach, settings, event.at))
    again = coach.memory.before.again + 1 if outcome.advice.say in ONCE_MORE else 0
    asked = outcome.advice.string or outcome.string
    missing = outcome.phase is not Phase.RIGHT and outcome.lesson.of(asked).passed > MOST_PASSED
    if (again > MOST_AGAIN or missing) and outcome.phase is not Phase.FINISHED:
        outcome = given_up(outcome.lesson, now_of(coach, settings, event.at), asked)
        again = 0
    lesson = replace(outcome.lesson, like_hz=event.frequency_hz, unclear=0, hasty=0, again=again)
    return shown(coach, outcome, lesson, event.at, settings, decided=outcome.advice)


def _stands(held: Advice, outcome: Outcome, coach: Coach, settings: Settings) -> bool:
    new = outcome.advice
    if held.say is Say.RIGHT and new.say is not Say.RIGHT:
        known = outcome.lesson.of(coach.string)
        off = 0.0 if known.hz is None else instrument_of(coach).off(known.hz, known.name)
        return abs(off) - SURE * known.error <= settings.tolerance.cents
    if held.say is Say.CHECK_BRIDGE:
        return True
    if held.turn is not TuningPart.NONE:
        turns_round = new.turn is not TuningPart.NONE and new.direction is not held.direction
        return new.say is not Say.RIGHT and not turns_round
    if (held.turn, held.string, held.direction) != (new.turn, new.string, new.direction):
        return False
    return held.say is new.say


def _refined(memory: Memory, better: Lesson) -> Lesson:
    """The lesson as it was answered, with the pitch of what sounds as the better reading has it."""
    heard = [k for k in better.known if k.plucks > memory.before.of(k.name).plucks]
    lesson = memory.lesson.knowing(
        *(replace(memory.lesson.of(k.name), hz=k.hz, error=k.error) for k in heard)
    )
    pending = lesson.pending
    known = next((k for k in heard if pending is not None and k.name == pending.string), None)
    begun_here = pending is not None and pending.from_hz == memory.lesson.of(pending.string).hz
    if pending is None or not begun_here or known is None or known.hz is None:
        return lesson
    return replace(lesson, pending=replace(pending, from_hz=known.hz, error=known.error))


def _same_answer(coach: Coach, event: Heard, outcome: Outcome, settings: Settings) -> Coach:
    """What was said stands; what is known, and the number, are as the better reading has them."""
    lesson, pending = outcome.lesson, coach.memory.lesson.pending
    held = coach.memory.decided
    if held is not None and (outcome.advice.say, outcome.advice.turn) != (held.say, held.turn):
        lesson = _refined(coach.memory, outcome.lesson)
    elif lesson.pending is not None and pending is not None:
        lesson = replace(lesson, pending=replace(lesson.pending, degrees=pending.degrees, at=pending.at))
    again = coach.memory.lesson.again  # counted once a sounding, when it was answered first
    lesson = replace(lesson, like_hz=event.frequency_hz, unclear=0, hasty=0, again=again)
    coach = replace(coach, memory=replace(coach.memory, lesson=lesson))
    shows = outcome.shows if coach.cents is None else coach.string
    number, error = number_of(lesson, shows, instrument_of(coach))
    old, old_error = coach.cents, coach.std_error_cents
    inside = held is None or held.say is not Say.RIGHT or abs(number or 0.0) <= settings.tolerance.cents
    moves = inside and (
        old is None
        or number is None
        or abs(number - old) > DANCES
        or (error or 0.0) < 0.5 * (old_error or 0.0)
    )
    if moves and coach.phase in {Phase.GUIDING, Phase.RIGHT}:
        coach = replace(coach, cents=number, std_error_cents=error)
    return replace(coach, strings=states(lesson, now_of(coach, settings, event.at)))
