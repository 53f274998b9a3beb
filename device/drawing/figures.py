"""Digits, signs and small words: the figures a teacher reads from beside the box."""

from PIL import Image, ImageDraw, ImageFont

from device.drawing.plate import kept

HEIGHT = 11  # pixels, as the small words

_ROWS = {
    "0": ".####. ##..## ##..## ##..## ##..## ##..## ##..## ##..## .####.",
    "1": "..##.. .###.. ####.. ..##.. ..##.. ..##.. ..##.. ..##.. ######",
    "2": ".####. ##..## ....## ....## ...##. ..##.. .##... ##.... ######",
    "3": ".####. ##..## ....## ....## ..###. ....## ....## ##..## .####.",
    "4": "...##. ..###. .####. ##.##. ##.##. ######  ...##. ...##. ...##.",
    "5": "###### ##.... ##.... #####. ....## ....## ....## ##..## .####.",
    "6": "..###. .##... ##.... #####. ##..## ##..## ##..## ##..## .####.",
    "7": "###### ....## ....## ...##. ...##. ..##.. ..##.. .##... .##...",
    "8": ".####. ##..## ##..## ##..## .####. ##..## ##..## ##..## .####.",
    "9": ".####. ##..## ##..## ##..## .##### ....## ....## ...##. .###..",
    "+": "...... ...... ..##.. ..##.. ###### ###### ..##.. ..##.. ......",
    "-": "...... ...... ...... ...... ###### ###### ...... ...... ......",
    "?": ".####. ##..## ....## ....## ...##. ..##.. ..##.. ...... ..##..",
    " ": "...... ...... ...... ...... ...... ...... ...... ...... ......",
}


@kept
def number(text: str, scale: int = 1) -> Image.Image:
    """Digits, signs and spaces as a mask, 6 pixels wide each with one between, 9 high, times `scale`."""
    mask = Image.new("1", (7 * len(text) - 1, 9))
    for i, character in enumerate(text):
        for y, row in enumerate(_ROWS[character].split()):
            for x, pixel in enumerate(row):
                if pixel == "#":
                    mask.putpixel((7 * i + x, y), 1)
    return mask.resize((mask.width * scale, 9 * scale), Image.Resampling.NEAREST)


@kept
def _font() -> ImageFont.ImageFont:
    return ImageFont.load_default_imagefont()


@kept
def words(text: str, scale: int = 1) -> Image.Image:
    """Pillow's built-in bitmap font as a mask, 11 pixels high times `scale`."""
    font = _font()
    left, top, right, bottom = (int(edge) for edge in font.getbbox(text))
    mask = Image.new("1", (max(1, right - left), bottom - top))
    ImageDraw.Draw(mask).text((-left, -top), text, fill=1, font=font)
    return mask.resize((mask.width * scale, mask.height * scale), Image.Resampling.NEAREST)
