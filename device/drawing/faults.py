"""What is broken, as the player sees it: a sign and a few words, no letter and no turn."""

from PIL import Image

from device.drawing import signs, things
from device.drawing.figures import words
from device.drawing.plate import INK
from device.scene import Fault

_WORDS = {
    Fault.NO_MICROPHONE: "no microphone",
    Fault.TOO_LOUD: "too loud",
    Fault.WRONG_SETTINGS: "settings are wrong",
    Fault.NOT_KEPT: "settings not kept",
    Fault.NO_SPEAKER: "no loudspeaker",
}


def draw(picture: Image.Image, fault: Fault) -> None:
    """The sign of one fault, above its words."""
    sign = _sign(fault)
    picture.paste(INK, ((picture.width - sign.width) // 2, 0), sign)
    text = words(_WORDS[fault])
    picture.paste(INK, ((picture.width - text.width) // 2, 53), text)


def _sign(fault: Fault) -> Image.Image:
    match fault:
        case Fault.NO_MICROPHONE:
            return _struck_out(things.microphone())
        case Fault.TOO_LOUD:
            return _too_loud()
        case Fault.WRONG_SETTINGS:
            return _side_by_side(things.page(), signs.question())
        case Fault.NOT_KEPT:
            return _struck_out(things.page(pencil=True))
        case Fault.NO_SPEAKER:
            return _struck_out(things.loudspeaker(1.25), falling=True)


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
    sign.paste(INK, (32, 1), things.microphone())
    sign.paste(INK, (8, 6), signs.waves())
    sign.paste(INK, (66, 6), signs.waves(to_the_left=True))
    return sign
