"""What a C library prints on standard error is said once, and the program's own words come through."""

import subprocess
import sys
from pathlib import Path

from device.commands.library_lines import _each_once

PROGRAM = """
import os, sys, time
from device.commands.library_lines import say_each_once
heard = []
say_each_once(heard.append)
for k in range(33):
    os.write(2, b"Expression failed in line %d of pa_unix_util.c\\n" % k)
os.write(2, b"another\\n")
while len(heard) < 2:
    time.sleep(0.01)
print(*heard, sep="\\n")
print("of our own", file=sys.stderr)
"""


def test_a_library_that_repeats_itself_is_heard_once():
    words = [sys.executable, "-c", PROGRAM]
    done = subprocess.run(
        words, cwd=Path(__file__).parent.parent, capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.splitlines() == [
        "a library says once: Expression failed in line 0 of pa_unix_util.c",
        "a library says once: another",
    ]
    assert done.stderr == "of our own\n"


def test_a_library_that_never_ends_is_not_heard_for_ever():
    heard = []
    _each_once((f"{chr(97 + k % 26) * (1 + k // 26)}\n" for k in range(500)), heard.append)
    assert len(heard) == 50
