"""The lesson under the safety monitor: what the box runs, and what everything else calls.

The monitor hears each reading itself, from what the picture asked for when the sounding began; then the
lesson answers; then the monitor lets the answer through, or puts another picture in its place. It begins
anew with each new pupil, which is the most careful thing it can do.
"""

from dataclasses import replace

from device.config.settings import Order, Settings
from device.events import Heard, LessonEvent
from device.instrument.pitch_bounds import Bound
from device.lesson.judging import begun, instrument_of
from device.lesson.memory import Surveying, Task, TellingApart
from device.lesson.state import Coach, Phase
from device.lesson.table import advance_lesson
from device.safety_monitor import after_hearing, passed, watching
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
    if isinstance(event, Heard):
        follows = settings.order is Order.WHICHEVER_IS_PLUCKED and not _calls_all(coach.memory.lesson.task)
        asked = None if follows else coach.advice.string or coach.string
        watch = after_hearing(watch, instrument_of(coach), event, asked)
    after = advance_lesson(replace(coach, watch=watch), event, settings)
    if after.memory.began != coach.memory.began or after.memory.strung is not coach.memory.strung:
        watch = watching(instrument_of(after).names)
    live = after.memory.lesson.live
    bounds = {bound.name: bound for bound in watch.bounds}
    watch = replace(watch, bounds=tuple(bounds.get(name, Bound(name)) for name in live))
    advice, watch = passed(watch, instrument_of(after), after.advice)
    if advice == after.advice:
        return replace(after, watch=watch)
    return replace(after, phase=Phase.GUIDING, advice=advice, watch=watch)


def _calls_all(task: Task) -> bool:
    """Whether strings are called one by one from the lowest up, in whatever order they are tuned."""
    return isinstance(task, TellingApart) or (isinstance(task, Surveying) and task.strict)
