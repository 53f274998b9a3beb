"""A reference tone sounds: its letter and a loudspeaker."""

import re

from PIL import Image

from device.drawing import lettering, signs, things
from device.drawing.figures import words
from device.drawing.plate import INK
from device.scene import Scene


def draw(picture: Image.Image, scene: Scene, sounding: str) -> None:
    """The letter of the tone, or of both tones of a fifth, and a loudspeaker at work."""
    names = re.findall(r"[A-G][#b]?", sounding)[:2]
    for i, name in enumerate(names):
        picture.paste(INK, (34 * i, 5), lettering.letter(name, 28, 42, 8.0))
    picture.paste(INK, (74, 6), things.loudspeaker())
    picture.paste(INK, (106, 6), signs.waves())
    text = words(f"listen  A = {scene.settings.reference_hz:g} Hz")
    picture.paste(INK, (0, 53), text)
