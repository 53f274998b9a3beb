"""What needs no turn and no pluck: wait, a grown-up's job, ask, and well done."""

from PIL import Image

from device.panel.drawing import heads, pegs, people, signs
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


def judged_by_ear(guess: Judged) -> Image.Image:
    """By ear: a tick when the player heard it as it was, a cross when not."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (8, 4), signs.ear())
    field.paste(INK, (46, 6), signs.tick(44, 38, 7.5) if guess.so else signs.cross(38, 8.0))
    return field


def check_bridge() -> Image.Image:
    """After big turns a grown-up looks from the side: the bridge stands upright, or it leans."""
    field = Image.new("1", (WIDTH, HEIGHT))
    field.paste(INK, (0, 2), people.tall_one())
    for left, lean, sign in ((22, 0.0, signs.tick(20, 17, 4.0)), (60, 10.0, signs.cross(17, 4.0))):
        field.paste(INK, (left, 20), _bridge(lean))
        field.paste(INK, (left + 8, 1), sign)
    return field


@cached
def _bridge(lean: float) -> Image.Image:
    """A string over a bridge on the belly, from the side, 34 by 32 pixels; its top `lean` pixels aside."""
    plate, foot, top = Plate(34, 32), (17.0, 28.0), (17.0 - lean, 6.0)
    plate.line([(0, 12), top, (34, 12)], 1.6)
    plate.area([(foot[0] - 4, 28), (top[0] - 2, 6), (top[0] + 2, 6), (foot[0] + 4, 28)])
    plate.line([(1, 30), (33, 30)], 3.0)
    return plate.mask()


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
