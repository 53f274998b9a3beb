"""Letters and digits, our own shapes: the note letters at any size, figures at one.

A note letter is drawn into a box of given width and height with strokes of a given thickness; the
digits are little rows of pixels, since at eleven pixels each one counts.
"""

from collections.abc import Callable

from PIL import Image, ImageDraw, ImageFont

from device.panel.drawing.plate import Plate, Point, along_arc, cached

_Pen = Callable[[Plate, float, float, float], None]
"""Draws into (plate, width, height, stroke)."""


def _half_oval(left: float, top: float, right: float, bottom: float) -> list[Point]:
    """The right half of an ellipse, from its top to its bottom."""
    middle, half = (top + bottom) / 2.0, (bottom - top) / 2.0
    return [(left + x * (right - left), middle + y * half) for x, y in along_arc((0.0, 0.0), 1.0, 0.0, 180.0)]


def _bowl(plate: Plate, left: float, top: float, right: float, bottom: float, stroke: float) -> None:  # noqa: PLR0913, PLR0917 - four sides of a box
    """A D: straight on the left, round on the right, hollow."""
    bend = left + (right - left) * 0.4
    plate.area([(left, top), *_half_oval(bend, top, right, bottom), (left, bottom)])
    inner = _half_oval(bend, top + stroke, right - stroke, bottom - stroke)
    plate.area([(left + stroke, top + stroke), *inner, (left + stroke, bottom - stroke)], ink=False)


def _a(plate: Plate, w: float, h: float, s: float) -> None:
    flat = s * 1.1  # a sloping stroke looks thinner than it is
    plate.area(
        [
            (w / 2 - s * 0.6, 0),
            (w / 2 + s * 0.6, 0),
            (w, h),
            (w - flat, h),
            (w / 2, s * 1.3),
            (flat, h),
            (0, h),
        ]
    )
    plate.area(
        [
            (w * 0.3, h * 0.6),
            (w * 0.7, h * 0.6),
            (w * 0.78, h * 0.6 + s * 0.85),
            (w * 0.22, h * 0.6 + s * 0.85),
        ]
    )


def _b(plate: Plate, w: float, h: float, s: float) -> None:
    waist = h * 0.48
    _bowl(plate, 0, 0, w * 0.93, waist + s / 2, s)
    _bowl(plate, 0, waist - s / 2, w, h, s)


def _ring_open_on_the_right(plate: Plate, w: float, h: float, s: float) -> None:
    plate.oval((w / 2, h / 2), w / 2, h / 2)
    plate.oval((w / 2, h / 2), w / 2 - s, h / 2 - s, ink=False)
    plate.box(w * 0.55, h * 0.34, w + 1, h * 0.66, ink=False)


def _d(plate: Plate, w: float, h: float, s: float) -> None:
    _bowl(plate, 0, 0, w, h, s)


def _e(plate: Plate, w: float, h: float, s: float) -> None:
    plate.box(0, 0, s, h)
    plate.box(0, 0, w, s)
    plate.box(0, h / 2 - s / 2, w * 0.86, h / 2 + s / 2)
    plate.box(0, h - s, w, h)


def _f(plate: Plate, w: float, h: float, s: float) -> None:
    plate.box(0, 0, s, h)
    plate.box(0, 0, w, s)
    plate.box(0, h / 2 - s / 2, w * 0.86, h / 2 + s / 2)


def _g(plate: Plate, w: float, h: float, s: float) -> None:
    _ring_open_on_the_right(plate, w, h, s)
    plate.box(w * 0.52, h * 0.52, w, h * 0.52 + s)
    plate.box(w - s, h * 0.52, w, h * 0.78)


def _sharp(plate: Plate, w: float, h: float, s: float) -> None:
    thin = min(s, w * 0.2)
    for x in (w * 0.28, w * 0.72):
        plate.box(x - thin / 2, 0, x + thin / 2, h)
    for y in (h * 0.36, h * 0.68):
        plate.area([(0, y), (w, y - h * 0.1), (w, y - h * 0.1 + s), (0, y + s)])


def _flat(plate: Plate, w: float, h: float, s: float) -> None:
    plate.box(0, 0, s, h)
    _bowl(plate, 0, h * 0.45, w, h, s)


_PENS: dict[str, _Pen] = {
    "A": _a,
    "B": _b,
    "C": _ring_open_on_the_right,
    "D": _d,
    "E": _e,
    "F": _f,
    "G": _g,
    "#": _sharp,
    "b": _flat,
}


@cached
def letter(name: str, width: int, height: int, stroke: float) -> Image.Image:
    """A note letter with its sharp or flat, as a mask of exactly `width` by `height` pixels.

    `name` may carry an octave, which is left away: "A4", "F#", "Bb3".
    """
    base, accidental = name[0], name[1:].rstrip("0123456789")
    plate = Plate(width, height)
    if not accidental:
        _PENS[base](plate, width, height, stroke)
        return plate.mask()
    narrow, small = Plate(width * 5 // 8, height), Plate(width - width * 5 // 8 - 2, height // 2)
    _PENS[base](narrow, width * 5 // 8, height, stroke * 0.75)
    _PENS[accidental](small, width - width * 5 // 8 - 2, height // 2, stroke * 0.4)
    whole = Image.new("1", (width, height))
    whole.paste(narrow.mask(), (0, 0))
    whole.paste(small.mask(), (width * 5 // 8 + 2, 0))
    return whole


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


@cached
def number(text: str, scale: int = 1) -> Image.Image:
    """Digits, signs and spaces as a mask, 6 pixels wide each with one between, 9 high, times `scale`."""
    mask = Image.new("1", (7 * len(text) - 1, 9))
    for i, character in enumerate(text):
        for y, row in enumerate(_ROWS[character].split()):
            for x, pixel in enumerate(row):
                if pixel == "#":
                    mask.putpixel((7 * i + x, y), 1)
    return mask.resize((mask.width * scale, 9 * scale), Image.Resampling.NEAREST)


@cached
def _font() -> ImageFont.ImageFont:
    return ImageFont.load_default_imagefont()


@cached
def words(text: str, scale: int = 1) -> Image.Image:
    """Pillow's built-in bitmap font as a mask, 11 pixels high times `scale`."""
    font = _font()
    left, top, right, bottom = (int(edge) for edge in font.getbbox(text))
    mask = Image.new("1", (max(1, right - left), bottom - top))
    ImageDraw.Draw(mask).text((-left, -top), text, fill=1, font=font)
    return mask.resize((mask.width * scale, mask.height * scale), Image.Resampling.NEAREST)
