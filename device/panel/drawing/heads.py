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
_CAPITAL = 6  # pixels, the width of most small capitals
_SPELLED, _BESIDE = (11, 24, 2), (6, 12, 0)  # width and height of a letter and the gap after it, in pixels


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


def _spaced(text: str, width: int, height: int, gap: int) -> Image.Image:
    """Small capitals made as large as is said, with a gap between them that is seen from afar."""
    whole, left = Image.new("1", (len(text) * (width + gap), height)), 0
    for letter in text:
        small = words(letter)
        small = small.crop(small.getbbox())
        wide = round(width * small.width / _CAPITAL)
        large = small.convert("L").resize((wide, height), Image.Resampling.BILINEAR)
        whole.paste(large.point(lambda light: 255 if light > 127 else 0, "1"), (left, 0))
        left += wide + gap
    return whole.crop((0, 0, left - gap, height))


@cached
def machine_head(place: int, count: int, tighten: bool, amount: Amount, spelled: bool) -> Image.Image:
    """Which one and how far, or, `spelled`, the word across the field; no rotation, since they differ."""
    field = Image.new("1", (WIDTH, HEIGHT))
    word = _spaced("TIGHTEN" if tighten else "LOOSEN", *(_SPELLED if spelled else _BESIDE))
    marks = _marks(TURN_MARKS[amount])
    if spelled:
        field.paste(INK, ((WIDTH - word.width) // 2, 3), word)
        field.paste(INK, ((WIDTH - marks.width) // 2, HEIGHT - _MARKS[1] - 3), marks)
        return field
    field.paste(INK, (0, 0), machine_heads(place) if count == _FOUR else _row(place, count))
    field.paste(INK, (WIDTH - _MARKS[0] // 2 - word.width // 2, 8), word)
    field.paste(INK, (WIDTH - _MARKS[0], HEIGHT - _MARKS[1] - 3), marks)
    return field
