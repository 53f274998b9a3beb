"""Chooses what the panel shows: warning, fault, menu, lesson or rest, the first that applies.

"By ear first" hides the reading until the player has decided. It hides how far off the string is, and all
from which that could be guessed: a turn, or that the string is right. Warnings, and everything that keeps a
string from harm, are shown as always.
"""

from dataclasses import dataclass, replace
from enum import Enum

from device.config.settings import Settings
from device.instrument.tuning_parts import Direction
from device.lesson.advice import Advice, Say
from device.lesson.state import Coach, Mark, Phase
from device.practice.running import Running

_GIVES_READING_AWAY = frozenset({Say.TURN, Say.TURN_ON, Say.COME_UP, Say.RIGHT, Say.PLUCK_AGAIN})
"""Advice that gives the reading away. What is not listed (other string, wrong peg, slipped peg, a
fine tuner at its end, wait, grown-up, teacher) is about harm or about the wrong string."""


class Fault(Enum):
    """What is broken, as the player sees it."""

    NO_MICROPHONE = "no-microphone"
    TOO_LOUD = "too-loud"  # the microphone clips
    WRONG_SETTINGS = "wrong-settings"  # the settings file has a mistake; the journal says which
    NOT_KEPT = "not-kept"  # settings cannot be written
    NO_SPEAKER = "no-speaker"
    TOO_BUSY = "too-busy"  # sound came faster than it could be worked on, and some was thrown away
    OLDER_VERSION = "older-version"  # a newer version did not start, and the box went back to this one


class Guess(Enum):
    """What a player says of a string by ear, in the order of the buttons."""

    FLAT = "flat"
    RIGHT = "right"
    SHARP = "sharp"


@dataclass(frozen=True, slots=True)
class Judged:
    """A guess, and whether it was so."""

    guess: Guess
    so: bool


@dataclass(frozen=True, slots=True)
class MenuView:
    """One page of the settings, as words."""

    title: str
    value: str
    position: int  # 0 for the first page
    count: int
    hints: tuple[str, str, str]  # what a press does: previous, third, next, as the buttons lie
    key: str = ""  # of the setting, for its sign
    changing: bool = False  # a press changes the value; else it turns the pages
    beside: tuple[str, str] | None = None  # small words above and below the value: which version runs


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything the screen needs to draw one picture."""

    settings: Settings
    coach: Coach
    fault: Fault | None = None
    menu: MenuView | None = None
    resting: bool = False  # a dark panel
    sounding: str | None = None  # the reference tone that is played: "A4", or "D4 A4" for a pure fifth
    by_ear: bool = False  # the reading is hidden (`coach` holds none) until the player has guessed
    judged: Judged | None = None  # what the player guessed by ear just now
    unfollowed: bool = False  # a pluck just now was too soft to be ours: a neighbour's, or too far away
    unusual: frozenset[str] = frozenset()  # settings that are not as in the file: "instrument", ...
    practice: Running | None = None  # what is practised, once the strings are right


def scene_of(  # noqa: PLR0913 - everything that may ask for the panel, by keyword
    settings: Settings,
    coach: Coach,
    *,
    fault: Fault | None = None,
    menu: MenuView | None = None,
    resting: bool = False,
    sounding: str | None = None,
    by_ear: bool = False,
    judged: Judged | None = None,
    unfollowed: bool = False,
    unusual: frozenset[str] = frozenset(),
    practice: Running | None = None,
) -> Scene:
    """The scene that holds only what applies first: warning, fault, menu, lesson or rest.

    A warning about a string outranks everything, and a sounding tone counts as part of the lesson.
    """
    if coach.advice.warning is not None:
        return Scene(settings, coach)
    if fault is not None:
        return Scene(settings, coach, fault=fault)
    if menu is not None:
        return Scene(settings, coach, menu=menu)
    if resting:
        return Scene(settings, coach, resting=True)
    if practice is not None:
        return Scene(settings, coach, practice=practice)
    return Scene(
        settings,
        coach,
        sounding=sounding,
        by_ear=by_ear,
        judged=judged,
        unfollowed=unfollowed,
        unusual=unusual,
    )


def gives_reading_away(coach: Coach) -> bool:
    """Whether what is shown would give the reading away."""
    return coach.advice.warning is None and (
        coach.cents is not None or coach.advice.say in _GIVES_READING_AWAY
    )


def with_reading_hidden(coach: Coach) -> Coach:
    """The lesson as the player sees it: no reading, no turn, and the string still to do."""
    if coach.advice.warning is not None or coach.phase is Phase.FINISHED:
        return coach
    shown = replace(coach, cents=None, std_error_cents=None)
    if coach.advice.say not in _GIVES_READING_AWAY:
        return shown
    strings = tuple(
        replace(string, mark=Mark.TO_DO, last_cents=None) if string.name == coach.string else string
        for string in coach.strings
    )
    phase = Phase.LISTENING if coach.phase in {Phase.GUIDING, Phase.RIGHT} else coach.phase
    return replace(shown, phase=phase, strings=strings, advice=Advice())


def judged_guess(guess: Guess, coach: Coach) -> Judged | None:
    """A guess held against the reading; None where the reading itself is not sure enough to judge by."""
    if coach.phase is Phase.RIGHT or coach.advice.say is Say.RIGHT:
        return Judged(guess, guess is Guess.RIGHT)
    direction = coach.advice.direction
    if direction is Direction.NONE:
        return None
    return Judged(guess, guess is (Guess.FLAT if direction is Direction.TIGHTEN else Guess.SHARP))
