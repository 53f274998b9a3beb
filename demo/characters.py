"""A picture as characters of a terminal, as large as the window and its alphabet allow."""

import textwrap
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PIL import Image

_HALVES = np.array([" ", "▀", "▄", "█"])
_PLAIN = np.array([" ", "'", ".", "#"])  # the same in ASCII: upper half, lower half, both
_DOTS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])  # Unicode braille patterns
_FRAME, _PLAIN_FRAME = "┌─┐│└┘", "+-+|++"
_WORDS = 3  # rows left for words under the picture, at least


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to draw: pixels of the picture for a pixel drawn, and characters for those."""

    smaller: int
    pixels: tuple[int, int]  # across and down, in one character
    characters: Callable[[Image.Image], list[str]]

    def size(self, picture: Image.Image) -> tuple[int, int]:
        """Columns and rows, the frame included."""
        across, down = self.smaller * self.pixels[0], self.smaller * self.pixels[1]
        return picture.width // across + 2, picture.height // down + 2


def half_blocks(picture: Image.Image) -> list[str]:
    """One character for two pixels, upper and lower; lit pixels are filled."""
    return _stacked(picture, _HALVES)


def plain(picture: Image.Image) -> list[str]:
    """The same with nothing but ASCII."""
    return _stacked(picture, _PLAIN)


def braille(picture: Image.Image) -> list[str]:
    """One character for two pixels across and four down."""
    lit = np.asarray(picture.convert("1"), np.uint8)
    rows, columns = lit.shape[0] // 4, lit.shape[1] // 2
    cells = lit[: 4 * rows, : 2 * columns].reshape(rows, 4, columns, 2)
    codes = (cells * _DOTS[None, :, None, :]).sum(axis=(1, 3))
    return ["".join(chr(0x2800 + int(code)) for code in row) for row in codes]


def _stacked(picture: Image.Image, alphabet: "np.ndarray[tuple[int], np.dtype[np.str_]]") -> list[str]:
    lit = np.asarray(picture.convert("1"), np.uint8)
    return ["".join(row) for row in alphabet[lit[0::2] + 2 * lit[1::2]]]


_RICH = (_Way(1, (1, 2), half_blocks), _Way(1, (2, 4), braille), _Way(2, (2, 4), braille))
_POOR = (_Way(1, (1, 2), plain), _Way(2, (1, 2), plain), _Way(4, (1, 2), plain))


def _can_hold(encoding: str) -> bool:
    """Whether an encoding has the characters of `_RICH`."""
    try:
        (_FRAME + "".join(_HALVES) + chr(0x2801)).encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def drawn(picture: Image.Image, columns: int, rows: int, encoding: str = "utf-8") -> list[str]:
    """The picture in a frame, in the largest way that fits; a line of words where none does."""
    rich = _can_hold(encoding)
    ways = _RICH if rich else _POOR
    for way in ways:
        wide, high = way.size(picture)
        if wide <= columns and high + _WORDS <= rows:
            return _framed(way.characters(_smaller(picture, way.smaller)), _FRAME if rich else _PLAIN_FRAME)
    wide, high = ways[-1].size(picture)
    return textwrap.wrap(
        f"The panel needs a window of {wide + 1} columns and {high + _WORDS + 1} rows: make it larger.",
        columns,
    )[:rows]


def _smaller(picture: Image.Image, times: int) -> Image.Image:
    """Lit where at least half is lit, so that lines two pixels thick stay."""
    if times == 1:
        return picture
    return picture.convert("L").reduce(times).point(lambda light: 255 if light >= 127 else 0, "1")


def _framed(lines: list[str], frame: str) -> list[str]:
    top_left, across, top_right, down, bottom_left, bottom_right = tuple(frame)
    edge = across * len(lines[0])
    sides = [f"{down}{line}{down}" for line in lines]
    return [top_left + edge + top_right, *sides, bottom_left + edge + bottom_right]
