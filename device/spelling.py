"""How values and choices are spelled in a settings file and in a refusal."""

import difflib
from collections.abc import Iterable


def quoted(text: str) -> str:
    """A TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'


def shown(found: object) -> str:
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
