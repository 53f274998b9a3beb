"""The end of a lesson: every string with how far off it was at the start, and what is left."""

from PIL import Image

from device.coach.state import Coach, Mark, Say, StringState
from device.drawing import hands, lettering
from device.drawing.figures import words

_FACE = 34  # pixels on the right for a face or two figures, with up to four strings


def draw(picture: Image.Image, coach: Coach) -> None:
    """A column a string; a happy face when all are right, a grown-up and a child when not."""
    room = picture.width - (_FACE if len(coach.strings) <= 4 else 0)
    width = room // max(1, len(coach.strings))
    for i, string in enumerate(coach.strings):
        _column(picture, width * i, width, string, coach.advice.say is Say.ALL_RIGHT)
    if len(coach.strings) > 4:
        return
    if coach.advice.say is Say.ALL_RIGHT:
        picture.paste(1, (picture.width - 32, 2), hands.smile(32))
    else:
        picture.paste(1, (picture.width - 33, 2), hands.tall_one())
        picture.paste(1, (picture.width - 17, 10), hands.small_one())


def _column(picture: Image.Image, left: int, width: int, string: StringState, all_right: bool) -> None:
    letter = lettering.letter(string.name, 17, 27, 5.0)
    at = (left + (width - letter.width) // 2, 4)
    if string.mark is Mark.RIGHT and not all_right:
        picture.paste(1, (left, 0, left + width - 1, 35))
        picture.paste(0, at, letter)
    else:
        picture.paste(1, at, letter)
    if string.first_cents is not None:
        text = words(f"{round(string.first_cents):+d}")
        picture.paste(1, (left + (width - text.width) // 2, 53), text)
