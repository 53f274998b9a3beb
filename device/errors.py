"""Defines what can be refused, and how a refusal spells values and offers what would work.

Every error is also one of Python's own kinds, so that a caller may catch either.
"""

import difflib
from collections.abc import Iterable


class WallpegError(Exception):
    """Base of every refusal of this project; its text is one whole sentence for a person."""


class SettingError(WallpegError, ValueError):
    """A setting is outside what works; names the key, the value, the range and a value that works."""


class UsageError(WallpegError, ValueError):
    """The command line asks for something there is not; the command ends with status 2."""


class RecordingError(WallpegError, OSError):
    """A recording cannot be read."""


class PartError(WallpegError, OSError):
    """A real part (microphone, panel, buttons, speaker) is missing or does not answer."""


class BoardError(PartError):
    """The board lacks what no version of the program can bring: its pins, its bus."""


class NotYetError(PartError):
    """A part is being opened and may be there in a moment."""


class StuckError(WallpegError, TimeoutError):
    """A library hangs and offers no way out; only a new process helps."""


class PictureError(WallpegError, OSError):
    """A picture file cannot be written."""


def quoted(text: str) -> str:
    """A TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'


def spelled(found: object) -> str:
    """A refused value as its writer would know it again, cut to 40 characters."""
    if isinstance(found, bool):
        return "true" if found else "false"
    if isinstance(found, float) or (isinstance(found, int) and abs(found) < 1e12):
        return f"{found:g}"
    if isinstance(found, int):
        return "a huge number"
    text = quoted(found) if isinstance(found, str) else str(found)
    return text if len(text) <= 40 else text[:37] + "..."


def listed(words: Iterable[str]) -> str:
    """Words with commas, and "or" before the last."""
    *others, last = words
    return f"{', '.join(others)} or {last}" if others else last


def nearest(word: str, words: Iterable[str]) -> str | None:
    """The one of `words` spelled most like `word`, or None if none is like it."""
    close = difflib.get_close_matches(word, list(words), 1, 0.5)  # half the letters: difflib's ratio
    return close[0] if close else None
