"""The arrow that turns: the way a hand goes round the head of a fine tuner, facing it.

It starts left or right of twelve o'clock and goes over the top, so that the side its head lies on
and the way the head points agree: right to go clockwise, left to go counter-clockwise. It sweeps as
far as the turn that is asked for, up to the largest that leaves a gap between head and tail, and
never further: a child may take it literally.
"""

import math
from dataclasses import dataclass

from PIL import Image, ImageFilter

from device.instrument.tuning_parts import Amount, Rotation
from device.panel.drawing.plate import INK, Plate, Point, cached, on_clock

SIZE = 80, 52  # pixels of a head with its arrow
HEAD_SIZE = 34, 34  # pixels of the head alone
USUAL_DEG = {Amount.A_HAIR: 30.0, Amount.A_LITTLE: 120.0, Amount.MORE: 360.0}
"""What the amounts stand for where a piece of advice does not say its degrees."""
LARGEST_DEG = 318.0  # drawn for a whole turn; a longer arrow would bite its own tail
_SHOWN = 0.97  # of the turn: what the edges of pixels add never makes it more
_OVER_THE_TOP_DEG = 180.0
_FAT = 1.0  # pixels an arrow grows when it is pointed at
_RIM, _GAP = 2, 1.0  # pixels of dark around an arrow and a screw, and between the two
_BUMPS = 14  # in the rim of a screw, so that a finger holds it


@dataclass(frozen=True, slots=True)
class Arc:
    """The way of an arrow, in pixels but for its sweep."""

    centre: Point
    radius: float
    thick: float
    inner: float  # from the centre: how far in the base of the head reaches
    outer: float
    head: float  # along the circle
    sweep: float  # degrees from the end of the tail to the tip


def arc_of(degrees: float) -> Arc:
    """How a turn of `degrees` is drawn; a small one further out, where it is longer."""
    sweep = min(degrees * _SHOWN, LARGEST_DEG)
    if sweep > _OVER_THE_TOP_DEG:
        return Arc((SIZE[0] / 2.0, 26.0), 20.5, 7.0, 15.0, 34.0, 18.0, sweep)
    return Arc((SIZE[0] / 2.0, 37.0), 25.0, 7.0, 14.6, 36.0, 15.5, sweep)


def goes_round(degrees: float) -> bool:
    """Whether the arrow of a turn needs room on all sides of the screw, and not only above."""
    return arc_of(degrees).sweep > _OVER_THE_TOP_DEG


def sign_of(rotation: Rotation) -> float:
    """+1 for clockwise, -1 the other way: the sense in which clock degrees grow."""
    return 1.0 if rotation is Rotation.CLOCKWISE else -1.0


@cached
def around_screw(rotation: Rotation, degrees: float, grow: float = 0.0) -> Image.Image:
    """The arrow around the head of a fine tuner, `SIZE` large, fatter by `grow` pixels but no longer."""
    plate, arc, sign = Plate(*SIZE), arc_of(degrees), sign_of(rotation)
    tip = sign * arc.sweep / 2.0
    head = min(math.degrees(arc.head / arc.radius), arc.sweep)
    neck, tail = tip - sign * head, arc.sweep - head
    if tail > 0.0:
        plate.arc(arc.centre, arc.radius, neck - sign * tail, sign * tail, arc.thick + 2.0 * grow)
    inner, outer = max(arc.inner - grow, 1.0), arc.outer + grow
    sides = [on_clock(arc.centre, outer, neck), on_clock(arc.centre, arc.radius, tip)]
    plate.area([*sides, on_clock(arc.centre, inner, neck)])
    return plate.mask()


@cached
def screw_head(rim: float = 0.0) -> Image.Image:
    """The head of a fine tuner seen from its end, `HEAD_SIZE` large: milled for fingers, no slot."""
    plate, middle = Plate(*HEAD_SIZE), (HEAD_SIZE[0] / 2.0, HEAD_SIZE[1] / 2.0)
    plate.disc(middle, 12.3 + rim)
    for bump in range(_BUMPS):
        plate.disc(on_clock(middle, 11.6, 360.0 * bump / _BUMPS), 2.1 + rim)
    if rim == 0.0:
        plate.disc(middle, 3.0, ink=False)
    return plate.mask()


@cached
def _with_rim(rotation: Rotation, degrees: float) -> Image.Image:
    """The arrow grown by a rim on all sides, its tip and its tail too."""
    wide = around_screw(rotation, degrees, _FAT).convert("L").filter(ImageFilter.MaxFilter(2 * _RIM + 1))
    return wide.convert("1", dither=Image.Dither.NONE)


def reach(rotation: Rotation, degrees: float) -> tuple[int, int]:
    """How far an arrow reaches to the left and to the right of the middle of its screw, in pixels."""
    left, _, right, _ = around_screw(rotation, degrees, _FAT).getbbox() or (SIZE[0] // 2, 0, SIZE[0] // 2, 0)
    return SIZE[0] // 2 - left, right - SIZE[0] // 2


def lay(field: Image.Image, middle: float, rotation: Rotation, degrees: float, *, fat: bool) -> None:
    """Put a filled screw with its arrow on `field`, its middle at `middle`, each with a rim of dark."""
    grow, arc = _FAT if fat else 0.0, arc_of(degrees)
    left = round(middle - arc.centre[0])
    head_at = round(middle) - HEAD_SIZE[0] // 2, round(arc.centre[1]) - HEAD_SIZE[1] // 2
    field.paste(0, (left, 0), _with_rim(rotation, degrees))
    field.paste(0, head_at, screw_head(rim=_RIM))
    field.paste(INK, (left, 0), around_screw(rotation, degrees, grow))
    field.paste(0, head_at, screw_head(rim=_GAP))
    field.paste(INK, head_at, screw_head())
