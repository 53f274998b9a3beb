"""What the pages of the settings show for a practice, as shapes within 42 by 38 pixels."""

from PIL import Image

from device.config.practice_settings import CountStep, Naming, ReadStep
from device.notation.staff import Clef, Signature
from device.panel.drawing.lettering import number, words
from device.panel.drawing.plate import INK, Plate, cached
from device.practice.signs import eighth_rest, flag, head, quarter_rest
from device.practice.staff_picture import StaffPlace, draw_note, draw_staff

_WIDE, _HIGH = 42, 38


def _blank() -> Image.Image:
    return Image.new("1", (_WIDE, _HIGH))


def _middle(mask: Image.Image) -> Image.Image:
    picture = _blank()
    picture.paste(INK, ((_WIDE - mask.width) // 2, (_HIGH - mask.height) // 2), mask)
    return picture


@cached
def names_picture(naming: Naming) -> Image.Image:
    """What B natural is called."""
    text = {Naming.LETTERS: "A B", Naming.LETTERS_WITH_H: "A H", Naming.DO_RE_MI: "la si"}[naming]
    return _middle(words(text, 1 if len(text) > 3 else 2))


@cached
def step_picture(moves: bool) -> Image.Image:
    """Stairs; with an arrow where the box climbs them by itself."""
    plate = Plate(_WIDE, _HIGH)
    for i in range(4):
        plate.box(2 + 10 * i, 34 - 8 * i, _WIDE - 1, 37)
    if moves:
        plate.line([(5, 20), (20, 6)], 3.0)
        plate.area([(24, 1), (22, 13), (12, 4)])
    return plate.mask()


@cached
def read_picture(step: ReadStep) -> Image.Image:
    """A staff with as much on it as the step has."""
    place = 1 + tuple(ReadStep).index(step)
    picture = _blank()
    staff = StaffPlace(Clef.TREBLE, 0, _WIDE, 31)
    column = draw_staff(picture, staff, Signature(0))
    draw_note(picture, staff, Clef.TREBLE.at(place % 9), None, column)
    return picture


@cached
def count_picture(step: CountStep) -> Image.Image:
    """Notes or rests that the step brings."""
    picture = _blank()
    eighths = step in {CountStep.EIGHTHS, CountStep.TIES, CountStep.SIX_EIGHT}
    if step in {CountStep.RESTS, CountStep.EIGHTH_RESTS}:
        sign = quarter_rest() if step is CountStep.RESTS else eighth_rest()
        picture.paste(INK, (26, 10), sign.mask)
    elif eighths:
        picture.paste(INK, (11, 6, 37, 10))
        _upright(picture, 28)
    elif step is not CountStep.STEADY:
        picture.paste(INK, (18, 24, 21, 27) if step is CountStep.DOTS else (24, 10, 40, 13))
    _upright(picture, 2)
    if step is CountStep.TIES:
        picture.paste(INK, (8, 35, 32, 37))
    return picture


def _upright(picture: Image.Image, left: int) -> None:
    """A note with its stem up."""
    picture.paste(INK, (left, 26), head().mask)
    picture.paste(INK, (left + 9, 6, left + 10, 30))


@cached
def tempo_picture(tempo_bpm: int) -> Image.Image:
    """A flagged note and a number of beats a minute."""
    picture = _blank()
    _upright(picture, 2)
    picture.paste(INK, (11, 6), flag())
    picture.paste(INK, (_WIDE - 7 * len(str(tempo_bpm)), 28), number(str(tempo_bpm)))
    return picture


@cached
def six_eight_picture(by_eighths: bool) -> Image.Image:
    """The signature, and two beats or six."""
    picture = _blank()
    for text, top in (("6", 0), ("8", 20)):
        picture.paste(INK, (2, top), number(text, 2))
    picture.paste(INK, (24, 15), number("6" if by_eighths else "2"))
    return picture
