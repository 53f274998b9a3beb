"""What needs no turn and no pluck: wait, a grown-up's job, ask, and well done."""

from PIL import Image

from device.panel.drawing import heads, pegs, people, signs
from device.panel.drawing.plate import INK
from device.panel.drawing.player_view import View
from dsp import Seconds

WIDTH, HEIGHT = 94, 52  # pixels, the field beside the letter
_SAND_S = 1.0  # seconds to each of four fillings of the hourglass


def wait(at: Seconds) -> Image.Image:
    """Sand runs; nobody's hand is near the instrument."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (32, 1), signs.hourglass(int(at / _SAND_S) % 4))
    return field


def grown_up(view: View, place: int | None, machine_heads: bool) -> Image.Image:
    """The peg or machine head that is left, and a tall figure beside a small one."""
    field = Image.new("1", (WIDTH, HEIGHT))
    if view.count == pegs.COUNT and place is not None:
        field.paste(INK, (0, 0), heads.machine_heads(place) if machine_heads else pegs.pegbox(place))
    field.paste(INK, (48, 2), people.tall_one())
    field.paste(INK, (74, 10), people.small_one())
    return field


def ask_teacher() -> Image.Image:
    """A small figure with its arm up before a tall one."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (12, 10), people.small_one(raised=True))
    field.paste(INK, (37, 2), people.tall_one())
    field.paste(INK, (70, 6), signs.question())
    return field


def well_done() -> Image.Image:
    """A happy face."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (30, 4), people.smile())
    return field
