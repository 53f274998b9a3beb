"""One page of the settings: its sign, what is chosen, and what each button will do."""

from PIL import Image

from device.panel.drawing import key_caps, setting_signs
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK
from device.panel.scene import MenuView, Scene

_TOP, _MIDDLE_Y, _EDGE = 0, 32, 2  # pixels
_ABOVE, _BELOW = 12, 42  # of small words about the value
_VALUE_LEFT = setting_signs.WIDTH + 4
_LETTER = 6  # pixels, the width of a small letter


def draw_menu_page(picture: Image.Image, scene: Scene, page: MenuView) -> None:
    """Title and place above, sign and value in the middle, three keys along the bottom."""
    title, place = words(page.title), words(f"{page.position + 1}/{page.count}")
    picture.paste(INK, (_EDGE, _TOP), title)
    if title.width + place.width + 4 * _EDGE <= picture.width:  # the longest title stands alone
        picture.paste(INK, (picture.width - _EDGE - place.width, _TOP), place)
    sign = setting_signs.sign(page.key, scene.settings)
    if sign is not None:
        picture.paste(INK, (0, 13), sign)
    left = _VALUE_LEFT if sign is not None else 0
    _value(picture, page, left)
    for y, said in zip((_ABOVE, _BELOW), page.beside or (), strict=False):
        text = words(said)
        picture.paste(INK, (left + (picture.width - left - text.width) // 2, y), text)
    key_caps.row(picture, page.hints)


def _value(picture: Image.Image, page: MenuView, left: int) -> None:
    """As large as it fits; on a lit ground while the buttons change it."""
    room = picture.width - left
    large = 2 * _LETTER * len(page.value) <= room - 2
    text = words(page.value, 2 if large else 1)
    x, y = left + (room - text.width) // 2, _MIDDLE_Y - text.height // 2
    if page.changing:
        picture.paste(INK, (max(x - 2, 0), y - 2, x + text.width + 2, y + text.height + 1))
    picture.paste(0 if page.changing else INK, (x, y), text)
