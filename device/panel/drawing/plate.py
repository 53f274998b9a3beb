"""The drawing board every shape is cut from, and the geometry of a clock face."""

import math
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import TypeVar

from PIL import Image, ImageDraw

Point = tuple[float, float]
"""x to the right and y downwards, in pixels of the panel."""

ShapeMaker = TypeVar("ShapeMaker", bound=Callable[..., object])

INK = 255  # a lit pixel of a mode "1" picture; 0 is a dark one
FINER = 4  # the board is four times finer than the panel: sixteen shades to cut at half ink
_STEP_DEG = 6.0  # a circle is a 60-gon: off by 0.03 pixels at a radius of 22
_SMALL = 4.0  # pixels; up to here a 20-gon is off by 0.05 pixels at most
_KEPT_SHAPES = 64  # of each function: more than any lesson shows again and again; a mask is at most 1 kB


def cached(make: ShapeMaker) -> ShapeMaker:
    """Keep what `make` returned for the arguments it was given; nobody may draw on it."""
    return lru_cache(maxsize=_KEPT_SHAPES)(make)  # type: ignore[return-value]  # same call, same result


def on_clock(centre: Point, radius: float, degrees: float) -> Point:
    """The point `radius` pixels from `centre` at `degrees` clockwise from twelve o'clock."""
    angle = math.radians(degrees)
    return centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)


def along_arc(centre: Point, radius: float, start: float, sweep: float) -> list[Point]:
    """Points from `start` degrees over `sweep` degrees, positive clockwise, both ends included."""
    steps = max(1, math.ceil(abs(sweep) / _STEP_DEG))
    return [on_clock(centre, radius, start + sweep * i / steps) for i in range(steps + 1)]


_ROUND = along_arc((0.0, 0.0), 1.0, 0.0, 360.0)[:-1]


class Plate:
    """A board of `width` by `height` pixels, made `zoom` times as large; `ink` False scrapes away."""

    def __init__(self, width: int, height: int, zoom: float = 1.0) -> None:
        self._finer = FINER * zoom
        self._board = Image.new("L", (math.ceil(width * zoom) * FINER, math.ceil(height * zoom) * FINER), 0)
        self._draw = ImageDraw.Draw(self._board)

    def area(self, points: Iterable[Point], *, ink: bool = True) -> None:
        """Fill a polygon."""
        corners = [(x * self._finer - 0.5, y * self._finer - 0.5) for x, y in points]
        self._draw.polygon(corners, fill=255 if ink else 0)

    def disc(self, centre: Point, radius: float, *, ink: bool = True) -> None:
        """Fill a circle."""
        self.oval(centre, radius, radius, ink=ink)

    def oval(self, centre: Point, half_width: float, half_height: float, *, ink: bool = True) -> None:
        """Fill an ellipse that stands upright."""
        every = 1 if max(half_width, half_height) > _SMALL else 3
        round_ = _ROUND[::every]
        self.area([(centre[0] + x * half_width, centre[1] + y * half_height) for x, y in round_], ink=ink)

    def line(self, points: Sequence[Point], width: float, *, ink: bool = True) -> None:
        """A stroke with round ends and round corners."""
        half = width / 2.0
        for (x0, y0), (x1, y1) in pairwise(points):
            length = math.hypot(x1 - x0, y1 - y0)
            if length > 0.0:
                dx, dy = (y1 - y0) / length * half, -(x1 - x0) / length * half
                self.area(
                    [(x0 + dx, y0 + dy), (x1 + dx, y1 + dy), (x1 - dx, y1 - dy), (x0 - dx, y0 - dy)], ink=ink
                )
        for point in points:
            self.disc(point, half, ink=ink)

    def arc(  # noqa: PLR0913 - a circle and a part of it
        self, centre: Point, radius: float, start: float, sweep: float, width: float, *, ink: bool = True
    ) -> None:
        """A stroke along a circle with square ends."""
        outer = along_arc(centre, radius + width / 2.0, start, sweep)
        inner = along_arc(centre, radius - width / 2.0, start, sweep)
        self.area(outer + inner[::-1], ink=ink)

    def box(self, left: float, top: float, right: float, bottom: float, *, ink: bool = True) -> None:
        """Fill a rectangle; right and bottom are its far edges."""
        self.area([(left, top), (right, top), (right, bottom), (left, bottom)], ink=ink)

    def mask(self) -> Image.Image:
        """What was drawn, at the panel's size, lit from half ink on (128 of 255)."""
        return self._board.reduce(FINER).convert("1", dither=Image.Dither.NONE)
