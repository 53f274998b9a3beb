"""Gives the commands a parser that refuses in one line, the settings as flags, and a safe end.

Every key of `[settings]` is a flag of the same name with hyphens (`reference_hz` is
`--reference-hz`), read by the same table, so it is refused with the same sentence. A flag wins over
the file given with `--settings`, and the file over the usual values.
"""

import argparse
import os
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

from device.config.config_tables import Key, parse_tables
from device.config.settings import Settings
from device.config.settings_layers import layer_settings
from device.config.settings_table import SETTINGS
from device.config.value_types import Flag, Notes
from device.errors import SettingError, UsageError, nearest
from device.instrument.refusals import refusals as unsafe

_DESTINATION = "setting_"

UNAVAILABLE = 69  # EX_UNAVAILABLE of sysexits.h: what the box is built of keeps it from running
INTERRUPTED = 130  # 128 + SIGINT, as shells count


class Parser(argparse.ArgumentParser):
    """Refuses in one line, which says what was wrong and where to read what there is."""

    def error(self, message: str) -> NoReturn:
        """Raise UsageError instead of printing a page."""
        raise UsageError(f"{self.prog}: {message}; {self.prog} --help shows what there is")

    def refuse_strays(self, strays: list[str]) -> None:
        """Raise UsageError, with the nearest known flag, if any word was not understood."""
        if not strays:
            return
        flag = strays[0].split("=")[0]
        meant = nearest(flag, self._option_string_actions) if flag.startswith("--") else None
        works = f"did you mean {meant}?" if meant else f"{self.prog} --help shows what there is"
        raise UsageError(f"{self.prog}: {strays[0]} is not known here; {works}")


def add_settings(parser: argparse.ArgumentParser) -> None:
    """Add a flag for every setting, and `--settings FILE`."""
    group = parser.add_argument_group("settings")
    group.add_argument(
        "--settings",
        metavar="FILE",
        type=Path,
        help="a settings file, as on the box; the flags below win over it",
    )
    for key in SETTINGS.keys:
        flag = _flag(key)
        destination = _DESTINATION + key.name
        if isinstance(key.kind, Flag):
            group.add_argument(
                flag, dest=destination, action=argparse.BooleanOptionalAction, default=None, help=_help(key)
            )
        else:
            group.add_argument(flag, dest=destination, metavar=_metavar(key), help=_help(key))


def settings_of(arguments: argparse.Namespace) -> Settings:
    """The settings meant by the flags and the file.

    What is refused in the file is said on stderr and keeps its usual value; a refused flag raises
    UsageError with the same sentence, about the flag as it was typed.
    """
    settings = _from_file(arguments.settings) if arguments.settings else Settings()
    given = {key: getattr(arguments, _DESTINATION + key.name) for key in SETTINGS.keys}
    changes: dict[str, Any] = {}
    for key, word in given.items():
        if word is None:
            continue
        changes[key.name] = key.value(word) if isinstance(word, bool) else _typed(key, word)
    settings = replace(settings, **changes)
    for sentence in unsafe(settings):
        raise UsageError(sentence)
    return settings


def given(arguments: argparse.Namespace, name: str) -> bool:
    """Whether the setting of that name was given as a flag."""
    return getattr(arguments, _DESTINATION + name) is not None


def _flag(key: Key) -> str:
    return f"--{key.name.replace('_', '-')}"


def _typed(key: Key, word: str) -> object:
    """The value meant by a word after its flag; raises UsageError."""
    try:
        return key.kind.value(key.kind.typed(word), key.default)
    except SettingError as refusal:
        said = str(refusal)
        if isinstance(key.kind, Notes):  # a list is typed without the brackets that the file wants
            said = said.replace('["G3", "D4", "A4", "E5"]', "G3,D4,A4,E5").removesuffix("; [] works")
        raise UsageError(f"{_flag(key)} {word} {said}") from refusal


def _from_file(path: Path) -> Settings:
    try:
        tables, refusals = parse_tables(path.read_text(encoding="utf-8", errors="replace"))
    except OSError as error:
        raise UsageError(f"the settings file {path} cannot be read: {error.strerror}") from error
    found = layer_settings(tables, None, unsafe)
    for refusal in (*refusals, *found.refusals):
        print(f"{path}: {refusal}", file=sys.stderr)
    return found.settings


def _help(key: Key) -> str:
    usual = key.written(key.default).split(" = ", 1)[1].strip('"')
    allowed = "" if isinstance(key.kind, Flag) else f": {key.kind.allowed}"
    if isinstance(key.kind, Notes):
        allowed, usual = ", written like C3,G3,D4,A4,E5", "the instrument's own"
    return f"{key.purpose}{allowed} (usual: {usual})".replace("%", "%%")


def _metavar(key: Key) -> str:
    unit = getattr(key.kind, "unit", "")
    return unit.upper() if unit else "WORD" if key.name != "retuned" else "NOTES"


def leave(status: int) -> None:
    """End the process now.

    The sound library's own farewell can hang on a source that is frozen, and was seen to crash
    beside a stream that is still being closed.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status)
