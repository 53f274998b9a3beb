"""Resting: a dark panel with a small moon that never stays long in one place."""

from PIL import Image

from device.drawing import signs
from device.drawing.plate import INK
from dsp import Seconds

_STAY_S = 20.0  # chosen: every pixel of the panel ages alike
_PLACES = 24


def draw(picture: Image.Image, at: Seconds) -> None:
    """The moon at the place of this moment."""
    moon = signs.moon()
    step = int(at / _STAY_S) % _PLACES
    across, down = picture.width - moon.width, picture.height - moon.height
    picture.paste(INK, (across * (step * 7 % _PLACES) // _PLACES, down * (step * 5 % 8) // 8), moon)
