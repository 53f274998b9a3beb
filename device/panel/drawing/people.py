"""Hands: one that plucks, one that says stop, and the small and the tall figure."""

from PIL import Image

from device.panel.drawing.plate import Plate, cached

PLUCKING = (40, 28)  # pixels; the fingertip is at its left edge, `TIP_Y` below its top
TIP_Y = 8


def _fist(plate: Plate, moved: float, fatter: float) -> None:
    """A fist with its first finger out, `fatter` by so many pixels all round."""
    d, grown = moved, 2.0 * fatter
    plate.line([(4.5 + d, 8 + d), (20 + d, 9 + d)], 9.0 + grown)
    plate.line([(19 + d, 12 + d), (19 + d, 21 + d)], 13.0 + grown)
    plate.line([(25 + d, 11 + d), (27 + d, 20 + d)], 14.0 + grown)
    upper, lower = d - fatter, d + fatter
    plate.area([(24, 5 + upper), (44, 9 + upper), (44, 25 + lower), (24, 27 + lower)])


@cached
def plucking() -> Image.Image:
    """A hand that comes from the right with its first finger stretched out."""
    plate = Plate(*PLUCKING)
    _fist(plate, 0.0, 0.0)
    for y in (15.0, 20.5):
        plate.line([(14.5, y), (23, y)], 1.3, ink=False)
    plate.line([(35.5, 7), (35.5, 27)], 1.3, ink=False)
    return plate.mask()


@cached
def plucking_rim() -> Image.Image:
    """The same hand two pixels fatter, to clear the ground under it; its corner is one pixel further out."""
    plate = Plate(PLUCKING[0] + 2, PLUCKING[1] + 4)
    _fist(plate, 1.0, 2.0)
    return plate.mask()


@cached
def palm() -> Image.Image:
    """An open hand held up, 46 by 58 pixels."""
    plate = Plate(46, 58)
    for x, top in ((15.0, 11.0), (23.0, 4.5), (31.0, 5.5), (39.0, 14.0)):
        plate.line([(x, top), (x + (27 - x) * 0.12, 36)], 6.4)
    plate.line([(5, 29), (16, 44)], 7.4)
    plate.area([(12, 34), (42, 34), (41, 46), (36, 54), (20, 54), (14, 48)])
    plate.disc((20.5, 48), 6.5)
    plate.disc((35, 47), 7)
    plate.box(20, 46, 35, 58)
    return plate.mask()


def _figure(plate: Plate, x: float, top: float, bottom: float, wide: float, head: float) -> None:  # noqa: PLR0913, PLR0917 - where it stands and its build
    """Somebody standing, `wide` at the shoulders."""
    neck, hip = top + 2.3 * head, top + (bottom - top) * 0.58
    plate.disc((x, top + head), head)
    plate.area([(x - wide / 2, neck), (x + wide / 2, neck), (x + wide * 0.32, hip), (x - wide * 0.32, hip)])
    for side in (-1.0, 1.0):
        plate.line([(x + side * wide * 0.18, hip), (x + side * wide * 0.22, bottom - 1.5)], wide * 0.26)
        plate.line([(x + side * wide * 0.45, neck + 1.2), (x + side * wide * 0.62, hip)], wide * 0.17)


@cached
def tall_one(width: int = 18, height: int = 48) -> Image.Image:
    """A grown-up."""
    plate = Plate(width, height)
    _figure(plate, width / 2, 0, height, width * 0.7, height * 0.11)
    return plate.mask()


@cached
def small_one(raised: bool = False) -> Image.Image:
    """A child, 18 by 40 pixels, standing at the bottom; one arm up to ask, or both down."""
    plate = Plate(18, 40)
    _figure(plate, 8, 10, 40, 10.5, 4.4)
    if raised:
        plate.line([(12, 19), (15.5, 3)], 3.2)
        plate.disc((15.5, 2.8), 2.4)
    return plate.mask()


@cached
def smile(size: int = 44) -> Image.Image:
    """A round happy face."""
    plate = Plate(size, size)
    middle = size / 2.0
    plate.disc((middle, middle), middle)
    plate.disc((middle, middle), middle - size * 0.07, ink=False)
    for side in (-1.0, 1.0):
        plate.oval((middle + side * size * 0.17, size * 0.38), size * 0.065, size * 0.1)
    plate.arc((middle, size * 0.46), size * 0.28, 100.0, 160.0, size * 0.08)
    return plate.mask()
