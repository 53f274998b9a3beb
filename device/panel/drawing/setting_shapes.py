"""Shapes that only the pages of the settings use: screws, a peg, a padlock, keys, a sun."""

from PIL import Image

from device.config.settings import Cores, FineTuners, Pegs
from device.panel.drawing.plate import Plate, cached, on_clock

WIDTH, HEIGHT = 42, 38  # pixels


@cached
def keyboard() -> Image.Image:
    """Keys of a keyboard: every string on its grid."""
    plate = Plate(WIDTH, HEIGHT)
    plate.box(1, 1, 41, 37)
    for x in (2, 15, 28):
        plate.box(x + 0.5, 2, x + 11.5, 36, ink=False)
    for x in (14, 27):
        plate.box(x - 4, 1, x + 4, 22)
    return plate.mask()


@cached
def two_ringing() -> Image.Image:
    """Two strings that ring together, three swings to two."""
    plate = Plate(WIDTH, HEIGHT)
    for x, swings in ((12, 2), (30, 3)):
        step = HEIGHT / swings
        for i in range(swings):
            plate.oval((x, step * (i + 0.5)), 7.0, step / 2)
            plate.oval((x, step * (i + 0.5)), 5.0, step / 2 - 2, ink=False)
    return plate.mask()


@cached
def screws(fitted: FineTuners) -> Image.Image:
    """Four places at the tailpiece, filled where there is a fine tuner."""
    plate = Plate(WIDTH, HEIGHT)
    for i in range(4):
        x = 5.5 + 10.3 * i
        plate.line([(x, 0), (x, 15)], 1.4)
        plate.disc((x, 20), 4.8)
        if fitted is FineTuners.NONE or (fitted is FineTuners.HIGHEST and i < 3):
            plate.disc((x, 20), 3.2, ink=False)
    plate.line([(1, 29), (14, 37)], 1.6)
    plate.line([(41, 29), (28, 37)], 1.6)
    return plate.mask()


@cached
def kind_of_peg(pegs: Pegs) -> Image.Image:
    """A peg with an arrow that pushes it in; a cogwheel in its place when geared."""
    plate = Plate(WIDTH, HEIGHT)
    if pegs is Pegs.GEARED:
        for tooth in range(8):
            plate.line([(21, 19), on_clock((21, 19), 16.0, 45.0 * tooth)], 6.0)
        plate.disc((21, 19), 13.0)
        plate.disc((21, 19), 6.0, ink=False)
        return plate.mask()
    plate.oval((24, 19), 6.0, 12.0)
    plate.box(28, 16.5, 42, 21.5)
    plate.area([(1, 15), (7, 15), (7, 9), (16, 19), (7, 29), (7, 23), (1, 23)])
    return plate.mask()


@cached
def string(gut: bool) -> Image.Image:
    """A thin bright line of steel, or a twisted strand of gut, beside its letter."""
    plate = Plate(14, HEIGHT)
    plate.box(4 if gut else 6, 0, 10 if gut else 8, HEIGHT)
    for y in range(-2, HEIGHT, 5) if gut else ():
        plate.line([(3, y + 4), (11, y)], 1.3, ink=False)
    return plate.mask()


@cached
def wound_string(cores: Cores) -> Image.Image:
    """The end of a wound string, its core laid bare: twisted gut, a bundle of threads, or one wire."""
    plate = Plate(WIDTH, HEIGHT)
    plate.box(0, 7, 20, 31)
    for x in range(-4, 20, 5):
        plate.line([(x, 32), (x + 5, 6)], 1.6, ink=False)
    if cores is Cores.UNKNOWN:
        return plate.mask()
    if cores is Cores.SYNTHETIC:
        for y in (11, 15, 19, 23, 27):
            plate.line([(20, y), (42, y + (y - 19) * 0.5)], 1.8)
        return plate.mask()
    half = 6 if cores is Cores.GUT else 2.5
    plate.box(20, 19 - half, 42, 19 + half)
    for x in range(18, 46, 6) if cores is Cores.GUT else ():
        plate.line([(x + 6, 19 + half + 1), (x, 19 - half - 1)], 1.6, ink=False)
    return plate.mask()


@cached
def sun(percent: float) -> Image.Image:
    """Longer rays, more light."""
    plate, middle = Plate(WIDTH, HEIGHT), (21.0, 19.0)
    plate.disc(middle, 7.5)
    for ray in range(8):
        ends = on_clock(middle, 10.5, 45.0 * ray), on_clock(middle, 11.5 + percent * 0.07, 45.0 * ray)
        plate.line(list(ends), 2.4)
    return plate.mask()


@cached
def padlock(locked: bool) -> Image.Image:
    """Shut or open."""
    plate = Plate(WIDTH, HEIGHT)
    lift = 0.0 if locked else -3.0
    plate.arc((21, 14 + lift), 8.0, 270.0, 180.0, 4.0)
    plate.box(11, 13 + lift, 15, 20)
    plate.box(27, 13, 31, 20 if locked else 13)
    plate.box(7, 18, 35, 37)
    plate.disc((21, 26), 3.0, ink=False)
    plate.box(20, 26, 22, 33, ink=False)
    return plate.mask()


@cached
def button(how_many: int) -> Image.Image:
    """A finger on one button, or two fingers on two."""
    plate = Plate(WIDTH, HEIGHT)
    for i in range(how_many):
        x = 21 + (i - (how_many - 1) / 2) * 20
        plate.box(x - 9, 30, x + 9, 37)
        plate.line([(x, 5), (x, 24)], 9.0)
    return plate.mask()


@cached
def forward(by_itself: bool) -> Image.Image:
    """From box to box by itself, or only with a button."""
    plate = Plate(WIDTH, HEIGHT)
    plate.box(0, 12, 13, 25)
    plate.box(29, 12, 42, 25)
    plate.box(30.5, 13.5, 40.5, 23.5, ink=False)
    plate.area([(15, 16.5), (20, 16.5), (20, 11), (27, 18.5), (20, 26), (20, 20.5), (15, 20.5)])
    if not by_itself:
        plate.box(14, 32, 28, 37)
    return plate.mask()
