"""What the buttons mean at each moment: for the lesson, for the settings, for the reference tone.

| at home | pressed | held |
|---|---|---|
| next | the next string; by ear first: show the reading | a new pupil: start over |
| previous | the string before | another order |
| third | the reference tone, or silence | the settings |
| next and previous | - | the teacher is here |

A press on a dark panel only wakes it, and a press while a tone sounds also ends it. Pure: the loop
compares `settings` and `sound` before and after, and does what changed.
"""

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

from device import menu as pages
from device.by_ear import hidden, tells
from device.coach.state import Coach
from device.events import (
    Button,
    ChordHeld,
    Held,
    LessonEvent,
    NextString,
    Plucked,
    Press,
    Pressed,
    PreviousString,
    StartOver,
    TeacherHere,
)
from device.menu import Menu, Rules
from device.scene import Fault, Scene, scene_of
from device.settings import Order, Settings
from device.sounds import Sound, sound_for
from dsp import Seconds

DEAF_AFTER_S = Seconds(0.3)  # after a tone: a small room has died away; the design's figure

_ORDERS = (Order.HIGH_TO_LOW, Order.A_FIRST, Order.LOW_TO_HIGH)  # the fourth is a teacher's to choose
_OF_THE_LESSON = (
    *("instrument", "size", "retuned", "reference_hz", "temperament", "tolerance"),
    *("fine_tuners", "pegs", "left_handed", "string_set"),
)
"""Keys after whose change nothing that was heard before may count."""


@dataclass(frozen=True, slots=True)
class Hands:
    """What the buttons have brought about."""

    settings: Settings
    active_at: Seconds  # the last press, or the last pluck that was followed
    menu: Menu | None = None
    sound: Sound | None = None
    revealed: bool = False  # by ear first: the player has decided


def pressed(hands: Hands, press: Press, coach: Coach, rules: Rules) -> tuple[Hands, tuple[LessonEvent, ...]]:
    """What a press brings about, and what it means for the lesson."""
    awake = replace(hands, active_at=press.at, sound=None)
    if resting(hands, press.at):
        return awake, ()
    if hands.menu is not None:
        menu, settings = pages.pressed(hands.menu, press, hands.settings, rules)
        return _with(replace(awake, menu=menu), settings, press.at)
    if isinstance(press, Pressed) and press.button is Button.TONE:
        sound = sound_for(hands.settings, coach.string, press.at) if hands.sound is None else None
        return replace(awake, sound=sound), ()
    return _at_home(awake, press, coach)


def noticed(hands: Hands, events: Iterable[LessonEvent]) -> Hands:
    """A pluck that is followed wakes the panel, and hides what was revealed of the one before."""
    plucks = [event.at for event in events if isinstance(event, Plucked)]
    return replace(hands, active_at=plucks[-1], revealed=False) if plucks else hands


def passed(hands: Hands, at: Seconds) -> Hands:
    """Time passed: settings left alone close, and a tone ends."""
    if hands.menu is not None and pages.left_alone(hands.menu, at):
        hands = replace(hands, menu=None)
    if hands.sound is not None and at >= hands.sound.ends:
        hands = replace(hands, sound=None)
    return hands


def resting(hands: Hands, at: Seconds) -> bool:
    """Whether the panel is dark: it wears where it is lit."""
    return at - hands.active_at >= 60.0 * hands.settings.rest_minutes


def for_the_coach(hands: Hands) -> Settings:
    """The settings of the lesson: while the reading is hidden, it does not move on by itself."""
    return replace(hands.settings, move_on=False) if _hides(hands) else hands.settings


def shown(  # noqa: PLR0913 - two of them by keyword, with defaults
    hands: Hands,
    coach: Coach,
    rules: Rules,
    at: Seconds,
    *,
    fault: Fault | None = None,
    unfollowed: bool = False,
) -> Scene:
    """What deserves the panel."""
    hides = _hides(hands)
    return scene_of(
        hands.settings,
        hidden(coach) if hides else coach,
        fault=fault,
        menu=None if hands.menu is None else pages.view(hands.menu, hands.settings, rules),
        resting=resting(hands, at),
        sounding=None if hands.sound is None else hands.sound.name,
        by_ear=hides and tells(coach),
        unfollowed=unfollowed,
        unusual=unusual(hands.settings, rules.from_file),
    )


def unusual(settings: Settings, from_file: Settings) -> frozenset[str]:
    """Names of the settings that are not as in the file."""
    names = (field.name for field in fields(Settings))
    return frozenset(name for name in names if getattr(settings, name) != getattr(from_file, name))


def _at_home(awake: Hands, press: Press, coach: Coach) -> tuple[Hands, tuple[LessonEvent, ...]]:
    """Any press but that of the tone, with no settings open."""
    match press:
        case Held(at, Button.TONE):
            return replace(awake, menu=pages.opened(awake.settings, at)), ()
        case Held(at, Button.PREVIOUS):
            return _another_order(awake, at)
        case Pressed(_, Button.NEXT) if _hides(awake) and tells(coach):
            return replace(awake, revealed=True), ()
    return replace(awake, revealed=False), (_lesson_event(press),)


def _hides(hands: Hands) -> bool:
    return hands.settings.by_ear and not hands.revealed


def _with(hands: Hands, settings: Settings, at: Seconds) -> tuple[Hands, tuple[LessonEvent, ...]]:
    """Other settings; the lesson starts over when what was heard no longer counts."""
    anew = not unusual(settings, hands.settings).isdisjoint(_OF_THE_LESSON)
    return replace(hands, settings=settings), (StartOver(at),) if anew else ()


def _another_order(hands: Hands, at: Seconds) -> tuple[Hands, tuple[LessonEvent, ...]]:
    """The next order, and its page for a moment, so that one sees what was changed."""
    settings = hands.settings
    if not settings.locked:
        place = _ORDERS.index(settings.order) if settings.order in _ORDERS else -1
        settings = replace(settings, order=_ORDERS[(place + 1) % len(_ORDERS)])
    notice = pages.opened(settings, at, "order", notice=True)
    return replace(hands, settings=settings, menu=notice), ()


def _lesson_event(press: Press) -> LessonEvent:
    match press:
        case ChordHeld(at):
            return TeacherHere(at)
        case Held(at):
            return StartOver(at)
        case Pressed(at, Button.NEXT):
            return NextString(at)
    return PreviousString(press.at)
