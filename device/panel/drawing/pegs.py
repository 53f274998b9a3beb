"""The pegbox with its four pegs as the player sees it, and the head of the one to turn.

The two outer strings' pegs sit nearer the nut, the two inner strings' nearer the scroll (common
practice for violin, viola and cello). Rotation is drawn as somebody sees it who faces the head of
the peg, that is, looks from the side towards the pegbox.
"""

from enum import IntEnum

from PIL import Image

from device.instrument.tuning_parts import Amount, Rotation
from device.panel.drawing import arrows
from device.panel.drawing.plate import INK, Plate, cached

COUNT = 4  # pegs, two a side
WIDTH, HEIGHT = 98, 52  # pixels, the whole field
BOX_WIDTH = 38  # pixels of it for the pegbox
_PUSH_WIDTH, _PUSH_GAP = 12, 2
_DIAL_HALF = 22.5  # from the field's edge to the middle of the head
_HALF = 6.0  # pixels, half the width of the box itself
_UPPER_Y, _LOWER_Y = 14.0, 38.0  # pixels from the top


class Push(IntEnum):
    """How much a wooden peg's push is pointed at."""

    NONE = 0
    WHILE_TURNING = 1
    ABOVE_ALL = 2


def is_left(place: int) -> bool:
    """Whether the peg of string `place`, 0 for the player's left, is on the left."""
    return place < COUNT // 2


def is_upper(place: int) -> bool:
    """Whether it is one of the two nearer the scroll."""
    return 0 < place < COUNT - 1


def _box(plate: Plate, middle: float) -> None:
    """The walls of the box and the scroll above."""
    for side in (-1.0, 1.0):
        plate.line([(middle + side * (_HALF - 1), 8), (middle + side * _HALF, 51)], 1.6)
    plate.disc((middle, 6), 6.0)
    plate.disc((middle, 6), 3.6, ink=False)
    plate.disc((middle, 6), 1.4)


def _peg(plate: Plate, middle: float, side: float, y: float, filled: bool) -> None:
    """A peg seen from the front; the one to turn is filled and bigger."""
    plate.line([(middle + side * _HALF, y), (middle + side * (_HALF + 4), y)], 2.0)
    head = (middle + side * (_HALF + 8), y)
    if filled:
        plate.line([(middle - side * _HALF, y), head], 4.0)
        plate.oval(head, 5.0, 9.0)
    else:
        plate.oval(head, 3.8, 5.4)
        plate.oval(head, 2.3, 3.9, ink=False)


@cached
def pegbox(place: int) -> Image.Image:
    """Four pegs, the one of string `place` (0 for the player's left) filled."""
    plate = Plate(BOX_WIDTH, HEIGHT)
    _box(plate, BOX_WIDTH / 2.0)
    for i in range(COUNT):
        y = _UPPER_Y if is_upper(i) else _LOWER_Y
        _peg(plate, BOX_WIDTH / 2.0, -1.0 if is_left(i) else 1.0, y, i == place)
    return plate.mask()


@cached
def _push_arrow(half: int, to_the_left: bool) -> Image.Image:
    """A block arrow along the shaft of a peg, into the pegbox."""
    plate = Plate(_PUSH_WIDTH, 2 * half)
    tail = half * 0.45
    corners = [(0, half - tail), (4, half - tail), (4, 0), (_PUSH_WIDTH, half), (4, 2 * half)]
    plate.area([*corners, (4, half + tail), (0, half + tail)])
    mask = plate.mask()
    return mask.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if to_the_left else mask


@cached
def peg(place: int, rotation: Rotation, amount: Amount, push: Push, fat: bool = False) -> Image.Image:
    """The pegbox, and beside it on the peg's own side its head from the end, arrows around it."""
    left = is_left(place)
    field = Image.new("1", (WIDTH, HEIGHT))
    box_at = WIDTH - BOX_WIDTH if left else 0
    field.paste(INK, (box_at, 0), pegbox(place))
    dial_at = round((_DIAL_HALF if left else WIDTH - _DIAL_HALF) - arrows.CENTRE[0])
    head = arrows.thumb_piece(rotation, amount)
    arrows.lay(field, dial_at, head, arrows.around_peg, (rotation, amount), fat=fat)
    if push is not Push.NONE:
        half = 14 if push is Push.ABOVE_ALL else 9
        at = box_at - _PUSH_WIDTH - _PUSH_GAP if left else BOX_WIDTH + _PUSH_GAP
        y = round(_UPPER_Y if is_upper(place) else _LOWER_Y) - half
        field.paste(INK, (at, y), _push_arrow(half, not left))
    return field
