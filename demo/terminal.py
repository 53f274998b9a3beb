"""The panel in a terminal: pixels as characters, keys as buttons, and the terminal left as it was."""

import os
import select
import shutil
import sys
from types import TracebackType
from typing import Any, TextIO

import numpy as np
from PIL import Image

from device.events import Button
from dsp import Seconds

KEYS: dict[str, tuple[tuple[Button, ...], float]] = {  # key: buttons and how long they are down, in s
    "n": ((Button.NEXT,), 0.12),
    "p": ((Button.PREVIOUS,), 0.12),
    "t": ((Button.TONE,), 0.12),
    "N": ((Button.NEXT,), 1.2),
    "P": ((Button.PREVIOUS,), 1.2),
    "T": ((Button.TONE,), 1.2),
    "g": ((Button.NEXT, Button.PREVIOUS), 3.4),
}
KEYS_LINE = "keys: n next, p previous, t tone (capitals: held), g the teacher's chord, q leave"
_HALVES = np.array([" ", "▀", "▄", "█"])
_DOTS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])  # Unicode braille patterns


def half_blocks(picture: Image.Image) -> list[str]:
    """One character for two pixels, upper and lower; lit pixels are filled."""
    lit = np.asarray(picture.convert("1"), np.uint8)
    return ["".join(row) for row in _HALVES[lit[0::2] + 2 * lit[1::2]]]


def braille(picture: Image.Image) -> list[str]:
    """One character for two pixels across and four down."""
    lit = np.asarray(picture.convert("1"), np.uint8)
    rows, columns = lit.shape[0] // 4, lit.shape[1] // 2
    cells = lit[: 4 * rows, : 2 * columns].reshape(rows, 4, columns, 2)
    codes = (cells * _DOTS[None, :, None, :]).sum(axis=(1, 3))
    return ["".join(chr(0x2800 + int(code)) for code in row) for row in codes]


def drawn(picture: Image.Image, columns: int, rows: int) -> list[str]:
    """The picture in a frame, as large as the terminal allows."""
    wide = columns >= picture.width + 2 and rows >= picture.height // 2 + 5
    lines = half_blocks(picture) if wide else braille(picture)
    edge = "─" * len(lines[0])
    return [f"┌{edge}┐", *(f"│{line}│" for line in lines), f"└{edge}┘"]


class TerminalPanel:
    """A panel drawn into a terminal, with a line of words beneath."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._lines: list[str] = []
        self.below = ("", "")

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return 128, 64

    def show(self, picture: Image.Image) -> None:
        """Draw `picture`."""
        columns, rows = shutil.get_terminal_size()
        self._lines = drawn(picture, columns, rows)
        self.refresh()

    def refresh(self) -> None:
        """Write everything again, the words included."""
        columns, rows = shutil.get_terminal_size()
        text = [line[: columns - 1] for line in (*self._lines, *self.below, KEYS_LINE)][: rows - 1]
        self._out.write("\x1b[H" + "".join(f"{line}\x1b[K\r\n" for line in text) + "\x1b[J")
        self._out.flush()

    def close(self) -> None:
        """Nothing to let go of; `Screenful` puts the terminal back."""


class Screenful:
    """The whole terminal for as long as the `with` lasts: no echo, no cursor, keys at once.

    Whatever happens inside, the terminal is put back as it was.
    """

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._before: list[Any] | None = None

    def __enter__(self) -> "Screenful":
        self._before = _cbreak()
        self._out.write("\x1b[?1049h\x1b[?25l\x1b[2J")
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self._out.write("\x1b[?25h\x1b[?1049l")
        self._out.flush()
        if self._before is not None:
            import termios  # noqa: PLC0415 - not on every system

            termios.tcsetattr(sys.stdin.fileno(), termios.TCSADRAIN, self._before)

    def typed(self) -> str:
        """Every key since the last call, perhaps none; never waits."""
        if self._before is None:
            return ""
        ready, _, _ = select.select([sys.stdin], [], [], 0.0)
        return os.read(sys.stdin.fileno(), 64).decode(errors="ignore") if ready else ""


def buttons_of(key: str) -> tuple[tuple[Button, ...], Seconds]:
    """Which buttons a key puts down, and for how long; none for a key that means nothing."""
    buttons, hold_s = KEYS.get(key, ((), 0.0))
    return buttons, Seconds(hold_s)


def _cbreak() -> list[Any] | None:
    """Hand keys over at once and unechoed; None where stdin is no terminal."""
    if not sys.stdin.isatty():
        return None
    import termios  # noqa: PLC0415 - not on every system
    import tty  # noqa: PLC0415

    before = termios.tcgetattr(sys.stdin.fileno())
    tty.setcbreak(sys.stdin.fileno())
    return list(before)
