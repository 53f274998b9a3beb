"""Decides what each press does: to the lesson, to the settings, to the reference tone.

| at home | pressed | held | pressed, by ear first, once the string was heard |
|---|---|---|---|
| previous, on the left | the string before | another instrument | "it was flat" |
| third, in the middle | the reference tone, or silence | the settings | "it was right" |
| next, on the right | the next string | a new pupil: start over | "it was sharp" |
| next and previous | - | the teacher is here | - |

A press on a dark panel only wakes it, and a press while a tone sounds also ends it. This is pure: the loop
compares `settings` and `sound` before and after, and carries out what changed.
"""

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

from device.config.settings import Settings
from device.controls import menu
from device.controls.menu import FIRST, Menu, Rules
from device.controls.reference_tone import ReferenceTone, reference_tone
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
from device.lesson.state import Coach
from device.panel.scene import (
    Fault,
    Guess,
    Judged,
    Scene,
    gives_reading_away,
    judged_guess,
    scene_of,
    with_reading_hidden,
)
from device.practice.running import Running
from dsp import Seconds

JUDGED_S = Seconds(2.0)  # chosen: how long the panel says whether the player's guess was so
_GUESSES = {Button.PREVIOUS: Guess.FLAT, Button.TONE: Guess.RIGHT, Button.NEXT: Guess.SHARP}
_OF_THE_LESSON = (
    *("instrument", "size", "retuned", "reference_hz", "temperament", "tolerance"),
    *("fine_tuners", "pegs", "left_handed", "string_set", "cores"),
)
"""Keys after whose change nothing that was heard before may count."""


@dataclass(frozen=True, slots=True)
class ControlState:
    """What the buttons have set so far."""

    settings: Settings
    active_at: Seconds  # the last press, or the last pluck that was followed
    menu: Menu | None = None
    sound: ReferenceTone | None = None
    revealed: bool = False  # by ear first: the player has decided
    judged: Judged | None = None  # what was decided, for as long as the panel says so
    page: str = FIRST  # where the settings open: the page used last


def act_on_press(
    controls: ControlState, press: Press, coach: Coach, rules: Rules
) -> tuple[ControlState, tuple[LessonEvent, ...]]:
    """What a press brings about, and what it means for the lesson."""
    woken = replace(controls, active_at=press.at, sound=None)
    if resting(controls, press.at):
        return woken, ()
    if controls.menu is not None:
        return _in_menu(woken, controls.menu, press, rules)
    if isinstance(press, Pressed) and _hides(controls) and gives_reading_away(coach):
        return replace(woken, revealed=True, judged=judged_guess(_GUESSES[press.button], coach)), ()
    if isinstance(press, Pressed) and press.button is Button.TONE:
        sound = reference_tone(controls.settings, coach.string, press.at) if controls.sound is None else None
        return replace(woken, sound=sound), ()
    return _at_home(woken, press, rules)


def after_plucks(controls: ControlState, events: Iterable[LessonEvent]) -> ControlState:
    """Wake the panel for a pluck that is followed, and hide what was revealed of the pluck before."""
    plucks = [event.at for event in events if isinstance(event, Plucked)]
    return replace(controls, active_at=plucks[-1], revealed=False, judged=None) if plucks else controls


def after_time(controls: ControlState, at: Seconds) -> ControlState:
    """Close settings that nobody touched for a while, and end a tone whose time is over."""
    if controls.menu is not None and menu.is_left_alone(controls.menu, at):
        controls = replace(controls, menu=None)
    if controls.judged is not None and at - controls.active_at >= JUDGED_S:
        controls = replace(controls, judged=None)
    if controls.sound is not None and at >= controls.sound.ends:
        controls = replace(controls, sound=None)
    return controls


def resting(controls: ControlState, at: Seconds) -> bool:
    """Whether the panel is dark because nobody played for long; it wears where it is lit."""
    return at - controls.active_at >= 60.0 * controls.settings.rest_minutes


def lesson_settings(controls: ControlState) -> Settings:
    """The settings for the lesson, which does not move on by itself while the reading is hidden."""
    return replace(controls.settings, move_on=False) if _hides(controls) else controls.settings


def build_scene(  # noqa: PLR0913 - two of them by keyword, with defaults
    controls: ControlState,
    coach: Coach,
    rules: Rules,
    at: Seconds,
    *,
    fault: Fault | None = None,
    unfollowed: bool = False,
    practice: Running | None = None,
) -> Scene:
    """Choose what the panel shows."""
    hides = _hides(controls)
    return scene_of(
        controls.settings,
        with_reading_hidden(coach) if hides else coach,
        fault=fault,
        menu=None if controls.menu is None else menu.menu_view(controls.menu, controls.settings, rules),
        resting=resting(controls, at),
        sounding=None if controls.sound is None else controls.sound.name,
        by_ear=hides and gives_reading_away(coach),
        judged=controls.judged,
        unfollowed=unfollowed,
        unusual=differing(controls.settings, rules.from_file),
        practice=practice,
    )


_NAMES = tuple(field.name for field in fields(Settings))


def differing(settings: Settings, from_file: Settings) -> frozenset[str]:
    """Names of the settings that are not as in the file."""
    if settings is from_file:
        return frozenset()
    return frozenset(name for name in _NAMES if getattr(settings, name) != getattr(from_file, name))


def _in_menu(
    woken: ControlState, opened: Menu, press: Press, rules: Rules
) -> tuple[ControlState, tuple[LessonEvent, ...]]:
    """A press on a page; a page whose value was changed is where the settings open next time."""
    page, settings = menu.act_in_menu(opened, press, woken.settings, rules)
    used = opened.page if settings != woken.settings else woken.page
    return _with(replace(woken, menu=page, page=used), settings, press.at)


def _at_home(woken: ControlState, press: Press, rules: Rules) -> tuple[ControlState, tuple[LessonEvent, ...]]:
    """Any press but that of the tone, with no settings open."""
    match press:
        case Held(at, Button.TONE):
            return replace(woken, menu=menu.open_menu(woken.settings, at, woken.page)), ()
        case Held(at, Button.PREVIOUS):
            return _another_instrument(woken, at, rules)
    return replace(woken, revealed=False, judged=None), (_lesson_event(press),)


def _hides(controls: ControlState) -> bool:
    return controls.settings.by_ear and not controls.revealed


def _with(
    controls: ControlState, settings: Settings, at: Seconds
) -> tuple[ControlState, tuple[LessonEvent, ...]]:
    """Take other settings; the lesson starts over when what was heard no longer counts."""
    anew = not differing(settings, controls.settings).isdisjoint(_OF_THE_LESSON)
    return replace(controls, settings=settings), (StartOver(at),) if anew else ()


def _another_instrument(
    woken: ControlState, at: Seconds, rules: Rules
) -> tuple[ControlState, tuple[LessonEvent, ...]]:
    """The next instrument in one gesture, for a row of mixed pupils, and its page for a moment.

    While the page stands there, next and previous go on from instrument to instrument.
    """
    notice = replace(menu.open_menu(woken.settings, at, FIRST, notice=True), changing=True)
    if notice.shut:
        return replace(woken, menu=notice), ()
    settings = menu.act_in_menu(notice, Pressed(at, Button.NEXT), woken.settings, rules)[1]
    return _with(replace(woken, menu=notice), settings, at)


def _lesson_event(press: Press) -> LessonEvent:
    match press:
        case ChordHeld(at):
            return TeacherHere(at)
        case Held(at):
            return StartOver(at)
        case Pressed(at, Button.NEXT):
            return NextString(at)
    return PreviousString(press.at)
