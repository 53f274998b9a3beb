"""What each of the three buttons will do, along the bottom, as they lie: previous, third, next.

While a page of the settings is open the row stays. At home it comes up only when nobody plucks for
a while, what a press does and then what holding does, in turn with instrument and pitch.
"""

from PIL import Image

from device.config.settings import Settings, Tone
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK
from device.panel.scene import Guess, Scene
from dsp import Seconds

TOP = 53  # pixels
_HELD_WIDTH = 29  # pixels for the word before the caps
_QUIET_S, _EACH_S = 6.0, 3.0  # seconds; chosen: time to pluck first, then to read three words

_TONE = {Tone.OPEN_STRING: "tone", Tone.REFERENCE_A: "the A", Tone.FIFTH: "fifth"}


def row(picture: Image.Image, hints: tuple[str, str, str], left: int = 0) -> None:
    """Three lit keys from `left` to the right edge, each with the word for what it does."""
    room = picture.width - left
    for i, hint in enumerate(hints):
        key_cap(picture, left + room * i // 3, left + room * (i + 1) // 3 - 1, hint)


def at_home(picture: Image.Image, scene: Scene, at: Seconds) -> bool:
    """The row for a lesson that waits for a pluck, if it is its turn: whether it was drawn."""
    waited = (at - scene.coach.since) % (_QUIET_S + 2.0 * _EACH_S)
    if waited < _QUIET_S:
        return False
    if waited < _QUIET_S + _EACH_S:
        row(picture, presses(scene.settings))
    else:
        picture.paste(INK, (2, TOP), words("hold"))
        row(picture, holds(scene.settings), _HELD_WIDTH)
    return True


def presses(settings: Settings) -> tuple[str, str, str]:
    """What a press does at home: previous, third, next."""
    return ("before", _TONE[settings.tone], "next")


def holds(settings: Settings) -> tuple[str, str, str]:
    """What holding does at home: another instrument, the settings, a new pupil; a locked box says so."""
    return ("lock", "lock", "begin") if settings.locked else ("swap", "set", "begin")


def guesses() -> tuple[str, str, str]:
    """What a player says by ear."""
    flat, right, sharp = (guess.value for guess in Guess)
    return flat, right, sharp


def key_cap(picture: Image.Image, left: int, right: int, hint: str) -> None:
    """One lit key between two columns, with the word for what it does."""
    text = words(hint)
    picture.paste(INK, (left, TOP, right, picture.height))
    picture.paste(0, (left + (right - left - text.width) // 2, TOP), text)
