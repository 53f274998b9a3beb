"""What C libraries print on their own account reaches the journal once, however often they say it.

The sound library prints some thirty lines for one microphone that is unplugged, and again for every
try to open it. They go straight to the process's standard error (descriptor 2), so that is given a
pipe of its own, and what comes out of it is said once; the program keeps the real one.
"""

import os
import re
import sys
import threading
from collections.abc import Callable, Iterable

MOST = 50  # different lines; after those nothing more is said
LONGEST_LINE = 300  # characters of a line


def say_each_once(note: Callable[[str], None]) -> None:
    """From now on, hand each different line that a library prints to `note`, once."""
    real = os.dup(2)
    reading, writing = os.pipe()
    os.dup2(writing, 2)
    os.close(writing)
    sys.stderr = os.fdopen(real, "w", buffering=1, errors="backslashreplace")
    lines = os.fdopen(reading, errors="backslashreplace")
    threading.Thread(target=_each_once, args=(lines, note), daemon=True).start()


def _each_once(lines: Iterable[str], note: Callable[[str], None]) -> None:
    """Say what is new; two lines are the same when only their numbers differ."""
    said = set[str]()
    for line in lines:
        text = line.strip()[:LONGEST_LINE]
        alike = re.sub(r"0x[0-9a-f]+|\d+", "0", text)
        if text and alike not in said and len(said) < MOST:
            said.add(alike)
            note(f"a library says once: {text}")
