"""The tailpiece with a fine tuner for each string, as the player sees it.

The screw to turn is big and filled, its arrow around it; the others stand small and hollow where
they are, so that its place among them can be counted. A violinist looks at it with the strings
coming in from above. A cellist bends over the instrument and looks down along the strings: they come
in from below, and since it is the face of the screw that is seen, clockwise stays clockwise.
"""

from PIL import Image

from device.instrument.tuning_parts import Rotation
from device.panel.drawing import arrows
from device.panel.drawing.plate import Plate, cached

WIDTH, HEIGHT = 82, 52  # pixels
_BIG, _BIGGER = 42.0, 57.0  # pixels of the row that the big screw takes, and with an arrow all round
_MOST_SMALL = 4.2  # pixels, the largest radius of a small screw


def _outline(plate: Plate, row_y: float) -> None:
    """Wide where the strings come in, narrow below, and cut off where it is of no use."""
    edge, low = row_y - 11.0, min(row_y + 14.0, HEIGHT - 2.0)
    plate.line([(1, row_y + 4), (1, edge + 3), (3, edge), (WIDTH - 3, edge)], 1.4)
    plate.line([(WIDTH - 3, edge), (WIDTH - 1, edge + 3), (WIDTH - 1, row_y + 4)], 1.4)
    for near, far in ((1.0, 16.0), (WIDTH - 1.0, WIDTH - 16.0)):
        plate.line([(near, row_y + 4), (far, low)], 1.4)


def _small_screw(plate: Plate, x: float, y: float, radius: float) -> None:
    plate.line([(x, 0), (x, y - radius)], 1.4)
    plate.disc((x, y), radius)
    plate.disc((x, y), radius - 1.5, ink=False)


@cached
def tailpiece(  # noqa: PLR0913, PLR0917 - which screw, how it turns, who looks
    place: int, count: int, rotation: Rotation, degrees: float, from_above: bool = False, fat: bool = False
) -> Image.Image:
    """Screw number `place` of `count`, from the player's left, with its arrow of `degrees`."""
    big = _BIGGER if arrows.goes_round(degrees) else _BIG
    gap, middle_y = (WIDTH - big) / (count - 1), arrows.arc_of(degrees).centre[1]
    row_y, radius = (HEIGHT - middle_y if from_above else middle_y), min(_MOST_SMALL, gap / 2.0 - 0.7)
    plate = Plate(WIDTH, HEIGHT)
    _outline(plate, row_y)
    for i in range(count):
        if i != place:
            x = gap * (i + 0.5) + (big - gap if i > place else 0.0)
            _small_screw(plate, min(max(x, radius + 3.0), WIDTH - radius - 3.0), row_y, radius)
    field = plate.mask()
    if from_above:
        field = field.transpose(Image.Transpose.FLIP_TOP_BOTTOM)
    left, right = arrows.reach(rotation, degrees)
    middle = min(max(gap * place + big / 2.0, left), WIDTH - right)
    arrows.lay(field, middle, rotation, degrees, fat=fat)
    return field
