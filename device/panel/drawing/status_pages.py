"""Draws the pages without advice: a fault, a reference tone, and the panel at rest."""

import re

from PIL import Image

from device.panel.drawing import icons, lettering, people, signs
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK
from device.panel.scene import Fault, Scene
from dsp import Seconds

_MOON_STAYS_S = 20.0  # chosen: every pixel of the panel ages alike
_MOON_PLACES = 24
_FAULT_WORDS = {
    Fault.NO_MICROPHONE: "no microphone",
    Fault.TOO_LOUD: "too loud",
    Fault.WRONG_SETTINGS: "settings are wrong",
    Fault.NOT_KEPT: "settings not kept",
    Fault.NO_SPEAKER: "no loudspeaker",
    Fault.TOO_BUSY: "too busy: wait",
    Fault.OLDER_VERSION: "older version runs",
}


def draw_fault(picture: Image.Image, fault: Fault) -> None:
    """The sign of one fault, above its words."""
    sign = _sign(fault)
    picture.paste(INK, ((picture.width - sign.width) // 2, 0), sign)
    text = words(_FAULT_WORDS[fault])
    picture.paste(INK, ((picture.width - text.width) // 2, 53), text)


def draw_tone(picture: Image.Image, scene: Scene, sounding: str) -> None:
    """The letter of the tone, or of both tones of a fifth, and a loudspeaker at work."""
    names = re.findall(r"[A-G][#b]?", sounding)[:2]
    for i, name in enumerate(names):
        picture.paste(INK, (2 + 34 * i, 5), lettering.letter(name, 28, 42, 8.0))
    picture.paste(INK, (74, 6), icons.loudspeaker())
    picture.paste(INK, (105, 6), signs.waves())
    text = words(f"listen  A = {scene.settings.reference_hz:g} Hz")
    picture.paste(INK, (2, 52), text)


def draw_resting(picture: Image.Image, at: Seconds) -> None:
    """A dark panel with a small moon that never stays long in one place."""
    moon = signs.moon()
    step = int(at / _MOON_STAYS_S) % _MOON_PLACES
    across, down = picture.width - moon.width, picture.height - moon.height
    picture.paste(INK, (across * (step * 7 % _MOON_PLACES) // _MOON_PLACES, down * (step * 5 % 8) // 8), moon)


def _sign(fault: Fault) -> Image.Image:
    match fault:
        case Fault.NO_MICROPHONE:
            return _struck_out(icons.microphone())
        case Fault.TOO_LOUD:
            return _too_loud()
        case Fault.NOT_KEPT:
            return _struck_out(icons.page(pencil=True))
        case Fault.NO_SPEAKER:
            return _struck_out(icons.loudspeaker(1.25), falling=True)
        case Fault.TOO_BUSY:
            pair = icons.microphone(), signs.hourglass(2)
        case Fault.OLDER_VERSION:
            pair = icons.page(), people.tall_one()
        case Fault.WRONG_SETTINGS:
            pair = icons.page(), signs.question()
    return _side_by_side(*pair)


def _struck_out(thing: Image.Image, *, falling: bool = False) -> Image.Image:
    """The thing with a stroke across it, rising or falling to the right."""
    sign = Image.new("1", (64, 52))
    sign.paste(INK, ((64 - thing.width) // 2, (52 - thing.height) // 2), thing)
    for ink, thick in ((0, 11.0), (INK, 5.0)):
        stroke = signs.slash(56, 52, thick)
        flipped = stroke.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
        sign.paste(ink, (4, 0), flipped if falling else stroke)
    return sign


def _side_by_side(thing: Image.Image, other: Image.Image) -> Image.Image:
    sign = Image.new("1", (thing.width + other.width + 8, 52))
    sign.paste(INK, (0, (52 - thing.height) // 2), thing)
    sign.paste(INK, (thing.width + 8, (52 - other.height) // 2), other)
    return sign


def _too_loud() -> Image.Image:
    """Sound from both sides on the microphone."""
    sign = Image.new("1", (94, 52))
    sign.paste(INK, (32, 1), icons.microphone())
    sign.paste(INK, (8, 6), signs.waves())
    sign.paste(INK, (66, 6), signs.waves(to_the_left=True))
    return sign
