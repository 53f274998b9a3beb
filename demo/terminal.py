"""The panel in a terminal: pixels as characters, keys as buttons, and the terminal left as it was."""

import os
import select
import shutil
import signal
import sys
import textwrap
from collections.abc import Callable
from types import FrameType, TracebackType
from typing import Any, NoReturn, TextIO

from PIL import Image

from demo.characters import drawn
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
KEYS_LINE = "keys: p previous, t tone, n next (capitals: held), g the teacher's chord, q leave"
LEAVING = frozenset({"q", "Q", "\x1b", "\x03", "\x04"})  # escape, ctrl-C and ctrl-D too
_ENTER, _LEAVE = b"\x1b[?1049h\x1b[?25l\x1b[2J", b"\x1b[?25h\x1b[?1049l"


class EndedError(KeyboardInterrupt):
    """A signal told the program to end; `number` is the signal's."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


class TerminalPanel:
    """A panel drawn into a terminal, with the latest words beneath."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._picture: Image.Image | None = None
        self.below = ("", "")

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return 128, 64

    def show(self, picture: Image.Image) -> None:
        """Draw `picture`."""
        self._picture = picture
        self.refresh()

    def refresh(self) -> None:
        """Write everything again, the words included, for the window as it is now."""
        columns, rows = shutil.get_terminal_size()
        text = screenful(self._picture, self.below, columns - 1, rows - 1, self._out.encoding)
        self._out.write("\x1b[H" + "".join(f"{line}\x1b[K\r\n" for line in text) + "\x1b[J")
        self._out.flush()

    def close(self) -> None:
        """Nothing to let go of; `Screenful` puts the terminal back."""


def screenful(
    picture: Image.Image | None, below: tuple[str, ...], columns: int, rows: int, encoding: str = "utf-8"
) -> list[str]:
    """At most `rows` lines of at most `columns` characters: the panel, the latest words, the keys.

    Whole sentences go on in the next line. Where rows are short the keys go first, then the older words.
    """
    panel = [] if picture is None else drawn(picture, columns, rows, encoding)
    room = rows - len(panel)
    words: list[str] = []
    for text in reversed(below):  # the latest first
        lines = textwrap.wrap(text, columns) if text else []
        if len(words) + len(lines) <= room:
            words = lines + words
        elif not words:
            words = lines[: max(room, 0)]
    keys = textwrap.wrap(KEYS_LINE, columns)
    return [*panel, *words, *(keys if len(words) + len(keys) <= room else [])]


class Screenful:
    """The whole terminal for as long as the `with` lasts: no echo, no cursor, keys at once.

    Whatever happens inside, the terminal is put back as it was: when the program is told to end
    (SIGTERM, SIGHUP), and for as long as it is stopped (ctrl-Z).
    """

    def __init__(self, out: TextIO, redraw: Callable[[], None] = lambda: None) -> None:
        self._out, self._redraw = out, redraw
        self._resumed = False
        self._before: list[Any] | None = None
        self._handlers: dict[int, Any] = {}

    def __enter__(self) -> "Screenful":
        self._before = _modes()
        self._out.flush()
        self._take()
        for number, handler in (
            (signal.SIGTERM, _end),
            (signal.SIGHUP, _end),
            (signal.SIGTSTP, self._stop),
            (signal.SIGCONT, self._go_on),
        ):
            self._handlers[number] = signal.signal(number, handler)
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        for number, handler in self._handlers.items():
            signal.signal(number, handler)
        self._out.flush()
        self._put_back()

    def typed(self) -> str:
        """Every key since the last call, perhaps none; never waits. Redraws after a stop."""
        if self._resumed:
            self._resumed = False
            self._redraw()
        if self._before is None:
            return ""
        ready, _, _ = select.select([sys.stdin], [], [], 0.0)
        if not ready:
            return ""
        keys = os.read(sys.stdin.fileno(), 64).decode(errors="ignore")
        return keys or "\x04"  # the other end is gone

    def _take(self) -> None:
        """Take the terminal; from a signal's handler too, so it goes past Python's own buffers."""
        if self._before is not None:
            import tty  # noqa: PLC0415 - not on every system

            tty.setcbreak(sys.stdin.fileno())
        os.write(self._out.fileno(), _ENTER)

    def _put_back(self) -> None:
        os.write(self._out.fileno(), _LEAVE)
        if self._before is not None:
            import termios  # noqa: PLC0415 - not on every system

            termios.tcsetattr(sys.stdin.fileno(), termios.TCSADRAIN, self._before)

    def _stop(self, _number: int, _frame: FrameType | None) -> None:
        """Ctrl-Z: the shell gets its terminal back, then this process stops."""
        self._put_back()
        os.kill(os.getpid(), signal.SIGSTOP)

    def _go_on(self, _number: int, _frame: FrameType | None) -> None:
        """The shell's fg: whoever stopped us, the terminal is not as we left it."""
        self._take()
        self._resumed = True


def _end(number: int, _frame: FrameType | None) -> NoReturn:
    """Unwind, so that every `with` puts back what it took."""
    raise EndedError(number)


def buttons_of(key: str) -> tuple[tuple[Button, ...], Seconds]:
    """Which buttons a key puts down, and for how long; none for a key that means nothing."""
    buttons, hold_s = KEYS.get(key, ((), 0.0))
    return buttons, Seconds(hold_s)


def _modes() -> list[Any] | None:
    """The terminal's modes as they are; None where stdin is no terminal."""
    if sys.stdin is None or not sys.stdin.isatty():
        return None
    import termios  # noqa: PLC0415 - not on every system

    return list(termios.tcgetattr(sys.stdin.fileno()))
