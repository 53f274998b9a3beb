"""The bead on the string: how flat or sharp it is, and that it comes nearer.

A bead rides on a string that stands upright; the gate half way up is where it belongs. Flat hangs
below, sharp above. An unsure reading makes a tall bead, which shrinks as the reading settles.
"""

import math

from PIL import Image

from device.panel.drawing.plate import INK, Plate, cached
from dsp import Cents

WIDTH, HEIGHT = 12, 52  # pixels
_MIDDLE = HEIGHT / 2.0
_REACH = 20.0  # pixels from the gate to the end of the string
_FULL_CENTS = 60.0  # as far as the string reaches, a little beyond a fine tuner's 50
_BEND = 0.6  # chosen: 8 cents lie 6 pixels from the middle, so that coming nearer shows near the gate
_BEAD = 3.5  # pixels, half a bead's height when sure
_MOST = 10.0  # pixels, half its height when quite unsure


def height_of(cents: float) -> int:
    """Pixels above the gate's middle for `cents`, sharp positive, at most the string's reach.

    >>> [height_of(cents) for cents in (-400.0, -50.0, -8.0, 0.0, 8.0)]
    [-20, -18, -6, 0, 6]
    """
    part = math.pow(min(abs(cents) / _FULL_CENTS, 1.0), _BEND)
    return round(part * _REACH) * (1 if cents >= 0.0 else -1)


@cached
def _bead(half: int) -> Image.Image:
    plate = Plate(8, 2 * half)
    plate.oval((4.0, half), 4.0, half)
    return plate.mask()


@cached
def _gate(gate_half: int) -> Image.Image:
    plate = Plate(WIDTH, HEIGHT)
    plate.box(WIDTH / 2 - 0.5, 1, WIDTH / 2 + 0.5, HEIGHT - 1)
    for edge in (-1.0, 1.0):
        y = _MIDDLE + edge * gate_half
        plate.box(0, y - 1, WIDTH, y + 1)
        plate.box(WIDTH / 2 - 1, y - 1, WIDTH / 2 + 1, y + 1, ink=False)
    return plate.mask()


def track(cents: Cents | None, std_error_cents: Cents | None, tolerance: Cents) -> Image.Image:
    """The string with its gate, and the bead on it when `cents` is known."""
    gate = round(_BEAD) + height_of(tolerance)
    field = _gate(gate).copy()
    if cents is None:
        return field
    error = 5.0 if std_error_cents is None else std_error_cents
    half = max(4, round(min(_BEAD + error, _MOST)))
    bead = _bead(half)
    top = round(_MIDDLE - height_of(cents)) - half
    field.paste(INK, (2, min(max(top, 0), HEIGHT - bead.height)), bead)
    return field
