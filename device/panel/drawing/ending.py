"""The end of a lesson: every string with how far off it was at the start, and what is left.

When all are right two notes stand above a key that says "hold", over the button that leads on to reading
and counting. With five or more strings there is no room for them.

What the box does not know it takes for the worst, which costs plucks. So after a lesson in which a peg was
needed, small words for the teacher say which of size and cores are not set; when all are right, by turns with
the ways the strings came.
"""

from PIL import Image

from device.config.settings import Cores, Settings, Size
from device.instrument.tuning_parts import FINE_REACH
from device.lesson.advice import Say
from device.lesson.state import Coach, Mark, StringState
from device.panel.drawing import key_caps, lettering, people, string_strip, track
from device.panel.drawing.plate import INK, Plate, cached
from device.panel.scene import Scene
from dsp import Seconds

_LETTER = (18, 27)  # pixels
_FACE = 34  # pixels on the right for a face or two figures, with up to four strings
_MOST_BESIDE_A_FACE = 4
_SMILE = 27  # pixels
_EDGE = 2  # pixels that stay dark at the left and right
_WAY_HEIGHT = 30  # pixels: the way from where a string was to where it is
_BELOW_TOP, _BOX = 32, (22, 20)  # pixels
_TAKE_TURNS_S = 3.0  # seconds; chosen: time to see what was done, then to read three words


def draw_ending(picture: Image.Image, scene: Scene, at: Seconds) -> None:
    """A column a string; a happy face when all are right, a grown-up and a child when not."""
    coach = scene.coach
    face = len(coach.strings) <= _MOST_BESIDE_A_FACE
    room = picture.width - 2 * _EDGE - (_FACE if face else 0)
    all_right = coach.advice.say is Say.ALL_RIGHT
    words = to_set(scene.settings, coach)
    told = bool(words) and (not all_right or (at - coach.since) % (2.0 * _TAKE_TURNS_S) >= _TAKE_TURNS_S)
    for i, string in enumerate(coach.strings):
        left, right = room * i // len(coach.strings), room * (i + 1) // len(coach.strings)
        _name(picture, _EDGE + left, right - left, string, all_right)
        if not (all_right and told):
            below = _way(_start_of(string)) if all_right else string_strip.box(string.mark, False, *_BOX)
            picture.paste(INK, (_EDGE + left + (right - left - below.width) // 2, _BELOW_TOP), below)
    if told:
        picture.paste(INK, (_EDGE, string_strip.TOP), lettering.words(words))
    if face:
        _beside(picture, all_right)


def _beside(picture: Image.Image, all_right: bool) -> None:
    if all_right:
        picture.paste(INK, (picture.width - _FACE + (_FACE - _SMILE) // 2, 1), people.smile(_SMILE))
        picture.paste(INK, (picture.width - _FACE + 3, 30), _two_notes())
        key_caps.key_cap(picture, picture.width - _FACE, picture.width, "hold")
    else:
        picture.paste(INK, (picture.width - _FACE, 2), people.tall_one())
        picture.paste(INK, (picture.width - _EDGE - 16, 10), people.small_one())


def to_set(settings: Settings, coach: Coach) -> str:
    """What a teacher should set for the pegs' sake: "set size, cores"; empty where no peg was needed."""
    unset = [
        word
        for word, unknown in (
            ("size", settings.size is Size.UNKNOWN),
            ("cores", settings.cores is Cores.UNKNOWN),
        )
        if unknown
    ]
    needed = any(abs(string.first_cents or 0.0) > FINE_REACH for string in coach.strings)
    return f"set {', '.join(unset)}" if needed and unset else ""


def _name(picture: Image.Image, left: int, width: int, string: StringState, all_right: bool) -> None:
    """The letter, turned over where the string is right and others are not."""
    letter = lettering.letter(string.name, *_LETTER, 5.0)
    lit = string.mark is Mark.RIGHT and not all_right
    if lit:
        picture.paste(INK, (left, 1, left + width - 1, 32))
    picture.paste(0 if lit else INK, (left + (width - letter.width) // 2, 3), letter)


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
