"""One page of the settings: what it is about, what is chosen, and what each button will do."""

from PIL import Image

from device.drawing.figures import words
from device.drawing.plate import INK
from device.scene import MenuView


def draw(picture: Image.Image, page: MenuView) -> None:
    """Title above, the choice large, the three hints along the bottom."""
    title = words(page.title)
    picture.paste(INK, (0, 0), title)
    value = words(page.value, 2 if 12 * len(page.value) <= picture.width else 1)
    picture.paste(INK, ((picture.width - value.width) // 2, 20), value)
    for i, hint in enumerate(page.hints):
        text = words(hint)
        left = (picture.width - text.width) * i // 2
        picture.paste(INK, (left, 53), text)
