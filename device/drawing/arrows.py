"""Arrows that turn: the way a hand goes round a screw or a peg, facing its head.

The longer the arrow, the more to turn; none is as short as the turn it may ask for, since it must be
seen across a room. A screw has one arrow, which ends low on its right side going clockwise and low
on its left going counter-clockwise; a peg's thumb piece has two, one at each end, as finger and
thumb push it.
"""

import math
from collections.abc import Callable

from PIL import Image

from device.coach.state import Amount, Rotation
from device.drawing.plate import Plate, Point, kept, on_clock

Turned = tuple[Rotation, Amount]
Around = Callable[[Rotation, Amount, float], Image.Image]
"""Makes the mask of an arrow, grown by so many pixels."""

SIZE = 52  # pixels, both ways; a ring's centre is in the middle
CENTRE: Point = (SIZE / 2.0, SIZE / 2.0)
RADIUS = 20.5  # pixels, of the ring
_THICK = 6.0
_HEAD_DEG = 42.0  # how much of the ring a head covers
_HEAD_OUT, _HEAD_IN = 8.5, 7.5  # pixels, how far a head reaches out and in from the ring
_SCREW_TIP_DEG = 146.0  # clockwise from twelve o'clock; mirrored the other way round
SCREW_SWEEP_DEG = {Amount.A_HAIR: 136.0, Amount.A_LITTLE: 215.0, Amount.MORE: 310.0}
PEG_SWEEP_DEG = {Amount.A_HAIR: 66.0, Amount.A_LITTLE: 100.0, Amount.MORE: 150.0}


_FAT = 1.0  # pixels an arrow grows when it is pointed at
_RIM = 2.0  # pixels of dark around an arrow


def _curved(plate: Plate, tip_deg: float, sweep_deg: float, sign: float, grow: float) -> None:
    """An arrow along the ring that ends at `tip_deg`; `sign` is +1 clockwise, -1 the other way.

    `grow` makes it fatter by so many pixels all round.
    """
    further = math.degrees(grow / RADIUS)
    neck = tip_deg - sign * (_HEAD_DEG + further)
    tail = sweep_deg - _HEAD_DEG + further
    plate.arc(CENTRE, RADIUS, neck - sign * tail, sign * (tail + 3.0), _THICK + 2.0 * grow)
    outer, inner = RADIUS + _HEAD_OUT + 1.4 * grow, RADIUS - _HEAD_IN - 1.4 * grow
    tip = on_clock(CENTRE, RADIUS - 1.5, tip_deg + sign * 2.0 * further)
    plate.area([on_clock(CENTRE, outer, neck), tip, on_clock(CENTRE, inner, neck)])


def _sign(rotation: Rotation) -> float:
    return 1.0 if rotation is Rotation.CLOCKWISE else -1.0


@kept
def around_screw(rotation: Rotation, amount: Amount, grow: float = 0.0) -> Image.Image:
    """The arrow around the head of a fine tuner, `SIZE` square."""
    plate, sign = Plate(SIZE, SIZE), _sign(rotation)
    _curved(plate, sign * _SCREW_TIP_DEG, SCREW_SWEEP_DEG[amount], sign, grow)
    return plate.mask()


@kept
def around_peg(rotation: Rotation, amount: Amount, grow: float = 0.0) -> Image.Image:
    """The two arrows around the head of a peg, `SIZE` square."""
    plate, sign = Plate(SIZE, SIZE), _sign(rotation)
    sweep = PEG_SWEEP_DEG[amount]
    for end in (0.0, 180.0):
        _curved(plate, end + sign * sweep / 2.0, sweep, sign, grow)
    return plate.mask()


@kept
def thumb_piece() -> Image.Image:
    """The head of a peg seen from its end, filled, `SIZE` square: a flat bar with a button."""
    plate = Plate(SIZE, SIZE)
    x, y = CENTRE
    plate.line([(x, y - 10.5), (x, y + 10.5)], 6.5)
    plate.disc(CENTRE, 7.0)
    plate.disc(CENTRE, 2.0, ink=False)
    return plate.mask()


@kept
def screw_head(rim: float = 0.0) -> Image.Image:
    """The head of a fine tuner seen from its end, filled, `SIZE` square: a disc with a slot."""
    plate = Plate(SIZE, SIZE)
    plate.disc(CENTRE, 13.7 + rim)
    if rim == 0.0:
        plate.line([on_clock(CENTRE, 9.0, 45.0), on_clock(CENTRE, 9.0, 225.0)], 3.0, ink=False)
    return plate.mask()


def lay(  # noqa: PLR0913 - a head, its arrow and how both are drawn
    field: Image.Image, left: int, head: Image.Image, around: Around, turn: Turned, *, fat: bool
) -> None:
    """Put a head and the arrow around it on `field`, with a rim of dark about the arrow."""
    grow = _FAT if fat else 0.0
    rim = around(*turn, grow + _RIM)
    field.paste(0, (left, 0), rim)
    field.paste(1, (left, 0), head)
    field.paste(0, (left, 0), rim)
    field.paste(1, (left, 0), around(*turn, grow))
