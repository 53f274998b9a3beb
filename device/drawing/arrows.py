"""Arrows that turn: the way a hand goes round a screw or a peg, facing its head.

The longer the arrow, the more to turn; none is as short as the turn it may ask for, since it must be
seen across a room. A screw has one arrow, which ends low on its right side going clockwise and low
on its left going counter-clockwise; a peg's thumb piece has two, one at each end, as finger and
thumb push it.
"""

from PIL import Image

from device.coach.state import Amount, Rotation
from device.drawing.plate import Plate, Point, kept, on_clock

SIZE = 52  # pixels, both ways; a ring's centre is in the middle
CENTRE: Point = (SIZE / 2.0, SIZE / 2.0)
RADIUS = 20.5  # pixels, of the ring
_THICK = 6.0
_HEAD_DEG = 42.0  # how much of the ring a head covers
_HEAD_HALF = 8.5  # pixels, half its width
_SCREW_TIP_DEG = 146.0  # clockwise from twelve o'clock; mirrored the other way round
SCREW_SWEEP_DEG = {Amount.A_HAIR: 136.0, Amount.A_LITTLE: 215.0, Amount.MORE: 310.0}
PEG_SWEEP_DEG = {Amount.A_HAIR: 66.0, Amount.A_LITTLE: 100.0, Amount.MORE: 150.0}


def curved(plate: Plate, tip_deg: float, sweep_deg: float, sign: float, grow: float = 0.0) -> None:
    """An arrow along the ring that ends at `tip_deg`; `sign` is +1 clockwise, -1 the other way."""
    neck = tip_deg - sign * _HEAD_DEG
    tail = sweep_deg - _HEAD_DEG
    plate.arc(
        CENTRE, RADIUS, neck - sign * (tail + grow * 2), sign * (tail + grow * 2 + 2.0), _THICK + 2 * grow
    )
    half = _HEAD_HALF + grow * 1.4
    base = neck - sign * grow * 3
    tip = on_clock(CENTRE, RADIUS - 2.0, tip_deg + sign * grow * 5)
    plate.area([on_clock(CENTRE, RADIUS + half, base), tip, on_clock(CENTRE, RADIUS - half, base)])


def _sign(rotation: Rotation) -> float:
    return 1.0 if rotation is Rotation.CLOCKWISE else -1.0


@kept
def around_screw(rotation: Rotation, amount: Amount, grow: float = 0.0) -> Image.Image:
    """The arrow around the head of a fine tuner, `SIZE` square."""
    plate, sign = Plate(SIZE, SIZE), _sign(rotation)
    curved(plate, sign * _SCREW_TIP_DEG, SCREW_SWEEP_DEG[amount], sign, grow)
    return plate.mask()


@kept
def around_peg(rotation: Rotation, amount: Amount, grow: float = 0.0) -> Image.Image:
    """The two arrows around the head of a peg, `SIZE` square."""
    plate, sign = Plate(SIZE, SIZE), _sign(rotation)
    sweep = PEG_SWEEP_DEG[amount]
    for end in (0.0, 180.0):
        curved(plate, end + sign * sweep / 2.0, sweep, sign, grow)
    return plate.mask()


@kept
def thumb_piece() -> Image.Image:
    """The head of a peg seen from its end, filled, `SIZE` square: a flat bar with a button."""
    plate = Plate(SIZE, SIZE)
    x, y = CENTRE
    plate.line([(x, y - 9.5), (x, y + 9.5)], 8.0)
    plate.disc(CENTRE, 7.0)
    plate.disc(CENTRE, 2.0, ink=False)
    return plate.mask()


@kept
def screw_head(slot_deg: float = 45.0) -> Image.Image:
    """The head of a fine tuner seen from its end, filled, `SIZE` square: a disc with a slot."""
    plate = Plate(SIZE, SIZE)
    plate.disc(CENTRE, 13.7)
    plate.line([on_clock(CENTRE, 9.0, slot_deg), on_clock(CENTRE, 9.0, slot_deg + 180.0)], 3.0, ink=False)
    return plate.mask()
