"""Arrows that turn: the way a hand goes round a screw or a peg, facing its head.

The longer and thicker the arrow, the more to turn. A screw has one arrow, on its right side going
clockwise and on its left going counter-clockwise, so that it always points down at its end and its
side tells which way; a peg's thumb piece has two, one at each end, as finger and thumb push it.

An arrow that is seen across a room is longer than the smallest turns it stands for: a hair of a
fine tuner is some 30 degrees, all that is ever asked of a wooden peg some 2 to 20. The words along
the bottom say so, and the coach reckons with twice the turn it asked for.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from PIL import Image

from device.instrument.tuning_parts import Amount, Rotation
from device.panel.drawing.plate import INK, Plate, Point, cached, on_clock

DrawnTurn = tuple[Rotation, Amount]
Around = Callable[[Rotation, Amount, float], Image.Image]
"""Makes the mask of an arrow, grown by so many pixels."""


@dataclass(frozen=True, slots=True)
class Arc:
    """The way of an arrow: pixels from the centre, degrees from tail to tip, pixels of its tail."""

    radius: float
    sweep: float
    thick: float
    tip: float = 0.0  # degrees from twelve o'clock in the sense of rotation; a peg's follow from the sweep


SIZE = 72, 52  # pixels; what is turned is in the middle
CENTRE: Point = (SIZE[0] / 2.0, SIZE[1] / 2.0)
SCREW_ARCS = {
    Amount.A_HAIR: Arc(27.0, 96.0, 4.0, 138.0),
    Amount.A_LITTLE: Arc(21.0, 152.0, 6.0, 150.0),
    Amount.MORE: Arc(20.5, 325.0, 7.0, 150.0),
}
PEG_ARCS = {
    Amount.A_HAIR: Arc(20.5, 70.0, 4.0),
    Amount.A_LITTLE: Arc(20.5, 94.0, 5.5),
    Amount.MORE: Arc(20.5, 120.0, 7.0),
}
_HEAD = 15.0  # pixels from its base to its tip
_OUT, _IN = 8.5, 7.5  # pixels a head reaches out and in from the circle
_BUMPS = 14  # in the rim of a screw, so that a finger holds it
_FAT = 1.0  # pixels an arrow grows when it is pointed at
_RIM = 2.0  # pixels of dark around an arrow


def sign_of(rotation: Rotation) -> float:
    """+1 for clockwise, -1 the other way: the sense in which clock degrees grow."""
    return 1.0 if rotation is Rotation.CLOCKWISE else -1.0


def _curved(plate: Plate, arc: Arc, tip_deg: float, sign: float, grow: float) -> None:
    """An arrow along `arc` that ends at `tip_deg`, fatter by `grow` pixels all round."""
    further = math.degrees(grow / arc.radius)
    head = math.degrees(_HEAD / arc.radius)
    neck = tip_deg - sign * (head + further)
    tail = arc.sweep - head + further
    plate.arc(CENTRE, arc.radius, neck - sign * tail, sign * (tail + 3.0), arc.thick + 2.0 * grow)
    outer, inner = arc.radius + _OUT + 1.4 * grow, arc.radius - _IN - 1.4 * grow
    tip = on_clock(CENTRE, arc.radius - 1.5, tip_deg + sign * 2.6 * further)
    plate.area([on_clock(CENTRE, outer, neck), tip, on_clock(CENTRE, inner, neck)])


@cached
def around_screw(rotation: Rotation, amount: Amount, grow: float = 0.0) -> Image.Image:
    """The arrow around the head of a fine tuner, `SIZE` large."""
    plate, sign, arc = Plate(*SIZE), sign_of(rotation), SCREW_ARCS[amount]
    _curved(plate, arc, sign * arc.tip, sign, grow)
    return plate.mask()


@cached
def around_peg(rotation: Rotation, amount: Amount, grow: float = 0.0) -> Image.Image:
    """The two arrows around the head of a peg, `SIZE` large."""
    plate, sign, arc = Plate(*SIZE), sign_of(rotation), PEG_ARCS[amount]
    for end in (0.0, 180.0):
        _curved(plate, arc, end + sign * arc.sweep / 2.0, sign, grow)
    return plate.mask()


@cached
def thumb_piece(rotation: Rotation, amount: Amount) -> Image.Image:
    """The head of a peg seen from its end, filled, `SIZE` large: a flat bar from arrow to arrow."""
    plate = Plate(*SIZE)
    start = -sign_of(rotation) * (PEG_ARCS[amount].sweep / 2.0 - 4.0)
    plate.line([on_clock(CENTRE, 10.5, start), on_clock(CENTRE, -10.5, start)], 6.5)
    plate.disc(CENTRE, 7.0)
    plate.disc(CENTRE, 2.0, ink=False)
    return plate.mask()


@cached
def screw_head(rim: float = 0.0) -> Image.Image:
    """The head of a fine tuner seen from its end, filled, `SIZE` large: milled for fingers, no slot."""
    plate = Plate(*SIZE)
    plate.disc(CENTRE, 12.6 + rim)
    for bump in range(_BUMPS):
        plate.disc(on_clock(CENTRE, 11.9, 360.0 * bump / _BUMPS), 2.1 + rim)
    if rim == 0.0:
        plate.arc(CENTRE, 7.2, 0.0, 360.0, 1.3, ink=False)
    return plate.mask()


def lay(  # noqa: PLR0913 - a head, its arrow and how both are drawn
    field: Image.Image, left: int, head: Image.Image, around: Around, turn: DrawnTurn, *, fat: bool
) -> None:
    """Put a head and the arrow around it on `field`, with a rim of dark about the arrow."""
    grow = _FAT if fat else 0.0
    rim = around(*turn, grow + _RIM)
    field.paste(0, (left, 0), rim)
    field.paste(INK, (left, 0), head)
    field.paste(0, (left, 0), rim)
    field.paste(INK, (left, 0), around(*turn, grow))
