"""Where the strings end: the tailpiece with its screws, the pegbox with its pegs, as the player sees them.

Both fill a field `WIDTH` by `HEIGHT`. The one to turn is big and filled, its arrow around it; the
others stand small and hollow where they are, so that its place among them can be counted.
"""

from PIL import Image

from device.coach.state import Amount, Rotation
from device.drawing import arrows
from device.drawing.plate import Plate, kept

WIDTH, HEIGHT = 86, 52  # pixels
_HALO = 2.0  # pixels of dark around an arrow
_BIG = 53.0  # pixels of the row that the big screw takes with its arrow
_NEAR, _FAR = 24.0, 29.0  # of them on the side of the arrow's back and of its head
PEG_WIDTH, PEGBOX_WIDTH, PUSH_WIDTH = 98, 38, 13  # pixels
_BOX_HALF = 6.0  # pixels, half the width of the pegbox
_UPPER, _LOWER = 13.0, 39.0  # where the pegs stand, pixels from the top


def _lay(field: Image.Image, left: int, body: Image.Image, halo: Image.Image, arrow: Image.Image) -> None:
    """Put a big head and its arrow on `field`, with a dark rim."""
    field.paste(0, (left, 0), halo)
    field.paste(1, (left, 0), body)
    field.paste(0, (left, 0), halo)
    field.paste(1, (left, 0), arrow)


@kept
def tailpiece(place: int, count: int, rotation: Rotation, amount: Amount) -> Image.Image:
    """Screw number `place` of `count`, from the player's left, with its arrow.

    The strings come down from above to the wide end of the tailpiece, which narrows below.
    """
    gap = (WIDTH - _BIG) / (count - 1)
    before = _NEAR if rotation is Rotation.CLOCKWISE else _FAR
    big = gap * place + before
    plate = Plate(WIDTH, HEIGHT)
    plate.line([(1, 15), (3, 12), (WIDTH - 3, 12), (WIDTH - 1, 15)], 1.4)
    plate.line([(1, 15), (2, 30), (30, 51.5)], 1.4)
    plate.line([(WIDTH - 1, 15), (WIDTH - 2, 30), (WIDTH - 30, 51.5)], 1.4)
    for i in range(count):
        x = gap * (i + 0.5) + (_BIG - gap if i > place else 0.0)
        if i != place:
            plate.line([(x, 0), (x, 20)], 1.0)
            plate.disc((x, 24), 4.2)
            plate.disc((x, 24), 2.6, ink=False)
    field = plate.mask()
    arrow, halo = arrows.around_screw(rotation, amount), arrows.around_screw(rotation, amount, _HALO)
    _lay(field, round(big - arrows.CENTRE[0]), arrows.screw_head(), halo, arrow)
    return field


def _pegbox(plate: Plate, middle: float) -> None:
    """The box between its pegs, the scroll above and the nut below."""
    for side in (-1.0, 1.0):
        plate.line([(middle + side * (_BOX_HALF - 1), 8), (middle + side * _BOX_HALF, 51)], 1.6)
    plate.disc((middle, 6), 6.0)
    plate.disc((middle, 6), 3.6, ink=False)
    plate.disc((middle, 6), 1.4)


def _small_peg(plate: Plate, middle: float, side: float, y: float, filled: bool) -> None:
    """A peg seen from the front; the one to turn is filled and a little bigger."""
    plate.line([(middle + side * _BOX_HALF, y), (middle + side * (_BOX_HALF + 4), y)], 2.0)
    if filled:
        plate.line([(middle - side * _BOX_HALF, y), (middle + side * (_BOX_HALF + 4), y)], 4.0)
        plate.oval((middle + side * (_BOX_HALF + 8), y), 5.0, 8.0)
    else:
        plate.oval((middle + side * (_BOX_HALF + 8), y), 3.6, 5.2)
        plate.oval((middle + side * (_BOX_HALF + 8), y), 2.2, 3.8, ink=False)


@kept
def pegbox(left: bool, upper: bool) -> Image.Image:
    """Four pegs, two a side, with one filled; `left` and `upper` as the player sees it."""
    plate = Plate(PEGBOX_WIDTH, HEIGHT)
    middle = PEGBOX_WIDTH / 2.0
    _pegbox(plate, middle)
    for side in (-1.0, 1.0):
        for y in (_UPPER, _LOWER):
            _small_peg(plate, middle, side, y, (side < 0.0) is left and (y == _UPPER) is upper)
    return plate.mask()


@kept
def push_arrow(to_the_left: bool) -> Image.Image:
    """A block arrow along the shaft of a peg, into the pegbox."""
    plate = Plate(PUSH_WIDTH, 20)
    plate.area([(0, 6), (5, 6), (5, 0), (PUSH_WIDTH, 10), (5, 20), (5, 14), (0, 14)])
    mask = plate.mask()
    return mask.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if to_the_left else mask


@kept
def peg(left: bool, upper: bool, rotation: Rotation | None, amount: Amount, push_in: bool) -> Image.Image:
    """The pegbox, and beside it on its own side the head of the peg to turn, its arrows around it."""
    field = Image.new("1", (PEG_WIDTH, HEIGHT))
    box_at = PEG_WIDTH - PEGBOX_WIDTH if left else 0
    field.paste(1, (box_at, 0), pegbox(left, upper))
    dial_at = -3 if left else PEG_WIDTH - arrows.SIZE + 3
    if rotation is not None:
        arrow, halo = arrows.around_peg(rotation, amount), arrows.around_peg(rotation, amount, _HALO)
        _lay(field, dial_at, arrows.thumb_piece(), halo, arrow)
    if push_in:
        at = box_at - PUSH_WIDTH if left else PEGBOX_WIDTH
        field.paste(1, (at, round(_UPPER if upper else _LOWER) - 10), push_arrow(not left))
    return field
