"""Why this turn: a small sign beside the cents, for the turns that answer to what just happened."""

from PIL import Image

from device.lesson.advice import Say
from device.panel.drawing.plate import Plate, cached

WIDTH, HEIGHT = 19, 11  # pixels


def _come_up(plate: Plate) -> None:
    """Down under and up again: a valley with an arrow out of it."""
    plate.line([(2, 2), (8, 9), (14, 4)], 2.4)
    plate.area([(18, 0.5), (17.5, 8), (10.5, 1.5)])


def _push_in(plate: Plate) -> None:
    """An arrow against a wall."""
    plate.box(1, 4, 7, 7)
    plate.area([(7, 0), (14, 5.5), (7, 11)])
    plate.box(15, 0, 18, 11)


def _back(plate: Plate) -> None:
    """Round and back the way it came."""
    plate.line([(5, 8.5), (12, 8.5)], 2.4)
    plate.arc((12, 5.5), 3.0, 180.0, -180.0, 2.4)
    plate.line([(12, 2.5), (8, 2.5)], 2.4)
    plate.area([(6, 4.6), (6, 11.4), (0, 8.2)])


def _grown_up(plate: Plate) -> None:
    """A tall figure beside a small one."""
    plate.disc((6, 1.8), 1.8)
    plate.box(4, 3.6, 8, 11)
    plate.disc((13, 5.3), 1.5)
    plate.box(11.5, 7, 14.5, 11)


_PENS = {
    Say.COME_UP: _come_up,
    Say.PUSH_IN: _push_in,
    Say.LOOSEN_BACK: _back,
    Say.BACK_OUT: _grown_up,
}


@cached
def reason(say: Say) -> Image.Image | None:
    """The sign as a mask; None for a plain turn and for what is no turn."""
    if say not in _PENS:
        return None
    plate = Plate(WIDTH, HEIGHT)
    _PENS[say](plate)
    return plate.mask()
