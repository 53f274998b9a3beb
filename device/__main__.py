"""The command `wallpeg`: finds the module of the command named and hands over.

Every command is a module of `device.commands` with `configure(parser)`, which adds its arguments,
and `main(arguments)`, which returns the exit status: 0 done, 1 a check failed or something could
not be read or started, 2 usage. A refusal (`WallpegError`) is one line on stderr, never a traceback.
"""

import argparse
import importlib
import sys
from collections.abc import Sequence

from device.errors import WallpegError

COMMANDS = {
    "run": "the box itself, on the board with its microphone, panel and buttons",
    "demo": "a simulated box and a simulated instrument, on any computer",
    "listen": "read a recording and say how far each string is off",
    "check": "test the parts of a built box one by one",
    "lessons": "simulated lessons: how many pupils end in tune",
}
DONE, FAILED, USAGE, INTERRUPTED = 0, 1, 2, 130


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    words = list(sys.argv[1:] if words is None else words)
    parser = argparse.ArgumentParser(prog="wallpeg", description="An offline tuning box for a wall.")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    named = next((word for word in words if not word.startswith("-")), None)
    for name, purpose in COMMANDS.items():
        command = commands.add_parser(name, help=purpose, description=purpose.capitalize() + ".")
        if name == named:
            importlib.import_module(f"device.commands.{name}").configure(command)
    arguments = parser.parse_args(words)
    try:
        return int(importlib.import_module(f"device.commands.{arguments.command}").main(arguments))
    except WallpegError as refusal:
        print(f"wallpeg {arguments.command}: {refusal}", file=sys.stderr)
        return FAILED
    except KeyboardInterrupt:
        return INTERRUPTED


if __name__ == "__main__":
    sys.exit(main())
