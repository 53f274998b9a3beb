"""The lesson under the safety monitor: what the box runs, and what everything else calls.

The monitor hears each reading itself, from what the picture asked for when the sounding began; then the
lesson answers; then the monitor lets the answer through, or puts another picture in its place. It begins
anew with each new pupil, which is the most careful thing it can do.
"""

from device.config.settings import Order, Settings
from device.events import Heard, LessonEvent, TeacherHere
from device.instrument.frozen import replace
from device.lesson.judging import begun
from device.lesson.memory import Surveying, Task, TellingApart
from device.lesson.showing import instrument_of
from device.lesson.state import Coach, Phase
from device.lesson.table import advance_lesson
from device.safety.monitor import passed
from device.safety.string_bounds import Watch, after_hearing, vouched, watching
from dsp import Seconds


def start(settings: Settings, at: Seconds) -> Coach:
    """A lesson at its beginning: the first string of the order is asked for."""
    coach = begun(settings, at)
    return replace(coach, watch=watching(instrument_of(coach).names))


def advance(coach: Coach, event: LessonEvent, settings: Settings) -> Coach:
    """The lesson after `event`, as it may be shown. Pure; never raises."""
    if coach.memory.strung is None:
        coach = start(settings, event.at)
    watch = coach.watch
    if isinstance(event, TeacherHere):
        watch = vouched(watch, event.at)
    if isinstance(event, Heard):
        follows = settings.order is Order.WHICHEVER_IS_PLUCKED and not _calls_all(coach.memory.lesson.task)
        asked = None if follows else coach.advice.string or coach.string
        watch = after_hearing(watch, instrument_of(coach), event, asked)
    heard = coach if watch is coach.watch else replace(coach, watch=watch)
    after = advance_lesson(heard, event, settings)
    if after.memory.began != coach.memory.began or after.memory.strung is not coach.memory.strung:
        watch = watching(instrument_of(after).names)
    watch = _over(watch, after)
    if after.phase is Phase.FINISHED:  # the end asks for no turn, and nothing hides it
        return after if watch is after.watch else replace(after, watch=watch)
    advice, watch = passed(watch, instrument_of(after), after.advice)
    if advice == after.advice:
        return after if watch is after.watch else replace(after, watch=watch)
    return replace(after, phase=Phase.GUIDING, advice=advice, watch=watch)


def _over(watch: Watch, coach: Coach) -> Watch:
    """The watch over the strings on the instrument: a struck one that was heard before may still be there."""
    live = coach.memory.lesson.live
    kept = [n for n in instrument_of(coach).names if n in live or watch.of(n).high_hz is not None]
    if [bound.name for bound in watch.bounds] == kept:
        return watch
    return replace(watch, bounds=tuple(watch.of(name) for name in kept))


def _calls_all(task: Task) -> bool:
    """Whether strings are called one by one from the lowest up, in whatever order they are tuned."""
    return isinstance(task, TellingApart) or (isinstance(task, Surveying) and task.strict)
