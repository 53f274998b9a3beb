"""The pegbox with its four pegs as the player sees it, and which way the hand on one of them goes.

The two outer strings' pegs sit nearer the nut, the two inner strings' nearer the scroll (common
practice for violin, viola and cello). A wooden peg turns by 2 to 20 degrees, far less than an arrow
seen across a room could sweep, so no angle is drawn: a straight arrow lies beside the peg as if on
the floor before the player, small where it is far and large where it is near, and points away or
towards. Of the three fields of its shaft one, two or three are filled: a hair, a little, more.
"""

from enum import IntEnum

from PIL import Image

from device.instrument.tuning_parts import Amount
from device.panel.drawing.plate import INK, Plate, cached

COUNT = 4  # pegs, two a side
WIDTH, HEIGHT = 94, 52  # pixels, the whole field
BOX_WIDTH = 41  # pixels of it for the pegbox
TURN_MARKS = {Amount.A_HAIR: 1, Amount.A_LITTLE: 2, Amount.MORE: 3}
_OFF_MIDDLE = 2.0  # pixels that the pegbox gives way to the filled peg
_HALF = 6.0  # pixels, half the width of the box itself
_UPPER_Y, _LOWER_Y = 16.0, 36.0  # pixels from the top
_ARROW = 34, 48  # pixels
_HEAD = 21.0  # pixels from the base of the arrow's head to its tip
_FIELDS = 3  # of the shaft
_FIELD, _GAP = 7.0, 2.0  # pixels along the arrow
_FAR, _NEAR = 4.0, 13.0  # pixels, half the width of the shaft at the far and at the near end
_FAT = 1.5  # pixels an arrow grows when it is pointed at
_PUSH_WIDTH, _PUSH_GAP = 14, 2


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
        plate.line([(middle + side * (_HALF - 1), 9), (middle + side * _HALF, 51)], 1.6)
    plate.disc((middle, 8), 6.0)
    plate.disc((middle, 8), 3.6, ink=False)
    plate.disc((middle, 8), 1.4)


def _peg(plate: Plate, middle: float, side: float, y: float, filled: bool) -> None:
    """A peg seen from the front; the one to turn is filled and twice as big."""
    head = (middle + side * (_HALF + (9 if filled else 8)), y)
    if filled:
        plate.line([(middle - side * _HALF, y), head], 6.0)
        plate.oval(head, 6.5, 13.0)
        return
    plate.line([(middle + side * _HALF, y), (middle + side * (_HALF + 4), y)], 2.0)
    plate.oval(head, 3.8, 5.4)
    plate.oval(head, 2.3, 3.9, ink=False)


@cached
def pegbox(place: int) -> Image.Image:
    """Four pegs, the one of string `place` (0 for the player's left) filled."""
    plate = Plate(BOX_WIDTH, HEIGHT)
    middle = BOX_WIDTH / 2.0 + (_OFF_MIDDLE if is_left(place) else -_OFF_MIDDLE)
    _box(plate, middle)
    for i in range(COUNT):
        y = _UPPER_Y if is_upper(i) else _LOWER_Y
        _peg(plate, middle, -1.0 if is_left(i) else 1.0, y, i == place)
    return plate.mask()


def _half_width(y: float) -> float:
    """Of the shaft at `y` pixels from the far end."""
    return _FAR + (_NEAR - _FAR) * y / _ARROW[1]


@cached
def straight_arrow(away: bool, amount: Amount, grow: float = 0.0) -> Image.Image:
    """Along the floor, away from the player or towards; one, two or three fields of its shaft filled."""
    plate, middle, length = Plate(*_ARROW), _ARROW[0] / 2.0, float(_ARROW[1])
    tip, base = (0.0, _HEAD) if away else (length, length - _HEAD)
    step = 1.0 if away else -1.0
    half = (14.0 if away else 17.0) + min(grow, 0.0 if not away else grow)
    plate.area([(middle, tip), (middle + half, base), (middle - half, base)])
    for i in range(_FIELDS):
        start = base + step * (_GAP + i * (_FIELD + _GAP))
        _field(plate, middle, start, start + step * _FIELD, grow, i < TURN_MARKS[amount])
    return plate.mask()


def _field(plate: Plate, middle: float, start: float, end: float, grow: float, filled: bool) -> None:  # noqa: PLR0913, PLR0917 - where it lies and how it looks
    """One field of the shaft between two heights."""

    def outline(inset: float) -> list[tuple[float, float]]:
        far, near = min(start, end) + inset, max(start, end) - inset
        a, b = _half_width(far) + grow - inset, _half_width(near) + grow - inset
        return [(middle - a, far), (middle + a, far), (middle + b, near), (middle - b, near)]

    plate.area(outline(0.0))
    if not filled:
        plate.area(outline(1.5), ink=False)


@cached
def _push_arrow(half: int, to_the_left: bool) -> Image.Image:
    """A block arrow along the shaft of a peg, into the pegbox."""
    plate = Plate(_PUSH_WIDTH, 2 * half)
    tail = half * 0.4
    corners = [(0, half - tail), (4, half - tail), (4, 0), (_PUSH_WIDTH, half), (4, 2 * half)]
    plate.area([*corners, (4, half + tail), (0, half + tail)])
    mask = plate.mask()
    return mask.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if to_the_left else mask


@cached
def peg(place: int, away: bool, amount: Amount, push: Push, fat: bool = False) -> Image.Image:
    """The pegbox, and beside it on the peg's own side the arrow that its near side follows."""
    left = is_left(place)
    field = Image.new("1", (WIDTH, HEIGHT))
    box_at = WIDTH - BOX_WIDTH if left else 0
    field.paste(INK, (box_at, 0), pegbox(place))
    arrow = straight_arrow(away, amount, _FAT if fat else 0.0)
    field.paste(INK, (0 if left else WIDTH - arrow.width, 2), arrow)
    if push is not Push.NONE:
        half = 15 if push is Push.ABOVE_ALL else 11
        at = box_at - _PUSH_WIDTH - _PUSH_GAP if left else BOX_WIDTH + _PUSH_GAP
        y = round(_UPPER_Y if is_upper(place) else _LOWER_Y) - half
        field.paste(INK, (at, y), _push_arrow(half, not left))
    return field
