"""One page of the settings: its sign, what is chosen, and what each button will do."""

from PIL import Image

from device.drawing import setting_signs
from device.drawing.figures import words
from device.drawing.plate import INK
from device.scene import MenuView, Scene

_TOP, _MIDDLE_Y, _HINTS_TOP = 0, 32, 53  # pixels
_VALUE_LEFT = setting_signs.WIDTH + 4
_LETTER = 6  # pixels, the width of a small letter


def draw(picture: Image.Image, scene: Scene, page: MenuView) -> None:
    """Title and place above, sign and value in the middle, three keys along the bottom."""
    picture.paste(INK, (0, _TOP), words(page.title))
    place = words(f"{page.position + 1}/{page.count}")
    picture.paste(INK, (picture.width - place.width, _TOP), place)
    sign = setting_signs.sign(page.key, scene.settings)
    if sign is not None:
        picture.paste(INK, (0, 13), sign)
    _value(picture, page, _VALUE_LEFT if sign is not None else 0)
    for i, hint in enumerate(page.hints):
        left, right = picture.width * i // 3, picture.width * (i + 1) // 3 - 1
        _key_cap(picture, left, right, hint)


def _value(picture: Image.Image, page: MenuView, left: int) -> None:
    """As large as it fits; on a lit ground while the buttons change it."""
    room = picture.width - left
    large = 2 * _LETTER * len(page.value) <= room - 2
    text = words(page.value, 2 if large else 1)
    x, y = left + (room - text.width) // 2, _MIDDLE_Y - text.height // 2
    if page.changing:
        picture.paste(INK, (max(x - 2, 0), y - 2, x + text.width + 2, y + text.height + 1))
    picture.paste(0 if page.changing else INK, (x, y), text)


def _key_cap(picture: Image.Image, left: int, right: int, hint: str) -> None:
    """A lit key with the word for what it does."""
    text = words(hint)
    picture.paste(INK, (left, _HINTS_TOP, right, picture.height))
    picture.paste(0, (left + (right - left - text.width) // 2, _HINTS_TOP), text)
