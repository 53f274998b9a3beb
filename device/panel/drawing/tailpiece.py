"""The tailpiece with a fine tuner for each string, as the player sees it.

The screw to turn is big and filled, its arrow around it; the others stand small and hollow where
they are, so that its place among them can be counted.
"""

from PIL import Image

from device.instrument.tuning_parts import Amount, Rotation
from device.panel.drawing import arrows
from device.panel.drawing.plate import Plate, cached

WIDTH, HEIGHT = 86, 52  # pixels
_BIG = 53.0  # pixels of the row that the big screw takes with its arrow
_BACK = {Amount.A_HAIR: 16.0, Amount.A_LITTLE: 21.0, Amount.MORE: 24.0}  # of them where the head is not
_ROW_Y = 24.0  # pixels from the top: the small screws


def _outline(plate: Plate) -> None:
    """Wide above, where the strings come in, narrow below."""
    plate.line([(1, 15), (3, 12), (WIDTH - 3, 12), (WIDTH - 1, 15)], 1.4)
    for near, far in ((1.0, 30.0), (WIDTH - 1.0, WIDTH - 30.0)):
        plate.line([(near, 15), (near, 30), (far, 51.5)], 1.4)


def _small_screw(plate: Plate, x: float, radius: float) -> None:
    plate.line([(x, 0), (x, _ROW_Y - radius)], 1.2)
    plate.disc((x, _ROW_Y), radius)
    plate.disc((x, _ROW_Y), radius - 1.6, ink=False)


@cached
def tailpiece(place: int, count: int, rotation: Rotation, amount: Amount, fat: bool = False) -> Image.Image:
    """Screw number `place` of `count`, from the player's left, with its arrow."""
    gap = (WIDTH - _BIG) / (count - 1)
    back = _BACK[amount]
    big = gap * place + (back if rotation is Rotation.CLOCKWISE else _BIG - back)
    plate = Plate(WIDTH, HEIGHT)
    _outline(plate)
    for i in range(count):
        if i != place:
            x = gap * (i + 0.5) + (_BIG - gap if i > place else 0.0)
            radius = min(4.2, gap / 2.0 - 0.7)
            _small_screw(plate, min(max(x, radius + 2.5), WIDTH - radius - 2.5), radius)
    field = plate.mask()
    left = round(big - arrows.CENTRE[0])
    field.paste(0, (left, 0), arrows.screw_head(rim=2.5))
    arrows.lay(field, left, arrows.screw_head(), arrows.around_screw, (rotation, amount), fat=fat)
    return field
