"""Signs for what is not a turn: slow, wait, heard, a pitch to ask for, and what can be broken."""

import math

from PIL import Image

from device.drawing.plate import Plate, along_arc, kept, on_clock


@kept
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


@kept
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


@kept
def ear(scale: float = 1.0) -> Image.Image:
    """Listening: 30 by 44 pixels times `scale`, open to the left."""
    plate = Plate(math.ceil(30 * scale), math.ceil(44 * scale))
    rim = [*along_arc((16, 15), 12.0, -80.0, 190.0), (24, 27), (20, 33), (17.5, 38), (13, 40.5), (9, 39)]
    inner = [*along_arc((15.5, 15.5), 5.2, -50.0, 170.0), (17, 24), (12.5, 28)]
    for stroke, thick in ((rim, 4.2), (inner, 3.2)):
        plate.line([(x * scale, y * scale) for x, y in stroke], max(thick * scale, 2.0))
    return plate.mask()


@kept
def waves(to_the_left: bool = False, count: int = 3) -> Image.Image:
    """Sound going out from the left edge, 20 by 40 pixels."""
    plate = Plate(20, 40)
    for i in range(count):
        plate.arc((-6, 20), 9.0 + 7.5 * i, 50.0, 80.0, 2.6)
    mask = plate.mask()
    return mask.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if to_the_left else mask


@kept
def tuning_fork() -> Image.Image:
    """A reference pitch: 24 by 56 pixels."""
    plate = Plate(24, 56)
    plate.line([(3.5, 3), (3.5, 22), *along_arc((12, 22), 8.5, 270.0, -180.0), (20.5, 22), (20.5, 3)], 5.0)
    plate.line([(12, 30), (12, 50)], 5.0)
    plate.disc((12, 51), 4.5)
    return plate.mask()


@kept
def microphone() -> Image.Image:
    """30 by 50 pixels."""
    plate = Plate(30, 50)
    plate.line([(15, 9), (15, 22)], 16.0)
    for y in (9.0, 15.0, 21.0):
        plate.line([(9, y), (15, y)], 1.6, ink=False)
    plate.arc((15, 21), 12.5, 90.0, 180.0, 3.2)
    plate.line([(15, 33), (15, 46)], 3.4)
    plate.line([(6, 47.5), (24, 47.5)], 4.0)
    return plate.mask()


@kept
def loudspeaker() -> Image.Image:
    """30 by 40 pixels, sounding to the right."""
    plate = Plate(30, 40)
    plate.box(1, 13, 11, 27)
    plate.area([(12, 13), (27, 1), (27, 39), (12, 27)])
    return plate.mask()


@kept
def page(pencil: bool = False) -> Image.Image:
    """The settings: a written page, 40 by 50 pixels; with a pencil when they are to be kept."""
    plate = Plate(40, 50)
    plate.area([(2, 1), (24, 1), (34, 11), (34, 49), (2, 49)])
    plate.area([(4.4, 3.4), (23, 3.4), (31.6, 12), (31.6, 46.6), (4.4, 46.6)], ink=False)
    for y, right in ((14, 20), (22, 27), (30, 27), (38, 20)):
        plate.box(8, y, right, y + 3)
    if pencil:
        plate.line([(35, 20), (22, 40)], 10.0, ink=False)
        plate.line([(37, 18), (25, 37)], 5.6)
        plate.area([(22.6, 35), (27.6, 38.6), (20.4, 43.6)])
    return plate.mask()


@kept
def cross(size: int, thick: float) -> Image.Image:
    """Two strokes across: not this one."""
    plate = Plate(size, size)
    edge = thick / 2.0
    plate.line([(edge, edge), (size - edge, size - edge)], thick)
    plate.line([(size - edge, edge), (edge, size - edge)], thick)
    return plate.mask()


@kept
def slash(width: int, height: int, thick: float) -> Image.Image:
    """One stroke across, from the lower left to the upper right: not so."""
    plate = Plate(width, height)
    edge = thick / 2.0
    plate.line([(edge, height - edge), (width - edge, edge)], thick)
    return plate.mask()


@kept
def moon() -> Image.Image:
    """Asleep: 27 by 27 pixels."""
    plate = Plate(27, 27)
    plate.disc((13.5, 13.5), 13.5)
    plate.disc((20, 10.5), 11.5, ink=False)
    return plate.mask()


@kept
def bowed(height: int) -> Image.Image:
    """A member of the violin family from the front, `height` pixels high."""
    h = float(height)
    width = math.ceil(h * 0.42)
    x = width / 2.0
    plate = Plate(width, height)
    plate.disc((x, h * 0.045), h * 0.045)
    plate.line([(x, h * 0.05), (x, h * 0.5)], max(1.6, h * 0.055))
    plate.disc((x, h * 0.53), h * 0.145)
    plate.disc((x, h * 0.8), h * 0.195)
    plate.box(x - h * 0.115, h * 0.55, x + h * 0.115, h * 0.75)
    for side in (-1.0, 1.0):
        plate.disc((x + side * h * 0.185, h * 0.655), h * 0.07, ink=False)
        plate.line(
            [(x + side * h * 0.08, h * 0.63), (x + side * h * 0.095, h * 0.72)],
            max(1.0, h * 0.022),
            ink=False,
        )
    plate.box(x - h * 0.03, h * 0.8, x + h * 0.03, h * 0.93, ink=False)
    return plate.mask()


@kept
def question() -> Image.Image:
    """A question mark, 24 by 38 pixels."""
    plate = Plate(24, 38)
    plate.line([*along_arc((12, 11), 8.5, -80.0, 200.0), (12, 21), (12, 25)], 5.4)
    plate.disc((12, 34), 3.6)
    return plate.mask()
