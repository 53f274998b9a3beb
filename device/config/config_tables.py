"""Reads the tables of the settings file (TOML) into frozen dataclasses, and writes them.

A `Table` is one table of the TOML file and the dataclass it fills; a `Key` is one line of it, named
as the dataclass's field. Reading never fails: a refused key keeps its default, and the refusal is
one whole sentence that names the key, the value, the range and a value that works.
"""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from device.config.value_types import ValueType
from device.errors import SettingError, nearest, spelled

Filled = TypeVar("Filled")


@dataclass(frozen=True, slots=True)
class Key:
    """One thing that can be set."""

    name: str
    kind: ValueType
    default: object
    purpose: str  # for a person, a phrase without a full stop
    file_only: bool = False  # not on the box's own pages of settings

    def value(self, found: object) -> object:
        """The value meant by `found`, as TOML gives it.

        Raises SettingError, one whole sentence, as in
        "reference_hz = 44 is outside 380 to 480 Hz; did you mean 440?".
        """
        try:
            return self.kind.value(found, self.default)
        except SettingError as refusal:
            raise SettingError(f"{self.name} = {spelled(found)} {refusal}") from refusal

    def typed(self, text: str) -> object:
        """The value meant by a text typed on a command line; raises SettingError as above."""
        return self.value(self.kind.typed(text))

    def written(self, value: object) -> str:
        """One line of TOML, without its end."""
        return f"{self.name} = {self.kind.written(value)}"


@dataclass(frozen=True, slots=True)
class Table(Generic[Filled]):
    """One table of the settings file and the dataclass it fills."""

    name: str
    keys: tuple[Key, ...]
    build: Callable[..., Filled]

    def key(self, name: str) -> Key:
        """The key of that name; raises KeyError."""
        return {key.name: key for key in self.keys}[name]


def read_table(table: Table[Filled], found: object) -> tuple[Filled, tuple[str, ...]]:
    """Fill the table's dataclass from what TOML gives, and say what was refused and why."""
    if not isinstance(found, Mapping):
        return table.build(), (
            f"{table.name} = {spelled(found)} is not a table; write [{table.name}] above it",
        )
    known = {key.name: key for key in table.keys}
    values: dict[str, object] = {}
    refusals: list[str] = []
    for name, given in found.items():
        if name not in known:
            refusals.append(_unknown(f"{name} = {spelled(given)}", name, known, f"[{table.name}]"))
            continue
        try:
            values[name] = known[name].value(given)
        except SettingError as refusal:
            refusals.append(str(refusal))
    return table.build(**{key.name: values.get(key.name, key.default) for key in table.keys}), tuple(refusals)


def parse_tables(text: str) -> tuple[dict[str, object], tuple[str, ...]]:
    """Parse a TOML text into its tables; a text that is not TOML gives no table and one refusal.

    A byte order mark, which some editors write, is skipped.
    """
    try:
        return tomllib.loads(text.removeprefix("\ufeff")), ()
    except (ValueError, RecursionError) as error:  # not TOML, or a number of thousands of digits
        where = str(error) or "nested too deeply"
        return {}, (f"the settings cannot be read: {where}; until that is mended the usual ones stand in",)


def unknown_tables(found: Iterable[str], tables: Iterable[str]) -> tuple[str, ...]:
    """A refusal for each table (or loose key) that is not one of `tables`."""
    known = list(tables)
    return tuple(
        _unknown(f"[{name}]", name, known, "the settings file") for name in found if name not in known
    )


def table_text(table: Table[Filled], values: Filled) -> str:
    """The whole table as TOML."""
    lines = [key.written(getattr(values, key.name)) for key in table.keys]
    return "\n".join([f"[{table.name}]", *lines]) + "\n"


def commented_table(table: Table[Filled]) -> str:
    """The table as a page to edit: each key with its purpose, its range and its default, commented out."""
    lines = [f"[{table.name}]"]
    for key in table.keys:
        lines += [f"# {key.purpose}: {key.kind.allowed}", f"# {key.written(key.default)}"]
    return "\n".join(lines) + "\n"


def _unknown(what: str, name: str, known: Iterable[str], where: str) -> str:
    meant = nearest(name, known)
    works = f"did you mean {meant}?" if meant else f"known are {', '.join(known)}"
    return f"{what} is not known in {where}; {works}"
