"""A real pseudo-terminal with the command in it, for the tests."""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parent.parent
DEMO = (sys.executable, "-m", "device", "demo")
LEFT = "\x1b[?25h\x1b[?1049l"  # the cursor is back, and the screen of before
TAKEN = "\x1b[?1049h\x1b[?25l"


class Terminal:
    """A program in a pseudo-terminal of its own, its controlling one, so that keys send signals."""

    def __init__(
        self, program: Sequence[str] = DEMO, columns: int = 80, rows: int = 24, **environment: str
    ) -> None:
        self.ours, self.theirs = pty.openpty()
        fcntl.ioctl(self.theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.before = termios.tcgetattr(self.theirs)
        self.seen = ""
        inherited = {key: value for key, value in os.environ.items() if key not in {"COLUMNS", "LINES"}}
        self.process = subprocess.Popen(
            program,
            cwd=ROOT,
            stdin=self.theirs,
            stdout=self.theirs,
            stderr=self.theirs,
            env={**inherited, "TERM": "xterm", **environment},
            start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),  # noqa: PLW1509 - no threads here
        )

    def type(self, keys: str) -> None:
        """Press keys."""
        os.write(self.ours, keys.encode())

    def read_until(self, words: str, limit_s: float = 90.0) -> None:
        """Read what it writes until `words` were in it; forget all up to them."""
        end = time.monotonic() + limit_s
        while words not in self.seen and time.monotonic() < end:
            self._take()
        assert words in self.seen, self.seen[-2000:]

    def forget(self) -> str:
        """What was seen so far; from now on it counts as not seen."""
        seen, self.seen = self.seen, ""
        return seen

    def ended(self, limit_s: float = 90.0) -> int:
        """Its exit status; reads on meanwhile, since a full terminal would hold it up for ever."""
        end = time.monotonic() + limit_s
        while self.process.poll() is None and time.monotonic() < end:
            self._take()
        while self._take():
            pass
        return self.process.wait(1)

    def _take(self) -> bool:
        """Read what it wrote, if anything; whether there was something."""
        if not select.select([self.ours], [], [], 0.1)[0]:
            return False
        self.seen += os.read(self.ours, 65536).decode(errors="replace")
        return True

    def close(self) -> None:
        """End the program if it still runs."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        os.close(self.ours)
        os.close(self.theirs)


def assert_put_back(terminal: Terminal) -> None:
    assert LEFT in terminal.seen
    assert termios.tcgetattr(terminal.theirs) == terminal.before
