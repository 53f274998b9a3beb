"""Warnings: each takes the whole panel, on dark, and its frame breathes slowly."""

from PIL import Image

from device.lesson.advice import Alarm
from device.panel.drawing import icons, lettering, people, signs
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK
from device.panel.scene import Scene
from dsp import Seconds

FRAME_BREATHES_S = 0.5  # seconds with the frame and as long without: once a second, half of what is allowed


def draw_warning(picture: Image.Image, scene: Scene, alarm: Alarm, at: Seconds) -> None:
    """The picture of one warning."""
    match alarm:
        case Alarm.STOP:
            _stop(picture, scene.coach.string)
        case Alarm.SLOWLY:
            picture.paste(INK, (8, 8), signs.snail())
            picture.paste(INK, (88, 27), words("slowly"))
        case Alarm.ANOTHER_INSTRUMENT:
            _which_instrument(picture)
        case Alarm.ANOTHER_REFERENCE:
            _which_pitch(picture)
    if int(at / FRAME_BREATHES_S) % 2 == 0:
        _frame(picture)


def _stop(picture: Image.Image, string: str) -> None:
    picture.paste(INK, (10, 3), people.palm())
    picture.paste(INK, (66, 6), words("STOP", 2))
    picture.paste(INK, (82, 32), lettering.letter(string, 18, 27, 5.0))


def _which_instrument(picture: Image.Image) -> None:
    """The family from small to big, and a question."""
    left = 6
    for height in (26, 32, 44, 56):
        body = icons.bowed_instrument(height)
        picture.paste(INK, (left, 60 - height), body)
        left += body.width + 5
    picture.paste(INK, (98, 13), signs.question())


def _which_pitch(picture: Image.Image) -> None:
    """A tuning fork beside the A it stands for, and a question."""
    picture.paste(INK, (10, 4), icons.tuning_fork())
    picture.paste(INK, (38, 12), signs.waves())
    picture.paste(INK, (64, 11), lettering.letter("A", 28, 42, 8.0))
    picture.paste(INK, (98, 13), signs.question())


def _frame(picture: Image.Image) -> None:
    """Two pixels all round."""
    width, height = picture.size
    for side in (
        (0, 0, width, 2),
        (0, height - 2, width, height),
        (0, 0, 2, height),
        (width - 2, 0, width, height),
    ):
        picture.paste(INK, side)
