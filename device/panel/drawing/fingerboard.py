"""The strings over the fingerboard, as the player sees them: which one to pluck, which one sounded."""

import math
from dataclasses import dataclass
from enum import Enum

from PIL import Image

from device.panel.drawing import people
from device.panel.drawing.plate import INK, Plate, cached

WIDTH, HEIGHT = 94, 52  # pixels
_PLUCK_Y = 32.0  # where the finger takes the string
_THICK = 2.0  # pixels, all alike: which one is meant is told by its place


@dataclass(frozen=True, slots=True)
class Ground:
    """Where the outer strings lie, and how far one swings, in pixels."""

    left: float
    right: float
    swing: float


WIDE = Ground(6.0, 46.0, 5.5)
NARROW = Ground(33.0, 54.0, 3.0)  # leaves room for a letter on the left


class Looks(Enum):
    """What one string is drawn doing."""

    STILL = "still"
    PULLED = "pulled"  # aside, by a finger
    RINGING = "ringing"
    LEFT_OUT = "left-out"  # in dashes
    BROKEN = "broken"  # two ends that curl away from each other


def across(place: int, count: int, ground: Ground = WIDE) -> float:
    """Where string number `place` from the player's left lies, in pixels from the field's left."""
    return float(round(ground.left + (ground.right - ground.left) * place / max(1, count - 1)))


def _draw(plate: Plate, x: float, looks: Looks, thick: float, swing: float) -> None:
    match looks:
        case Looks.STILL:
            plate.box(x - thick / 2, 0, x + thick / 2, HEIGHT)
        case Looks.LEFT_OUT:
            for y in range(0, HEIGHT, 8):
                plate.box(x - thick / 2, y, x + thick / 2, y + 3)
        case Looks.BROKEN:
            plate.line([(x, -2), (x, 12), (x - 3, 17), (x - 1, 20)], thick + 0.6)
            plate.line([(x, HEIGHT + 2), (x, 36), (x + 3, 31), (x + 1, 28)], thick + 0.6)
        case Looks.PULLED:
            plate.line([(x, -2), (x + swing, _PLUCK_Y), (x, HEIGHT + 12)], thick)
        case Looks.RINGING:
            for side in (-1.0, 1.0):
                bow = [
                    (x + side * swing * math.sin(math.pi * y / HEIGHT), y) for y in range(0, HEIGHT + 1, 4)
                ]
                plate.line(bow, max(1.6, thick * 0.6))


@cached
def strings_over_board(looks: tuple[Looks, ...], ground: Ground = WIDE) -> Image.Image:
    """All strings from the player's left, each as it `looks`."""
    plate = Plate(WIDTH, HEIGHT)
    count = len(looks)
    for place, one in enumerate(looks):
        _draw(plate, across(place, count, ground), one, _THICK, ground.swing)
    return plate.mask()


def put_hand(field: Image.Image, x: float, aside: int) -> None:
    """Put a plucking hand at the string at `x` on `field`, `aside` pixels to its right, on dark."""
    left, top = round(x) + aside, round(_PLUCK_Y) - people.TIP_Y
    field.paste(0, (left - 1, top - 1), people.plucking_rim())
    field.paste(INK, (left, top), people.plucking())
