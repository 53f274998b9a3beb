"""Machine heads, and pegboxes that differ from maker to maker: words and marks, no rotation."""

from PIL import Image

from device.instrument.tuning_parts import Amount
from device.panel.drawing.lettering import words
from device.panel.drawing.pegs import TURN_MARKS
from device.panel.drawing.plate import INK, Plate, cached

WIDTH, HEIGHT = 94, 52  # pixels
_BOX_WIDTH = 44
_MARKS = 45, 18  # pixels
_FOUR = 4
_TALLER = 4  # times the small capitals, six pixels high: the word is what the hand goes by


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
def _marks(count: int) -> Image.Image:
    """Three fields in a row, one, two or three of them filled: a hair, a little, more."""
    plate = Plate(*_MARKS)
    for i in range(3):
        plate.box(16 * i, 0, 16 * i + 13, _MARKS[1])
        if i >= count:
            plate.box(16 * i + 1.5, 1.5, 16 * i + 11.5, _MARKS[1] - 1.5, ink=False)
    return plate.mask()


@cached
def machine_head(place: int, count: int, tighten: bool, amount: Amount) -> Image.Image:
    """Which one, the word for what to do with it, and how far; no rotation, since they differ."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (0, 0), machine_heads(place) if count == _FOUR else _row(place, count))
    word = words("TIGHTEN" if tighten else "LOOSEN")
    word = word.crop(word.getbbox())
    tall = word.resize((word.width, _TALLER * word.height), Image.Resampling.NEAREST)
    field.paste(INK, (WIDTH - _MARKS[0] // 2 - word.width // 2, 3), tall)
    field.paste(INK, (WIDTH - _MARKS[0], HEIGHT - _MARKS[1] - 3), _marks(TURN_MARKS[amount]))
    return field
