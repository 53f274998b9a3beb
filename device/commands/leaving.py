"""Ends a command that had the sound library open."""

import os
import sys


def leave(status: int) -> None:
    """End the process now.

    The sound library's own farewell can hang on a source that is frozen, and was seen to crash
    beside a stream that is still being closed.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status)
