"""What each entry of the transition table does: small functions from coach and event to coach."""

import math
from dataclasses import replace

from device.coach.advice import advise
from device.coach.memory import Memory
from device.coach.order import neighbour, order_of
from device.coach.state import Advice, Coach, Mark, Phase, Say, StringState
from device.events import Heard, Plucked
from device.settings import Settings
from dsp import Cents, Seconds, cents

SETTLED_AFTER = Seconds(0.15)  # a plucked string starts sharp; before this no reading counts
STILL_FOR = Seconds(0.3)  # so long the pitch must have stood still to be called right
STILL_WITHIN = 3.0  # cents a second that count as standing still
SHOW_RIGHT_FOR = Seconds(1.5)  # long enough to be seen before the next string is asked for
PUPIL_GONE_AFTER = Seconds(60.0)  # without a pluck
END_SHOWN_FOR = Seconds(20.0)


def begun(settings: Settings, at: Seconds) -> Coach:
    """A new lesson."""
    order = order_of(settings)
    strings = tuple(StringState(string.name) for string in settings.strings)
    return Coach(Phase.WAITING, order[0], at, strings, memory=Memory(sounded_at=at))


def asked(coach: Coach, string: str | None, at: Seconds) -> Coach:
    """Ask for `string`, or end the lesson when there is none left. Nothing heard before counts."""
    memory = replace(coach.memory, void_pluck=coach.memory.last_pluck, steady_since=None)
    if string is None:
        return ended(replace(coach, memory=memory), at)
    return replace(
        coach,
        phase=Phase.WAITING,
        string=string,
        since=at,
        cents=None,
        std_error_cents=None,
        advice=Advice(),
        memory=memory,
    )


def ended(coach: Coach, at: Seconds) -> Coach:
    """The end picture: everything right, or what stays off."""
    right = all(string.mark is Mark.RIGHT for string in coach.strings)
    say = Say.ALL_RIGHT if right else Say.STAYS_OFF
    return replace(
        coach, phase=Phase.FINISHED, since=at, cents=None, std_error_cents=None, advice=Advice(say)
    )


def moved(coach: Coach, step: int, settings: Settings, at: Seconds) -> Coach:
    """Go along the order; before the first string it stays at the first."""
    string = neighbour(coach.string, step, settings)
    return asked(coach, string if string or step > 0 else coach.string, at)


def sounding(coach: Coach, event: Plucked) -> Coach:
    """A new sounding: listen."""
    memory = replace(
        coach.memory, last_pluck=event.pluck, void_pluck=None, steady_since=None, sounded_at=event.at
    )
    return replace(coach, memory=memory)


def counts(coach: Coach, event: Heard) -> bool:
    """Whether a reading may be used at all."""
    numbers = (event.frequency_hz, event.std_error_cents, event.octave_doubt, event.drift_cents_per_s)
    return (
        all(math.isfinite(number) for number in numbers)
        and event.frequency_hz > 0.0
        and event.std_error_cents >= 0.0
        and event.pluck != coach.memory.void_pluck
        and event.since_pluck_s >= SETTLED_AFTER
    )


def steadied(coach: Coach, event: Heard) -> Coach:
    """Remember since when the pitch has stood still."""
    still = abs(event.drift_cents_per_s) < STILL_WITHIN
    since = coach.memory.steady_since if coach.memory.steady_since is not None else event.at
    memory = replace(coach.memory, last_pluck=event.pluck, steady_since=since if still else None)
    return replace(coach, memory=memory)


def judged(coach: Coach, event: Heard, settings: Settings) -> Coach:
    """A reading that counts becomes what is shown and what is said."""
    off = cents(event.frequency_hz, settings.targets[coach.string])
    advice = advise(coach.string, off, event.std_error_cents, event.octave_doubt, settings)
    since = coach.memory.steady_since
    settled = since is not None and event.at - since >= STILL_FOR
    if advice.say is Say.RIGHT and not settled:
        return replace(coach, phase=Phase.LISTENING, cents=off, std_error_cents=event.std_error_cents)
    phase = Phase.RIGHT if advice.say is Say.RIGHT else Phase.GUIDING
    mark = Mark.RIGHT if advice.say is Say.RIGHT else Mark.TO_DO
    strings = tuple(
        _noted(string, off, mark) if string.name == coach.string else string for string in coach.strings
    )
    return replace(
        coach,
        phase=phase,
        since=coach.since if phase is coach.phase else event.at,
        strings=strings,
        cents=off,
        std_error_cents=event.std_error_cents,
        advice=advice,
    )


def _noted(string: StringState, off: Cents, mark: Mark) -> StringState:
    first = string.first_cents if string.first_cents is not None else off
    return replace(string, mark=mark, first_cents=first, last_cents=off)
