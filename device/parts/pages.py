"""A picture as an OLED controller keeps it, and what has to be sent to change one into another.

The memory of the SSD1306 (Solomon Systech data sheet, section 8.7) and of the SH1106 (Sino Wealth
data sheet, "Page Address Circuit") is cut into pages of eight rows; a byte is one column of a page,
its lowest bit on top.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

ROWS_A_PAGE = 8  # of pixels in a page
ADDRESSING = 10  # bytes on the wire around one run: address, control byte, command; address, control byte

Pages = npt.NDArray[np.int16]
"""Shape (pages, columns), 0..255 or UNKNOWN."""

UNKNOWN = -1  # what the controller holds there is not known, so it must be sent


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring columns of one page that are sent together."""

    page: int
    first: int
    last: int


def pages_of(picture: Image.Image, upside_down: bool) -> Pages:
    """A 1-bit picture as pages; its height is a multiple of eight."""
    pixels = np.asarray(picture, dtype=bool)
    if upside_down:
        pixels = pixels[::-1, ::-1]
    height, width = pixels.shape
    columns = pixels.reshape(height // ROWS_A_PAGE, ROWS_A_PAGE, width)
    return np.packbits(columns, axis=1, bitorder="little")[:, 0, :].astype(np.int16)


def unknown(width: int, height: int) -> Pages:
    """The memory of a controller nobody has written to."""
    return np.full((height // ROWS_A_PAGE, width), UNKNOWN, np.int16)


def runs_to_send(held: Pages, wanted: Pages, longest: int) -> Iterator[Run]:
    """What to send so that `held` becomes `wanted`: page by page, no run longer than `longest`.

    Two changes are sent as one run when what lies between costs less than addressing it anew.
    """
    for page in range(len(held)):
        changed = np.flatnonzero(held[page] != wanted[page])
        while len(changed) > 0:
            gaps = np.flatnonzero(np.diff(changed) > ADDRESSING)
            last = changed[gaps[0]] if len(gaps) else changed[-1]
            last = min(last, changed[0] + longest - 1)
            yield Run(page, int(changed[0]), int(last))
            changed = changed[changed > last]
