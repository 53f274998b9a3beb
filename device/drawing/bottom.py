"""The strip along the bottom: the strings low to high, and what a teacher reads beside them."""

from PIL import Image

from device.coach.state import Coach, Mark
from device.drawing.figures import number
from device.drawing.plate import Plate, kept
from dsp import Cents

TOP, HEIGHT = 53, 11  # pixels
BOX, STEP = 13, 15  # pixels: a box and its distance to the next


@kept
def _box(mark: Mark, now: bool) -> Image.Image:
    """Hollow to do, solid right, half filled drifted, a tall figure by a small one for a grown-up."""
    plate = Plate(BOX, HEIGHT)
    if now:
        plate.box(0, 0, BOX, HEIGHT)
        plate.box(1, 1, BOX - 1, HEIGHT - 1, ink=False)
    if mark is Mark.GROWN_UP:
        plate.disc((4.5, 2.5 + 1), 1.6)
        plate.box(3, 5, 6, 9.5)
        plate.disc((9, 5.5), 1.3)
        plate.box(8, 7, 10, 9.5)
        return plate.mask()
    plate.box(3, 3, BOX - 3, HEIGHT - 3)
    if mark is not Mark.RIGHT:
        top = 4 if mark is Mark.TO_DO else HEIGHT / 2
        plate.box(4, 4, BOX - 4, HEIGHT - 4, ink=False)
        if mark is Mark.DRIFTED:
            plate.box(3, top, BOX - 3, HEIGHT - 3)
    return plate.mask()


def strip(picture: Image.Image, coach: Coach) -> None:
    """One box a string, low to high, the one asked for framed; on the right the signed cents."""
    for i, string in enumerate(coach.strings):
        picture.paste(1, (STEP * i, TOP), _box(string.mark, string.name == coach.string))
    cents = shown_cents(coach.cents, coach.std_error_cents)
    if cents is not None:
        mask = number(cents)
        picture.paste(1, (picture.width - mask.width, TOP + 1), mask)


def shown_cents(cents: Cents | None, std_error_cents: Cents | None) -> str | None:
    """Signed cents, as fine as they are sure; None while they are not known well enough.

    >>> shown_cents(Cents(-12.3), Cents(0.3)), shown_cents(Cents(-12.3), Cents(3.0))
    ('-12', '-10')
    >>> shown_cents(None, None) is shown_cents(Cents(2.0), Cents(9.0)) is None
    True
    """
    if cents is None:
        return None
    error = 1.0 if std_error_cents is None else std_error_cents
    step = 1 if error <= 1.0 else 5 if error <= 4.0 else 10
    rounded = step * round(cents / step)
    return f"{rounded:+d}" if rounded or step == 1 else None
