"""The practices, one row each: adding another touches this table and its own package, nothing else.

The first row follows a lesson whose strings are all right; the others are reached from it, or from the
settings. A practice is a state and functions of it; time and chance come in with the events.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from PIL import Image

from device.config.settings import Settings
from device.practice.count.page import count_hints, count_is_lit, draw_count
from device.practice.count.session import count_after, count_begun, count_settings, count_sound
from device.practice.count.words import count_words
from device.practice.events import PracticeEvent, PracticeTone
from device.practice.read.page import draw_read, read_hints, read_is_lit
from device.practice.read.session import read_after, read_begun, read_settings, sound_to_read
from device.practice.read.words import read_words
from dsp import Seconds

S = TypeVar("S")


@dataclass(frozen=True, slots=True)
class Practice(Generic[S]):
    """One row: what the rest of the box may ask of a practice."""

    name: str  # on the panel and on the command line
    begin: Callable[[Settings, Seconds], S]
    after: Callable[[S, PracticeEvent, Settings], S]
    settings: Callable[[S, Settings], Settings]  # with what was reached
    sound: Callable[[S, Settings], PracticeTone | None]
    draw: Callable[[Image.Image, S, Settings], None]
    is_lit: Callable[[S], bool]  # the panel is turned over
    hints: Callable[[S, Settings], tuple[str, str, str] | None]  # of the buttons, when there is room
    words: Callable[[S, Settings], str | None]  # what is told, for the demo's lines
    by_attacks: bool = False  # needs every attack, not only what has a pitch
    by_held_notes: bool = False  # needs every note that stands, bowed ones that only swell too


PRACTICES: tuple[Practice[Any], ...] = (
    Practice(
        "read",
        read_begun,
        read_after,
        read_settings,
        sound_to_read,
        draw_read,
        read_is_lit,
        read_hints,
        read_words,
        by_held_notes=True,
    ),
    Practice(
        "count",
        count_begun,
        count_after,
        count_settings,
        count_sound,
        draw_count,
        count_is_lit,
        count_hints,
        count_words,
        by_attacks=True,
    ),
)


def practice_named(name: str) -> Practice[Any]:
    """The row of that name; KeyError where there is none."""
    return {practice.name: practice for practice in PRACTICES}[name]


def following(practice: Practice[Any]) -> Practice[Any]:
    """The next row, the first after the last."""
    names = [one.name for one in PRACTICES]
    return PRACTICES[(names.index(practice.name) + 1) % len(PRACTICES)]
