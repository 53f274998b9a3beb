"""Following the player from string to string, when the order is "whichever is plucked".

Neighbours pluck too, so a string is followed only on two like plucks near its place, as loud as ours,
and an advice that is open holds its string for a while.
"""

from dataclasses import replace

from device.coach.case import ALIKE, MOST_DOUBT
from device.coach.memory import Lesson
from device.coach.once import targets_of
from device.coach.rounds import asked_for
from device.config.settings import Order, Settings
from device.events import Heard
from device.lesson.state import Coach
from dsp import Cents, Seconds, cents

FOLLOWS_WITHIN = Cents(100.0)
LEVEL_WITHIN = 10.0  # dB below the pluck before: quieter ones are a neighbour's
HOLDS_FOR = Seconds(10.0)  # an open advice


def followed(coach: Coach, event: Heard, settings: Settings) -> Coach:
    """The coach asking for the string that is being plucked."""
    if settings.order is not Order.WHICHEVER_IS_PLUCKED:
        return coach
    open_turn = coach.memory.before.turned
    if open_turn is not None and event.at - open_turn.at < HOLDS_FOR:
        return coach
    targets = targets_of(settings)
    near = min(targets, key=lambda name: abs(cents(event.frequency_hz, targets[name])))
    before = coach.memory.before
    if near == coach.string or not _ours(before, event):
        return coach
    if abs(cents(event.frequency_hz, targets[near])) > FOLLOWS_WITHIN:
        return coach
    now = asked_for(coach, near, before, event.at)
    lesson = replace(now.memory.lesson, like_hz=before.like_hz, like_level=before.like_level)
    memory = replace(coach.memory, asked_at=event.at, lesson=lesson, before=lesson)
    return replace(now, memory=memory)


def _ours(before: Lesson, event: Heard) -> bool:
    """Whether this is the second of two like plucks, as loud as the first."""
    if before.like_hz is None or before.like_level is None or event.octave_doubt > MOST_DOUBT:
        return False
    like = abs(cents(event.frequency_hz, before.like_hz)) <= ALIKE
    return like and event.level_dbfs >= before.like_level - LEVEL_WITHIN
