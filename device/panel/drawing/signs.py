"""Signs for what is not a turn: slow, wait, heard, asleep, not this one, which one."""

from PIL import Image

from device.panel.drawing.plate import Plate, along_arc, cached, on_clock


@cached
def snail() -> Image.Image:
    """Slowly: 76 by 48 pixels, creeping to the left."""
    plate = Plate(76, 48)
    plate.line([(9, 39), (20, 44), (72, 45)], 5.0)
    plate.line([(9, 40), (12, 27)], 7.0)
    for x in (4.0, 15.0):
        plate.line([(11, 26), (x, 13)], 2.2)
        plate.disc((x, 12), 2.6)
    plate.disc((44, 23), 22.5)
    spiral = [on_clock((44, 23), 19.0 - turn * 0.0215, 150.0 + turn) for turn in range(0, 800, 12)]
    plate.line(spiral, 2.6, ink=False)
    return plate.mask()


@cached
def hourglass(quarter: int = 1) -> Image.Image:
    """Wait: 34 by 50 pixels; `quarter` 0..3 says how much sand has run."""
    plate = Plate(34, 50)
    for y in (2.5, 47.5):
        plate.line([(2.5, y), (31.5, y)], 4.5)
    for outer, ink in ((0.0, True), (2.2, False)):
        left = [
            (4.0 + outer, 4),
            (4.0 + outer, 12),
            (15 + outer * 0.6, 25),
            (4.0 + outer, 38),
            (4.0 + outer, 46),
        ]
        plate.area(left + [(34 - x, y) for x, y in reversed(left)], ink=ink)
    level = 9.0 + 3.5 * quarter
    inset = 8.0 if level < 12 else 8.0 + (level - 12) * 0.8
    plate.area([(inset, level), (34 - inset, level), (17, 23)])
    plate.box(16.4, 23, 17.6, 44)
    height = 3.0 + 3.5 * quarter
    plate.area([(8, 44), (26, 44), (17 + 2, 44 - height), (17 - 2, 44 - height)])
    return plate.mask()


@cached
def ear(zoom: float = 1.0) -> Image.Image:
    """Listening: 30 by 44 pixels times `zoom`, open to the left."""
    plate = Plate(30, 44, zoom)
    rim = [*along_arc((16, 15), 12.0, -80.0, 190.0), (24, 27), (20, 33), (17.5, 38), (13, 40.5), (9, 39)]
    plate.line(rim, 4.2)
    plate.line([*along_arc((15.5, 15.5), 5.2, -50.0, 170.0), (17, 24), (12.5, 28)], 3.2)
    return plate.mask()


@cached
def waves(to_the_left: bool = False, count: int = 3) -> Image.Image:
    """Sound going out from the left edge, 20 by 40 pixels."""
    plate = Plate(20, 40)
    for i in range(count):
        plate.arc((-6, 20), 9.0 + 7.5 * i, 50.0, 80.0, 2.6)
    mask = plate.mask()
    return mask.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if to_the_left else mask


@cached
def cross(size: int, thick: float) -> Image.Image:
    """Two strokes across: not this one."""
    plate = Plate(size, size)
    edge = thick / 2.0
    plate.line([(edge, edge), (size - edge, size - edge)], thick)
    plate.line([(size - edge, edge), (edge, size - edge)], thick)
    return plate.mask()


@cached
def tick(width: int, height: int, thick: float) -> Image.Image:
    """It is so, or was done."""
    plate, edge = Plate(width, height), thick / 2.0
    low = (width * 0.36, height - edge)
    plate.line([(edge, height * 0.55), low, (width - edge, edge)], thick)
    return plate.mask()


@cached
def slash(width: int, height: int, thick: float) -> Image.Image:
    """One stroke across, from the lower left to the upper right: not so."""
    plate = Plate(width, height)
    edge = thick / 2.0
    plate.line([(edge, height - edge), (width - edge, edge)], thick)
    return plate.mask()


@cached
def ring(size: int, *, filled: bool) -> Image.Image:
    """One of several that are wanted; filled for the one that is wanted now."""
    plate, middle = Plate(size, size), size / 2.0
    plate.disc((middle, middle), middle)
    if not filled:
        plate.disc((middle, middle), middle - 2.0, ink=False)
    return plate.mask()


@cached
def moon(zoom: float = 1.0) -> Image.Image:
    """Asleep: 27 by 27 pixels times `zoom`."""
    plate = Plate(27, 27, zoom)
    plate.disc((13.5, 13.5), 13.5)
    plate.disc((20, 10.5), 11.5, ink=False)
    return plate.mask()


@cached
def question() -> Image.Image:
    """A question mark, 24 by 38 pixels."""
    plate = Plate(24, 38)
    plate.line([*along_arc((12, 11), 8.5, -80.0, 200.0), (12, 21), (12, 25)], 5.4)
    plate.disc((12, 34), 3.6)
    return plate.mask()
