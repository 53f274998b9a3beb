"""Keeps what the panel showed: one PNG a picture, or one moving picture."""

import os
import tempfile
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from PIL import Image

from device.errors import PictureError
from dsp import Seconds

ENLARGED = 4  # times true size, so that a person sees single pixels
END_SHOWN_MS = 3000
KINDS = {".gif": "GIF", ".png": "PNG"}
Shown = Sequence[tuple[Seconds, Image.Image]]


def save_pictures(shown: Shown, folder: Path) -> int:
    """Write every picture, true size and enlarged; how many there were.

    Raises PictureError when the folder cannot be written.
    """
    check_folder(folder)
    try:
        for number, (at, picture) in enumerate(shown, start=1):
            name = f"{number:03d}-{at:05.2f}s"
            _write(picture, folder / f"{name}.png")
            _write(enlarged(picture), folder / f"{name}-x{ENLARGED}.png")
    except OSError as error:
        raise PictureError(f"pictures cannot be kept in {folder}: {error.strerror or error}") from error
    return len(shown)


def save_animation(shown: Shown, path: Path, scale: int = 2) -> None:
    """Write all pictures as one moving picture: GIF, or animated PNG, by the name's ending.

    Raises PictureError for another ending, or when the file cannot be written.
    """
    check_animation(path)
    if not shown:
        raise PictureError(f"no picture was shown, so {path} was not written")
    frames = [enlarged(picture, scale) for _, picture in shown]
    times = [at for at, _ in shown]
    lasts = [max(round(1000.0 * (b - a)), 20) for a, b in pairwise(times)]
    try:
        _write(
            frames[0], path, save_all=True, append_images=frames[1:], duration=[*lasts, END_SHOWN_MS], loop=0
        )
    except OSError as error:
        raise PictureError(f"{path} cannot be written: {error.strerror or error}") from error


def check_folder(folder: Path) -> None:
    """Make the folder; PictureError when pictures could not be kept in it."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise PictureError(f"pictures cannot be kept in {folder}: {error.strerror or error}") from error


def check_animation(path: Path) -> None:
    """PictureError when the ending is not one of a moving picture, or its folder takes no files.

    Makes no folder: a mistyped one would be made in vain.
    """
    if path.suffix.lower() not in KINDS:
        raise PictureError(f"{path} must end in .gif or .png to be a moving picture")
    if path.is_dir():
        raise PictureError(f"{path} cannot be written: it is a folder")
    if not path.parent.is_dir():
        raise PictureError(f"{path} cannot be written: there is no folder {path.parent}; make it first")
    if not os.access(path.parent, os.W_OK):
        raise PictureError(f"{path} cannot be written: {path.parent} may not be written to")


def enlarged(picture: Image.Image, scale: int = ENLARGED) -> Image.Image:
    """The same pixels, larger."""
    return picture.resize((picture.width * scale, picture.height * scale), Image.Resampling.NEAREST)


def _write(picture: Image.Image, path: Path, **options: object) -> None:
    """Write whole or not at all."""
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=path.suffix)
    try:
        with os.fdopen(handle, "wb") as file:
            picture.save(file, KINDS[path.suffix.lower()], **options)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
