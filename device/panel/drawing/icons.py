"""Things by their outlines: a tuning fork, a microphone, a loudspeaker, a page, an instrument."""

import math

from PIL import Image

from device.panel.drawing.plate import Plate, along_arc, cached


@cached
def tuning_fork(zoom: float = 1.0) -> Image.Image:
    """A reference pitch: 24 by 56 pixels times `zoom`."""
    plate = Plate(24, 56, zoom)
    plate.line([(3.5, 3), (3.5, 22), *along_arc((12, 22), 8.5, 270.0, -180.0), (20.5, 22), (20.5, 3)], 5.0)
    plate.line([(12, 30), (12, 50)], 5.0)
    plate.disc((12, 51), 4.5)
    return plate.mask()


@cached
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


@cached
def loudspeaker(zoom: float = 1.0) -> Image.Image:
    """30 by 40 pixels times `zoom`, sounding to the right."""
    plate = Plate(30, 40, zoom)
    plate.box(1, 13, 11, 27)
    plate.area([(12, 13), (27, 1), (27, 39), (12, 27)])
    return plate.mask()


@cached
def page(pencil: bool = False, zoom: float = 1.0) -> Image.Image:
    """The settings: a written page, 40 by 50 pixels times `zoom`; with a pencil when they are to be kept."""
    plate = Plate(40, 50, zoom)
    plate.area([(2, 1), (24, 1), (34, 11), (34, 49), (2, 49)])
    plate.area([(4.4, 3.4), (23, 3.4), (31.6, 12), (31.6, 46.6), (4.4, 46.6)], ink=False)
    for y, right in ((14, 20), (22, 27), (30, 27), (38, 20)):
        plate.box(8, y, right, y + 3)
    if pencil:
        plate.line([(35, 20), (22, 40)], 10.0, ink=False)
        plate.line([(37, 18), (25, 37)], 5.6)
        plate.area([(22.6, 35), (27.6, 38.6), (20.4, 43.6)])
    return plate.mask()


@cached
def bowed_instrument(height: int) -> Image.Image:
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
