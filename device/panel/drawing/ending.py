"""The end of a lesson: every string with how far off it was at the start, and what is left."""

from PIL import Image

from device.lesson.advice import Say
from device.lesson.state import Coach, Mark, StringState
from device.panel.drawing import lettering, people, string_strip, track
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK, Plate, cached

_LETTER = (17, 25)  # pixels
_FACE = 32  # pixels on the right for a face or two figures, with up to four strings
_MOST_BESIDE_A_FACE = 4
_MIDDLE_Y, _WAY_TOP, _WAY_HEIGHT = 12, 28, 24  # pixels: the way from the start to where it belongs
_NUMBER_Y = 53


def draw_ending(picture: Image.Image, coach: Coach) -> None:
    """A column a string; a happy face when all are right, a grown-up and a child when not."""
    face = len(coach.strings) <= _MOST_BESIDE_A_FACE
    room = picture.width - (_FACE if face else 0)
    all_right = coach.advice.say is Say.ALL_RIGHT
    for i, string in enumerate(coach.strings):
        left, right = room * i // len(coach.strings), room * (i + 1) // len(coach.strings)
        _column(picture, left, right - left, string, all_right)
    if not face:
        return
    if all_right:
        picture.paste(INK, (picture.width - _FACE + 2, 12), people.smile(29))
    else:
        picture.paste(INK, (picture.width - _FACE + 1, 2), people.tall_one())
        picture.paste(INK, (picture.width - 16, 10), people.small_one())


def _column(picture: Image.Image, left: int, width: int, string: StringState, all_right: bool) -> None:
    letter = lettering.letter(string.name, *_LETTER, 5.0)
    at = (left + (width - letter.width) // 2, 2)
    if string.mark is Mark.RIGHT and not all_right:
        picture.paste(INK, (left, 0, left + width - 1, 29))
        picture.paste(0, at, letter)
    else:
        picture.paste(INK, at, letter)
    if not all_right:
        mark = string_strip.box(string.mark, now=False, width=19, height=17)
        picture.paste(INK, (left + (width - 19) // 2, 33), mark)
    if string.first_cents is not None:
        if all_right:
            picture.paste(
                1, (left + width // 2 - 8, _WAY_TOP), _way(track.height_of(string.first_cents) // 2)
            )
        text = words(f"{round(string.first_cents):+d}")
        picture.paste(INK, (left + (width - text.width) // 2, _NUMBER_Y), text)


@cached
def _way(start: int) -> Image.Image:
    """A hollow bead where the string was, `start` pixels above where a filled one is now."""
    plate = Plate(16, _WAY_HEIGHT)
    plate.box(0, _MIDDLE_Y - 0.5, 16, _MIDDLE_Y + 0.5)
    if abs(start) > 1:
        plate.box(7.5, min(_MIDDLE_Y, _MIDDLE_Y - start), 8.5, max(_MIDDLE_Y, _MIDDLE_Y - start))
        plate.disc((8, _MIDDLE_Y - start), 2.6)
        plate.disc((8, _MIDDLE_Y - start), 1.3, ink=False)
    plate.disc((8, _MIDDLE_Y), 3.6)
    return plate.mask()
