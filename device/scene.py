"""What deserves the panel now: warning, fault, menu, lesson or rest, the first that applies."""

from dataclasses import dataclass
from enum import Enum

from device.coach.state import Coach
from device.settings import Settings


class Fault(Enum):
    """What is broken, as the player sees it."""

    NO_MICROPHONE = "no-microphone"
    TOO_LOUD = "too-loud"  # the microphone clips
    WRONG_SETTINGS = "wrong-settings"  # the settings file has a mistake; the journal says which
    NOT_KEPT = "not-kept"  # settings cannot be written
    NO_SPEAKER = "no-speaker"


@dataclass(frozen=True, slots=True)
class MenuView:
    """One page of the settings, as words."""

    title: str
    value: str
    position: int  # 0 for the first page
    count: int
    hints: tuple[str, str, str]  # what a press does: next, previous, tone
    key: str = ""  # of the setting, for its sign
    changing: bool = False  # a press changes the value; else it turns the pages


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything the screen needs to draw one picture."""

    settings: Settings
    coach: Coach
    fault: Fault | None = None
    menu: MenuView | None = None
    resting: bool = False  # a dark panel
    sounding: str | None = None  # the reference tone that is played: "A4", or "D4 A4" for a pure fifth
    by_ear: bool = False  # the reading is hidden (`coach` holds none) until next is pressed
    unfollowed: bool = False  # a pluck just now was too soft to be ours: a neighbour's, or too far away
    unusual: frozenset[str] = frozenset()  # settings that are not as in the file: "instrument", ...


def scene_of(  # noqa: PLR0913 - everything that may ask for the panel, by keyword
    settings: Settings,
    coach: Coach,
    *,
    fault: Fault | None = None,
    menu: MenuView | None = None,
    resting: bool = False,
    sounding: str | None = None,
    by_ear: bool = False,
    unfollowed: bool = False,
    unusual: frozenset[str] = frozenset(),
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
    return Scene(settings, coach, sounding=sounding, by_ear=by_ear, unfollowed=unfollowed, unusual=unusual)
