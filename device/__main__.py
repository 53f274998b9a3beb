"""Runs the command `wallpeg`: finds the module of the command that is named, and hands over to it.

Every command is a module of `device.commands` with `configure(parser)`, which adds its arguments,
and `main(arguments)`, which returns the exit status: 0 done, 1 a check failed or something could
not be read or started, 2 usage, 69 the board lacks what the box is built of. A refusal
(`WallpegError`) is one line on stderr, never a traceback.
"""

import errno
import importlib
import io
import os
import sys
from collections.abc import Sequence
from typing import TextIO

from device.commands.options import INTERRUPTED, UNAVAILABLE, Parser
from device.errors import BoardError, UsageError, WallpegError, listed, nearest
from device.version import DATE, VERSION

COMMANDS = {
    "run": "the box itself, on the board with its microphone, panel and buttons",
    "demo": "a simulated box and a simulated instrument, on any computer",
    "listen": "read a recording and say how far each string is off",
    "check": "test the parts of a built box one by one",
    "lessons": "simulated lessons: how many pupils end in tune",
}
DONE, FAILED, USAGE = 0, 1, 2
_UNWRITABLE = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EBADF})


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    words = list(sys.argv[1:] if words is None else words)
    name = words[0] if words and words[0] in COMMANDS else None
    _streams()
    try:
        return _flushed(_without_command(words) if name is None else _command(name, words[1:]))
    except UsageError as refusal:
        said = str(refusal)
        _refuse(said if said.startswith("wallpeg") else f"wallpeg {name}: {said}")
        return USAGE
    except WallpegError as refusal:
        _refuse(f"wallpeg {name}: {refusal}")
        return UNAVAILABLE if isinstance(refusal, BoardError) else FAILED
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:  # whoever read our output has gone: `wallpeg listen x.wav | head -1`
        _write_nowhere(sys.stdout)
        return DONE
    except OSError as error:  # of our output; what a part or a file refuses is a WallpegError by here
        if error.filename is not None or error.errno not in _UNWRITABLE:
            raise
        _write_nowhere(sys.stdout)
        _refuse(f"wallpeg: the output cannot be written: {error.strerror}")
        return FAILED


def _streams() -> None:
    """Make every word writable: a closed stream swallows it, a poor character set spells it out."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: PTH123, SIM115 - for good
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _flushed(status: int) -> int:
    """The same, once every word is written: a full disk is found here and not at Python's end."""
    sys.stdout.flush()
    return status


def _refuse(sentence: str) -> None:
    """Say it on stderr; where that cannot be written either, the exit status has to say it alone."""
    try:
        print(sentence, file=sys.stderr, flush=True)
    except OSError:
        _write_nowhere(sys.stderr)


def _write_nowhere(stream: TextIO) -> None:
    """What is left in Python's buffers at the end goes where it cannot fail again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _command(name: str, words: Sequence[str]) -> int:
    """Hand over to the module of the command."""
    module = importlib.import_module(f"device.commands.{name}")
    purpose = f"{COMMANDS[name].capitalize()}."
    parser = Parser(prog=f"wallpeg {name}", description=purpose, allow_abbrev=False)
    module.configure(parser)
    try:
        arguments, strays = parser.parse_known_args(words)
    except SystemExit:  # --help was printed
        return DONE
    parser.refuse_strays(strays)
    return int(module.main(arguments))


def _without_command(words: Sequence[str]) -> int:
    """Help, the version, or one line about what works."""
    if words and words[0] in ("-h", "--help"):
        width = max(map(len, COMMANDS))
        print("wallpeg COMMAND ...: an offline tuning box for a practice-room wall\n")
        print("\n".join(f"  {name:{width}}  {purpose}" for name, purpose in COMMANDS.items()))
        print("\nwallpeg COMMAND --help tells more; wallpeg --version says which version this is.")
        return DONE
    if words and words[0] == "--version":
        print(f"wallpeg {VERSION} of {DATE}")
        return DONE
    if not words:
        raise UsageError(f"wallpeg: say what to do: {listed(COMMANDS)}; wallpeg --help tells more")
    meant = nearest(words[0], COMMANDS)
    works = f"did you mean {meant}?" if meant else f"there are {', '.join(COMMANDS)}"
    raise UsageError(f"wallpeg: {words[0]!r} is not a command; {works}")


if __name__ == "__main__":
    sys.exit(main())
