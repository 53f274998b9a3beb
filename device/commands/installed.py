"""Reads what the installation says of itself: where it is, and whether the box went back to it.

`systemd/install.sh` puts each version into a folder of its own in /opt/wallpeg/versions, and
`systemd/rollback.sh` leaves a note beside them when it made the version before current again.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

VERSIONS = "versions"  # the folder in which versions lie side by side
LONGEST_NOTE = 200  # characters of the note that are read


@dataclass(frozen=True, slots=True)
class WentBack:
    """The box left a version and runs the one before it."""

    left: str  # the version that was left: "0.2.0-1a2b3c4d"
    why: str


def installed(prefix: Path = Path(sys.prefix)) -> bool:
    """Whether this program was put here by the installer."""
    return prefix.resolve().parent.name == VERSIONS  # it may be reached by the link to the current one


def went_back(prefix: Path = Path(sys.prefix)) -> WentBack | None:
    """The note of the last time the box went back; None when it never did, or left another version since.

    The note is of the version that is current: one that is only tried beside it was not gone back to.
    """
    home = prefix.resolve().parent.parent
    if not installed(prefix) or (home / "current").resolve() != prefix.resolve():
        return None
    try:
        text = (home / "went-back").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None
    left, _, why = text[:LONGEST_NOTE].partition("\n")
    note = WentBack(left.strip(), why.strip())
    return None if note.left in ("", prefix.resolve().name) else note
