"""Machine heads, and pegboxes that differ from maker to maker: words and up or down, no rotation."""

from PIL import Image

from device.instrument.tuning_parts import Amount
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK, Plate, cached

WIDTH, HEIGHT = 94, 52  # pixels
_BOX_WIDTH = 44
_ARROW = (34, 40)  # pixels
_TAIL = {Amount.A_HAIR: 5.0, Amount.A_LITTLE: 10.0, Amount.MORE: 18.0}  # pixels, how broad the shaft is
_FOUR = 4


@cached
def machine_heads(place: int) -> Image.Image:
    """A double bass's four machine heads with their winged keys, one of them filled."""
    plate = Plate(_BOX_WIDTH, HEIGHT)
    middle = _BOX_WIDTH / 2.0
    for side in (-1.0, 1.0):
        plate.line([(middle + side * 5, 8), (middle + side * 6, 51)], 1.6)
    plate.disc((middle, 6), 6.0)
    plate.disc((middle, 6), 3.6, ink=False)
    for i in range(_FOUR):
        side, y = (-1.0 if i < _FOUR // 2 else 1.0), (15.0 if 0 < i < _FOUR - 1 else 39.0)
        _winged_key(plate, middle + side * 14, y, side, i == place)
    return plate.mask()


def _winged_key(plate: Plate, x: float, y: float, side: float, filled: bool) -> None:
    plate.line([(x - side * 8, y), (x, y)], 4.0 if filled else 2.0)
    for wing in (-1.0, 1.0):
        plate.oval((x + side * 2, y + wing * 4.8), 4.8, 5.0)
        if not filled:
            plate.oval((x + side * 2, y + wing * 4.8), 3.3, 3.5, ink=False)


@cached
def _row(place: int, count: int) -> Image.Image:
    """Ends of the strings in a row, low to high as they lie, one of them filled."""
    plate = Plate(_BOX_WIDTH + 8, HEIGHT)
    step = (_BOX_WIDTH - 4) / count
    for i in range(count):
        x = 2 + step * (i + 0.5)
        plate.line([(x, 0), (x, 14)], 1.2)
        plate.oval((x, 28), step / 2 - 0.5, 14.0)
        if i != place:
            plate.oval((x, 28), step / 2 - 1.9, 12.6, ink=False)
    return plate.mask()


@cached
def _arrow(up: bool, amount: Amount) -> Image.Image:
    """Up to tighten, down to loosen; the broader its shaft, the more."""
    plate = Plate(*_ARROW)
    middle, half = _ARROW[0] / 2.0, _TAIL[amount] / 2.0
    plate.area([(middle, 0), (_ARROW[0], 19), (0, 19)])
    plate.box(middle - half, 17, middle + half, _ARROW[1])
    mask = plate.mask()
    return mask if up else mask.transpose(Image.Transpose.FLIP_TOP_BOTTOM)


@cached
def machine_head(place: int, count: int, tighten: bool, amount: Amount) -> Image.Image:
    """Which one, the word, and an arrow up or down."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (0, 0), machine_heads(place) if count == _FOUR else _row(place, count))
    word = words("TIGHTEN" if tighten else "LOOSEN")
    field.paste(INK, (WIDTH - 22 - word.width // 2 - 4, 0), word)
    field.paste(INK, (WIDTH - 26 - _ARROW[0] // 2, HEIGHT - _ARROW[1]), _arrow(tighten, amount))
    return field
