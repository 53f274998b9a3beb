"""Finds shapes again in a finished picture: patches of touching lit pixels, and how an arrow turns."""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product

from PIL import Image

from device.config.settings import Settings
from device.instrument.tuning_parts import Amount, Direction, Rotation
from device.panel.screen import draw
from tests.scenes import Shown

LETTER = (0, 0, 31, 52)  # the letter's corner of the panel, in pixels
FIELD = (31, 0, 128, 52)  # beside it
BOTH_WAYS = list(product((Direction.TIGHTEN, Direction.LOOSEN), Amount))


def named(value: object) -> str:
    """A box by what is not usual about it."""
    if not isinstance(value, Settings):
        return str(value)
    strings = "".join(string.letter for string in value.strings)
    return f"{value.instrument.value}-{strings}{'-left-handed' if value.left_handed else ''}"


@dataclass(frozen=True)
class Patch:
    """Lit pixels that touch by their sides."""

    pixels: frozenset[tuple[int, int]]

    @property
    def box(self) -> tuple[int, int, int, int]:
        xs, ys = zip(*self.pixels, strict=True)
        return min(xs), min(ys), max(xs) + 1, max(ys) + 1

    @property
    def size(self) -> tuple[int, int]:
        left, top, right, bottom = self.box
        return right - left, bottom - top

    @cached_property
    def inside(self) -> int:
        """How many pixels have lit ones on all four sides: none in a thin line."""
        around = ((1, 0), (-1, 0), (0, 1), (0, -1))
        return sum(all((x + dx, y + dy) in self.pixels for dx, dy in around) for x, y in self.pixels)

    @property
    def middle(self) -> tuple[float, float]:
        left, top, right, bottom = self.box
        return (left + right) / 2.0, (top + bottom) / 2.0


def patches(picture: Image.Image, area: tuple[int, int, int, int]) -> list[Patch]:
    """All patches in an area, the biggest first."""
    return list(_patches(picture.tobytes(), area))


@lru_cache(maxsize=1000)
def _patches(rows: bytes, area: tuple[int, int, int, int]) -> tuple[Patch, ...]:
    left, top, right, bottom = area
    row_bytes = 128 // 8
    lit = {
        (x, y)
        for y in range(top, bottom)
        for x in range(left, right)
        if rows[y * row_bytes + x // 8] >> (7 - x % 8) & 1
    }
    found = []
    while lit:
        patch, edge = set(), [lit.pop()]
        while edge:
            x, y = edge.pop()
            patch.add((x, y))
            for touching in ((x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)):
                if touching in lit:
                    lit.remove(touching)
                    edge.append(touching)
        found.append(Patch(frozenset(patch)))
    return tuple(sorted(found, key=lambda patch: -len(patch.pixels)))


def picture_of(shown: Shown) -> Image.Image:
    return draw(shown.scene, shown.at)


def screw_and_arrow(picture: Image.Image) -> tuple[Patch, Patch]:
    """The two that are not mere lines: the round head, more solid in its box, and the arrow."""
    thick = sorted(patches(picture, (45, 0, 128, 52)), key=lambda patch: -patch.inside)[:3]
    square = [
        p for p in thick if abs(p.size[0] - p.size[1]) <= 1 and len(p.pixels) > 0.6 * p.size[0] * p.size[1]
    ]
    screw = max(square, key=lambda p: p.size[0])
    arrow = max((p for p in thick if p.middle != screw.middle), key=lambda p: p.inside)
    return screw, arrow


@dataclass(frozen=True)
class StraightArrow:
    """The arrow of a peg: its head, and how many fields of its shaft are filled and hollow."""

    head: Patch
    filled: tuple[Patch, ...]
    hollow: tuple[Patch, ...]

    @property
    def up(self) -> bool:
        """Whether the head narrows towards its top."""
        ends = self.head.box[1], self.head.box[3] - 1
        top, bottom = (sum(1 for _, y in self.head.pixels if y == row) for row in ends)
        return top < bottom

    @property
    def height(self) -> int:
        """From the tip to the end of the shaft."""
        boxes = [patch.box for patch in (self.head, *self.filled, *self.hollow)]
        return max(box[3] for box in boxes) - min(box[1] for box in boxes)


def straight_arrow(picture: Image.Image) -> StraightArrow:
    """The arrow beside the pegbox, on the side of the filled peg."""
    box = pegbox(picture)
    beside = [p for p in patches(picture, FIELD) if p.box[2] <= box.box[0] or p.box[0] >= box.box[2]]
    head = max((p for p in beside if p.size[0] >= 24), key=lambda p: len(p.pixels))
    shaft = [p for p in beside if p is not head and p.box[0] >= head.box[0] and p.box[2] <= head.box[2]]
    full = [len(p.pixels) > 0.8 * p.size[0] * p.size[1] for p in shaft]
    return StraightArrow(
        head,
        tuple(p for p, is_full in zip(shaft, full, strict=True) if is_full),
        tuple(p for p, is_full in zip(shaft, full, strict=True) if not is_full),
    )


def push_arrow(picture: Image.Image) -> Patch | None:
    """The block arrow between the arrow of the turn and the pegbox; None without one."""
    box, arrow = pegbox(picture), straight_arrow(picture).head
    gap = (arrow.box[2], box.box[0]) if arrow.middle[0] < box.middle[0] else (box.box[2], arrow.box[0])
    between = [p for p in patches(picture, FIELD) if gap[0] <= p.box[0] and p.box[2] <= gap[1]]
    return max(between, key=lambda p: len(p.pixels), default=None)


def clock_angles(patch: Patch, centre: tuple[float, float]) -> tuple[float, float]:
    """The least and the largest angle of its pixels about `centre`: degrees from twelve, -180 to 180."""
    angles = [math.degrees(math.atan2(x + 0.5 - centre[0], centre[1] - y - 0.5)) for x, y in patch.pixels]
    return min(angles), max(angles)


def pegbox(picture: Image.Image) -> Patch:
    """The pegbox with its four pegs is one patch, the widest that is as high as the field."""
    return max(patches(picture, FIELD), key=lambda patch: patch.size[1])


def sense(arrow: Patch, centre: tuple[float, float]) -> Rotation:
    """Which way an arrow goes round: a head is broadest at its base and narrows towards its tip."""
    broad: dict[int, list[float]] = {}
    for x, y in arrow.pixels:
        dx, dy = x + 0.5 - centre[0], y + 0.5 - centre[1]
        broad.setdefault(round(math.degrees(math.atan2(dx, -dy)) / 4.0), []).append(math.hypot(dx, dy))
    width = {step: max(radii) - min(radii) for step, radii in broad.items()}
    base = max(width, key=lambda step: width[step])

    def beside(sign: int) -> float:
        return sum(width.get((base + sign * i + 45) % 90 - 45, 0.0) for i in (3, 4, 5))

    return Rotation.CLOCKWISE if beside(1) > beside(-1) else Rotation.COUNTER_CLOCKWISE
