"""The signs of written music, in shapes of our own, for a staff whose spaces are six pixels.

What is small is set pixel by pixel, since at that size each one counts; clefs are cut from curves. Each
sign says which of its rows lies on the line or space it belongs to, counted from its top.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from device.notation.pitches import Alteration
from device.notation.staff import Clef
from device.panel.drawing.plate import Plate, Point, cached

SPACE = 6  # pixels between two lines of the staff


@dataclass(frozen=True, slots=True)
class Sign:
    """A shape, and the row of it that lies at the place it stands for."""

    mask: Image.Image
    row: int


def _pixels(text: str) -> Image.Image:
    """A mask from rows of # and dots."""
    rows = text.split()
    mask = Image.new("1", (len(rows[0]), len(rows)))
    for y, row in enumerate(rows):
        for x, pixel in enumerate(row):
            if pixel == "#":
                mask.putpixel((x, y), 1)
    return mask


_ACCIDENTALS = {
    Alteration.SHARP: (
        """
        .....#.
        .#...#.
        .#...#.
        .#...##
        .#.####
        ######.
        ###..#.
        .#...#.
        .#...##
        .#.####
        ######.
        ###..#.
        .#...#.
        .#...#.
        .#.....
        """,
        7,
    ),
    Alteration.FLAT: (
        """
        #.....
        #.....
        #.....
        #.....
        #.....
        #.....
        #.....
        #.....
        #.###.
        ##..##
        #...##
        #...##
        #..##.
        #.##..
        ###...
        #.....
        """,
        11,
    ),
    Alteration.NATURAL: (
        """
        #.....
        #.....
        #.....
        #....#
        #..###
        #####.
        ###..#
        #....#
        #....#
        #....#
        #..###
        ######
        ###..#
        #....#
        .....#
        .....#
        .....#
        """,
        8,
    ),
}

_HEAD = """
    ....####..
    ..#######.
    .#########
    ##########
    #########.
    .#######..
    ..####....
"""
_HOLLOW_HEAD = """
    ....####..
    ..###..##.
    .##.....##
    ##.....###
    ##....###.
    .##.###...
    ..###.....
"""
_WHOLE_HEAD = """
    ...#####...
    .####.####.
    ###....####
    ###....####
    ####....###
    .####.####.
    ...#####...
"""
_FLAG = """
    #.......
    #.......
    ##......
    ###.....
    .###....
    ..####..
    ....###.
    .....###
    ......##
    ......##
    ......#.
    .....##.
    .....#..
    ....#...
"""
_QUARTER_REST = """
    .##......
    ..##.....
    ..###....
    ...###...
    ...####..
    ..####...
    ..###....
    .###.....
    .###.....
    ..###....
    ...###...
    ..######.
    .###.###.
    .##......
    .##......
    .###.....
    ..###....
    ...###...
"""
_EIGHTH_REST = """
    .##.....#
    ####...##
    ####..##.
    #######..
    .#####...
    .....##..
    ....##...
    ....##...
    ....##...
    ...##....
    ...##....
    ...##....
    ..##.....
    ..##.....
"""


@cached
def accidental(alteration: Alteration) -> Sign:
    """A sharp, a flat or a natural."""
    text, row = _ACCIDENTALS[alteration]
    return Sign(_pixels(text), row)


@cached
def head(*, hollow: bool = False, whole: bool = False) -> Sign:
    """The head of a note: filled, hollow, or a whole note's; 10 or 11 by 7 pixels."""
    return Sign(_pixels(_WHOLE_HEAD if whole else _HOLLOW_HEAD if hollow else _HEAD), 3)


@cached
def flag() -> Image.Image:
    """The flag of an eighth whose stem goes up; its left edge is the stem's."""
    return _pixels(_FLAG)


@cached
def quarter_rest() -> Sign:
    """The middle of a quarter rest lies on the middle line."""
    return Sign(_pixels(_QUARTER_REST), 8)


@cached
def eighth_rest() -> Sign:
    """The knob of an eighth rest lies above the middle line."""
    return Sign(_pixels(_EIGHTH_REST), 6)


def _along(points: Sequence[Point], steps: int = 8) -> list[Point]:
    """A smooth curve through the points (Catmull and Rom 1974, uniform)."""
    padded = [points[0], *points, points[-1]]
    curve: list[Point] = []
    for a, b, c, d in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        for i in range(steps):
            t = i / steps
            curve.append((_spline(t, a[0], b[0], c[0], d[0]), _spline(t, a[1], b[1], c[1], d[1])))
    return [*curve, points[-1]]


def _spline(t: float, a: float, b: float, c: float, d: float) -> float:
    return 0.5 * (
        2.0 * b + (c - a) * t + (2.0 * a - 5.0 * b + 4.0 * c - d) * t**2 + (3.0 * b - a - 3.0 * c + d) * t**3
    )


def _brush(plate: Plate, points: Sequence[Point], thin: float, thick: float, heavy: float) -> None:
    """A curve whose stroke swells to `thick` at the share `heavy` of its way."""
    curve = _along(points)
    for i, point in enumerate(curve):
        near = max(0.0, 1.0 - abs(i / (len(curve) - 1) - heavy) / 0.3)
        plate.disc(point, (thin + (thick - thin) * near) / 2.0)


@cached
def clef_sign(clef: Clef) -> Sign:
    """The clef; its row lies on the line it names (G, C or F), see `clef_line`."""
    return {Clef.TREBLE: _treble, Clef.ALTO: _alto, Clef.BASS: _bass}[clef]()


def clef_line(clef: Clef) -> int:
    """The position of the line that the clef names."""
    return {Clef.TREBLE: 2, Clef.ALTO: 4, Clef.BASS: 6}[clef]


_TREBLE_UP, _TREBLE_DOWN = 29, 15  # pixels above and below the G line


def _treble() -> Sign:
    """One line: a curl about the G, up, a loop at the top, straight down, a hook with a knob."""
    curl = [(6.6, 2.8), (5.2, -0.2), (7.4, -3.6), (11.8, -3.6), (14.8, -0.2), (13.6, 4.6), (9.2, 6.6)]
    rise = [(3.6, 5.2), (1.0, 0.4), (2.2, -6.4), (7.0, -12.4), (11.4, -18.0), (11.8, -24.6), (10.0, -27.8)]
    fall = [(7.6, -25.4), (6.8, -20.0), (8.2, -9.0), (10.4, 6.0), (10.4, 10.6), (8.0, 13.2), (5.0, 12.2)]
    plate = Plate(16, _TREBLE_UP + _TREBLE_DOWN)
    points = [(x, y + _TREBLE_UP) for x, y in curl + rise + fall]
    _brush(plate, points, 1.35, 2.7, 0.42)
    plate.disc((4.6, 11.4 + _TREBLE_UP), 2.1)
    return Sign(plate.mask(), _TREBLE_UP)


def _alto() -> Sign:
    """A thick and a thin upright, and two bows that meet at the middle line."""
    half = 2 * SPACE
    plate = Plate(17, 2 * half + 1)
    middle = half + 0.5
    plate.box(0, 0, 3, 2 * half + 1)
    plate.box(5, 0, 6, 2 * half + 1)
    for way in (-1.0, 1.0):
        bow = [(6.5, 0.0), (9.0, 3.4), (13.2, 3.2), (15.2, 6.8), (13.6, 10.6), (10.4, 11.3), (8.4, 9.4)]
        _brush(plate, [(x, middle + way * y) for x, y in bow], 1.4, 3.2, 0.55)
        plate.disc((9.0, middle + way * 8.6), 1.7)
    return Sign(plate.mask(), half)


def _bass() -> Sign:
    """A knob on the F line, a bow over and down to the left, two dots about the line."""
    plate = Plate(19, 21)
    line = 6.5
    plate.disc((3.4, line), 3.0)
    bow = [(1.6, line - 1.0), (3.0, 2.2), (7.2, 0.9), (11.6, 3.4), (12.0, 8.6), (8.6, 14.8), (1.2, 20.0)]
    _brush(plate, bow, 1.3, 3.4, 0.55)
    for y in (line - 3.0, line + 3.0):
        plate.disc((16.6, y), 1.5)
    return Sign(plate.mask(), 6)
