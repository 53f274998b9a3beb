"""Redraw the kept pictures: `python -m tests.pictures`, from the root of the checkout.

Every picture of `tests.scenes` is kept at its true size under tests/data/pictures/, and the sheets
for the README beside them, enlarged. The tests compare them pixel for pixel and never rewrite one.
Ends with status 1 when anything was rewritten: look at it, then run once more.
"""

import sys
from collections.abc import Mapping
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from device.panel.screen import HEIGHT, WIDTH, draw
from tests.scenes import GROUPS, PICTURES, Shown

FOLDER = Path(__file__).parent / "data" / "pictures"
ENLARGED = 2  # times, on a sheet
ALONE = 6  # times, for a picture by itself
BY_ITSELF = ("flat-a-little", "peg-G-tighten", "right", "warning-stop", "read-go-down", "count-playing")
ACROSS = 3  # pictures in a row of a sheet
_GAP, _LABEL = 10, 14  # pixels of a sheet
_GROUND, _INK = 235, 40  # grey of the sheet and of its labels


def true_size() -> dict[str, Image.Image]:
    """Every picture by the name of its file."""
    return {f"{name}.png": draw(shown.scene, shown.at) for name, shown in PICTURES.items()}


def sheet(pictures: Mapping[str, Shown]) -> Image.Image:
    """The pictures enlarged, side by side, each over its name."""
    cell = WIDTH * ENLARGED + _GAP, HEIGHT * ENLARGED + _GAP + _LABEL
    rows = -(-len(pictures) // ACROSS)
    whole = Image.new("L", (cell[0] * ACROSS + _GAP, cell[1] * rows + _GAP), _GROUND)
    pen, font = ImageDraw.Draw(whole), ImageFont.load_default_imagefont()
    for i, (name, shown) in enumerate(pictures.items()):
        left, top = _GAP + cell[0] * (i % ACROSS), _GAP + cell[1] * (i // ACROSS)
        small = draw(shown.scene, shown.at).convert("L")
        whole.paste(
            small.resize((WIDTH * ENLARGED, HEIGHT * ENLARGED), Image.Resampling.NEAREST), (left, top)
        )
        pen.text((left, top + HEIGHT * ENLARGED + 1), name, fill=_INK, font=font)
    return whole


MAP = {
    "home-press": (
        "left: the string before; held: the instrument",
        "middle: the tone; held: the settings ->",
        "right: the next string; held: a new pupil",
        "left and right held: the teacher is here",
    ),
    "menu-reference-hz": (
        "left, right: turn the pages",
        "middle: change this value ->",
        "middle held, or 20 s alone: <- home",
        "left and right held: the teacher's pages",
    ),
    "menu-changing": (
        "left, right: another value; held: a leap",
        "middle: <- done, it counts at once",
        "middle held, or 20 s alone: <- home",
    ),
}
"""What every button does, under the picture of where it does it."""


def button_map() -> Image.Image:
    """Home, a page, and a value being changed, with what the buttons do there."""
    whole = sheet({name: PICTURES[name] for name in MAP})
    line, cell = 13, WIDTH * ENLARGED + _GAP
    longer = Image.new("L", (whole.width, whole.height + 4 * line), _GROUND)
    longer.paste(whole, (0, 0))
    pen, font = ImageDraw.Draw(longer), ImageFont.load_default_imagefont()
    for i, lines in enumerate(MAP.values()):
        for row, text in enumerate(lines):
            pen.text((_GAP + cell * i, whole.height - 6 + line * row), text, fill=_INK, font=font)
    return longer


def enlarged(name: str) -> Image.Image:
    """One picture by itself, with a rim."""
    small = draw(PICTURES[name].scene, PICTURES[name].at).convert("L")
    large = small.resize((WIDTH * ALONE, HEIGHT * ALONE), Image.Resampling.NEAREST)
    whole = Image.new("L", (large.width + 2 * _GAP, large.height + 2 * _GAP), _INK)
    whole.paste(large, (_GAP, _GAP))
    return whole


def sheets() -> dict[str, Image.Image]:
    """What the README shows, by the name of its file: a sheet a group, the map, a few pictures alone."""
    groups = {f"sheet-{group}.png": sheet(pictures) for group, pictures in GROUPS.items()}
    alone = {f"enlarged-{name}.png": enlarged(name) for name in BY_ITSELF}
    return {**groups, "map-of-the-buttons.png": button_map(), **alone}


def kept(name: str) -> Image.Image | None:
    """The picture as it lies in the folder; None when it is not there."""
    path = FOLDER / name
    if not path.exists():
        return None
    with Image.open(path) as picture:
        return picture.copy()


def same(one: Image.Image | None, other: Image.Image) -> bool:
    """Whether both are there and agree in size and every pixel."""
    return (
        one is not None
        and one.size == other.size
        and one.convert("L").tobytes() == other.convert("L").tobytes()
    )


def main() -> int:
    """Write what changed, remove what is no longer drawn, and say so."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    wanted = true_size() | sheets()
    stale = sorted(path.name for path in FOLDER.glob("*.png") if path.name not in wanted)
    changed = sorted(name for name, picture in wanted.items() if not same(kept(name), picture))
    for name in changed:
        wanted[name].save(FOLDER / name, optimize=True)
    for name in stale:
        (FOLDER / name).unlink()
    for name in changed + stale:
        print(("removed " if name in stale else "redrawn ") + name)
    return 1 if changed or stale else 0


if __name__ == "__main__":
    sys.exit(main())
