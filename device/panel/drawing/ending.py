"""The end of a lesson: every string with how far off it was at the start, and what is left.

When all are right two notes stand above a key that says "hold", over the button that leads on to reading
and counting. With five or more strings there is no room for them.

What the box does not know it takes for the worst. So where a string that needed its peg is left, small words
for the teacher say which of size and cores are not set.
"""

from PIL import Image

from device.config.settings import Cores, Settings, Size
from device.instrument.tuning_parts import FINE_REACH
from device.lesson.advice import Say
from device.lesson.state import Coach, Mark, StringState
from device.panel.drawing import key_caps, lettering, people, string_strip, track
from device.panel.drawing.plate import INK, Plate, cached
from device.panel.scene import Scene

_LETTER = (18, 27)  # pixels
_FACE = 34  # pixels on the right for a face or two figures, with up to four strings
_MOST_BESIDE_A_FACE = 4
_SMILE = 27  # pixels
_EDGE = 2  # pixels that stay dark at the left and right
_WAY_TOP, _WAY_HEIGHT = 32, 30  # pixels: the way from where a string was to where it is
_BOX_TOP, _BOX = 32, (22, 20)  # pixels


def draw_ending(picture: Image.Image, scene: Scene) -> None:
    """A column a string; a happy face when all are right, a grown-up and a child when not."""
    coach = scene.coach
    face = len(coach.strings) <= _MOST_BESIDE_A_FACE
    room = picture.width - 2 * _EDGE - (_FACE if face else 0)
    all_right = coach.advice.say is Say.ALL_RIGHT
    for i, string in enumerate(coach.strings):
        left, right = room * i // len(coach.strings), room * (i + 1) // len(coach.strings)
        _column(picture, _EDGE + left, right - left, string, all_right)
    if not all_right and (missing := to_set(scene.settings, coach)):
        picture.paste(INK, (_EDGE, string_strip.TOP), lettering.words(missing))
    if not face:
        return
    if all_right:
        picture.paste(INK, (picture.width - _FACE + (_FACE - _SMILE) // 2, 1), people.smile(_SMILE))
        picture.paste(INK, (picture.width - _FACE + 3, 30), _two_notes())
        key_caps.key_cap(picture, picture.width - _FACE, picture.width, "hold")
    else:
        picture.paste(INK, (picture.width - _FACE, 2), people.tall_one())
        picture.paste(INK, (picture.width - _EDGE - 16, 10), people.small_one())


def to_set(settings: Settings, coach: Coach) -> str:
    """What a teacher should set for the pegs' sake: "set size and cores"; empty where no peg was needed."""
    unset = [
        word
        for word, unknown in (
            ("size", settings.size is Size.UNKNOWN),
            ("cores", settings.cores is Cores.UNKNOWN),
        )
        if unknown
    ]
    needed = any(abs(string.first_cents or 0.0) > FINE_REACH for string in coach.strings)
    return f"set {' and '.join(unset)}" if needed and unset else ""


def _column(picture: Image.Image, left: int, width: int, string: StringState, all_right: bool) -> None:
    """The letter, turned over where the string is right; under it the way it came, or how it stands."""
    letter = lettering.letter(string.name, *_LETTER, 5.0)
    at = (left + (width - letter.width) // 2, 3)
    if string.mark is Mark.RIGHT and not all_right:
        picture.paste(INK, (left, 1, left + width - 1, 32))
        picture.paste(0, at, letter)
    else:
        picture.paste(INK, at, letter)
    if all_right:
        picture.paste(1, (left + width // 2 - 9, _WAY_TOP), _way(_start_of(string)))
    else:
        mark = string_strip.box(string.mark, False, *_BOX)
        picture.paste(INK, (left + (width - _BOX[0]) // 2, _BOX_TOP), mark)


def _start_of(string: StringState) -> int:
    """How many pixels above its place a string was at the start; 0 where nothing is known of it."""
    return 0 if string.first_cents is None else round(0.55 * track.height_of(string.first_cents))


@cached
def _way(start: int) -> Image.Image:
    """A hollow bead where the string was, `start` pixels above where the filled one is now."""
    plate, middle = Plate(18, _WAY_HEIGHT), _WAY_HEIGHT / 2.0
    plate.box(0, middle - 0.5, 18, middle + 0.5)
    if abs(start) > 4:
        plate.box(8, min(middle, middle - start), 10, max(middle, middle - start))
        plate.disc((9, middle - start), 3.2)
        plate.disc((9, middle - start), 1.7, ink=False)
    plate.disc((9, middle), 4.4)
    return plate.mask()


@cached
def _two_notes() -> Image.Image:
    """Two eighths under one beam: what follows tuning. 28 by 21 pixels."""
    plate = Plate(28, 21)
    for left in (0, 17):
        plate.oval((left + 5, 17), 5, 3.5)
        plate.box(left + 9, 0, left + 11, 17)
    plate.box(9, 0, 28, 4)
    return plate.mask()
