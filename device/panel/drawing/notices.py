"""What needs no turn and no pluck: wait, a grown-up's job, ask, and well done."""

from PIL import Image

from device.panel.drawing import heads, icons, pegs, people, signs
from device.panel.drawing.plate import INK, Plate, cached
from device.panel.drawing.player_view import View
from device.panel.scene import Judged
from dsp import Seconds

WIDTH, HEIGHT = 94, 52  # pixels, the field beside the letter
GROWN_UP_S = 2.0  # seconds with the one picture and as long with the other
_SAND_S = 1.0  # seconds to each of four fillings of the hourglass


def wait(at: Seconds) -> Image.Image:
    """Sand runs; nobody's hand is near the instrument."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (32, 1), signs.hourglass(int(at / _SAND_S) % 4))
    return field


def grown_up(view: View, place: int | None, machine_heads: bool, at: Seconds) -> Image.Image:
    """For whom it is left, by turns with what that one does: hold the two outer buttons."""
    field = Image.new("1", (WIDTH, HEIGHT))
    if int(at / GROWN_UP_S) % 2 == 1:
        field.paste(INK, (2, 2), people.tall_one())
        field.paste(INK, (24, 4), _two_buttons_held())
        return field
    if view.count == pegs.COUNT and place is not None:
        field.paste(INK, (0, 0), heads.machine_heads(place) if machine_heads else pegs.pegbox(place))
    field.paste(INK, (48, 2), people.tall_one())
    field.paste(INK, (72, 10), people.small_one())
    return field


@cached
def _two_buttons_held() -> Image.Image:
    """Three buttons in a row, fingers on the two outer ones, 68 by 46 pixels."""
    plate = Plate(68, 46)
    for i in range(3):
        x = 11.0 + 23.0 * i
        plate.box(x - 10, 32, x + 10, 45)
        if i == 1:
            plate.box(x - 8.5, 33.5, x + 8.5, 43.5, ink=False)
        else:
            plate.line([(x, 5), (x, 24)], 11.0)
    return plate.mask()


def judged(guess: Judged) -> Image.Image:
    """By ear: a tick when the player heard it as it was, a cross when not."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (8, 4), signs.ear())
    field.paste(INK, (46, 6), _tick() if guess.so else signs.cross(38, 8.0))
    return field


@cached
def _tick() -> Image.Image:
    """It was so: 46 by 40 pixels."""
    plate = Plate(46, 40)
    plate.line([(4, 21), (16, 34), (42, 5)], 7.5)
    return plate.mask()


def ask_teacher() -> Image.Image:
    """A small figure with its arm up before a tall one."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (12, 10), people.small_one(raised=True))
    field.paste(INK, (37, 2), people.tall_one())
    field.paste(INK, (70, 6), signs.question())
    return field


def check_bridge() -> Image.Image:
    """A tall figure looks at an instrument."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (6, 2), people.tall_one())
    field.paste(INK, (32, 1), icons.bowed_instrument(50))
    field.paste(INK, (66, 6), signs.question())
    return field


def too_fast(at: Seconds) -> Image.Image:
    """A hand held up, and sand that runs."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (0, 0), people.palm().crop((0, 0, 46, HEIGHT)))
    field.paste(INK, (54, 1), signs.hourglass(int(at / _SAND_S) % 4))
    return field


def well_done() -> Image.Image:
    """A happy face."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (30, 4), people.smile())
    return field
