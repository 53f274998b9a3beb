"""Defines the types a value may have: number in a range, choice, flag, text, open strings.

A type reads what TOML gives (`value`), what a person types after a flag (`typed`), writes TOML back
(`written`) and says its range for a person (`allowed`). A refusal is the end of a sentence that starts with
the key and the value refused, and always offers something that works.
"""

import math
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Protocol

from device.errors import SettingError, listed, nearest, quoted
from dsp import OpenString


class ValueType(Protocol):
    """What a key may be set to."""

    @property
    def allowed(self) -> str:
        """The range or the choices, for a person."""
        ...

    def value(self, found: object, default: object) -> object:
        """The value meant by `found`, as TOML gives it; raises SettingError."""
        ...

    def typed(self, text: str) -> object:
        """What TOML would give for a text typed on a command line."""
        ...

    def written(self, value: object) -> str:
        """The value as TOML."""
        ...


@dataclass(frozen=True, slots=True)
class Number:
    """A number from `low` to `high`, both included; `whole` without a fraction."""

    low: float
    high: float
    unit: str = ""
    whole: bool = False

    @property
    def allowed(self) -> str:
        """As in "380 to 480 Hz"."""
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()

    def value(self, found: object, default: object) -> float | int:
        """A float, or an int where it is whole."""
        if isinstance(found, bool) or not isinstance(found, int | float):
            raise SettingError(f"is not a number from {self.allowed}; {self._spelled(found, default)}")
        if not self.low <= found <= self.high:
            raise SettingError(f"is outside {self.allowed}; {self._meant(found, default)}")
        if self.whole and found != int(found):
            raise SettingError(f"is not a whole number from {self.allowed}; {round(found)} works")
        return int(found) if self.whole else float(found)

    def typed(self, text: str) -> object:
        """The number, or the text itself if it is none."""
        try:
            number = float(text)
        except ValueError:
            return text
        return int(number) if number.is_integer() and abs(number) < 2**53 else number

    def written(self, value: object) -> str:
        """The shortest digits that give the same number back."""
        assert isinstance(value, int | float)
        return str(int(value)) if float(value).is_integer() else repr(float(value))

    def _spelled(self, found: object, default: object) -> str:
        """A number in quotes, or with a comma for its point, is guessed at; else what holds without it."""
        number = self.typed(found.strip().replace(",", ".")) if isinstance(found, str) else None
        if isinstance(number, int | float) and self.low <= number <= self.high:
            return f"did you mean {self.written(number)}?"
        return f"{self.written(default)} works"

    def _meant(self, found: float, default: object) -> str:
        """A slipped decimal point or a lost sign is guessed at; else the nearest end of the range."""
        if abs(found) > 1e12 or not math.isfinite(found):
            return f"{self.written(default)} works"
        scaled = [found * sign * 10.0**power for sign in (1, -1) for power in range(-3, 4)]
        near = [x for x in scaled if self.low <= x <= self.high and x and not (self.whole and x != int(x))]
        assert isinstance(default, int | float)
        if near:
            return f"did you mean {min(near, key=lambda x: abs(x - default)):g}?"
        return f"{min(max(found, self.low), self.high):g} works"


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the values of an Enum whose values are words."""

    members: type[Enum]

    @property
    def allowed(self) -> str:
        """As in "violin, viola or cello"."""
        return listed(str(member.value) for member in self.members)

    def value(self, found: object, default: object) -> Enum:
        """The member with that value."""
        for member in self.members:
            if found == member.value and type(found) is type(member.value):
                return member
        words = [str(member.value) for member in self.members]
        meant = nearest(str(found).lower(), words)
        works = f"did you mean {meant}?" if meant else f"{_word(default)} works"
        raise SettingError(f"is not one of {self.allowed}; {works}")

    def typed(self, text: str) -> object:
        """The value that is written so."""
        return next((m.value for m in self.members if str(m.value) == text), text)

    def written(self, value: object) -> str:
        """The word in quotes, a number without."""
        word = value.value if isinstance(value, Enum) else value
        return quoted(word) if isinstance(word, str) else str(word)


@dataclass(frozen=True, slots=True)
class Flag:
    """Yes or no."""

    allowed: str = "true or false"

    def value(self, found: object, default: object) -> bool:
        """True or false, nothing else."""
        if isinstance(found, bool):
            return found
        raise SettingError(f"is not true or false; {self.written(default)} works")

    def typed(self, text: str) -> object:
        """The words true and false; any other text stays one."""
        return {"true": True, "false": False}.get(text, text)

    def written(self, value: object) -> str:
        """As TOML spells it."""
        return "true" if value else "false"


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text of at most `longest` characters, perhaps empty."""

    longest: int = 80

    @property
    def allowed(self) -> str:
        """As in "a text of up to 80 characters"."""
        return f"a text of up to {self.longest} characters"

    def value(self, found: object, default: object) -> str:
        """The text itself."""
        if isinstance(found, str) and len(found) <= self.longest and found.isprintable():
            return found
        raise SettingError(f"is not {self.allowed} on one line; {quoted(str(default))} works")

    def typed(self, text: str) -> object:
        """The text itself."""
        return text

    def written(self, value: object) -> str:
        """In quotes."""
        return quoted(str(value))


_LOWEST = OpenString.named("B0")  # of a five-string double bass; lower ones nothing would hear


@dataclass(frozen=True, slots=True)
class Notes:
    """Open strings by name, low to high; none at all means the instrument's own."""

    fewest: int = 3
    most: int = 6

    @property
    def allowed(self) -> str:
        """As in "3 to 6 notes, low to high, like ..."."""
        return f'{self.fewest} to {self.most} notes, low to high, like ["G3", "D4", "A4", "E5"]'

    def value(self, found: object, default: object) -> tuple[OpenString, ...] | None:
        """The strings, or None for an empty list."""
        if found == []:
            return None
        if not isinstance(found, list) or not self.fewest <= len(found) <= self.most:
            raise SettingError(f"is not a list of {self.allowed}; {self.written(default)} works")
        try:
            strings = tuple(OpenString.named(str(name)) for name in found)
        except ValueError as refusal:
            raise SettingError(f"cannot be read: {refusal}") from refusal
        if strings[0].note_number < _LOWEST.note_number:
            raise SettingError(
                f"begins with {strings[0].name}, and no string can be lower than {_LOWEST.name}; "
                f"write {self.allowed}"
            )
        if any(low.note_number >= high.note_number for low, high in pairwise(strings)):
            raise SettingError(f"is not in order: write {self.allowed}")
        return strings

    def typed(self, text: str) -> object:
        """Names with commas between them."""
        return [name.strip() for name in text.split(",") if name.strip()]

    def written(self, value: object) -> str:
        """A list of names."""
        strings = value if isinstance(value, tuple) else ()
        return f"[{', '.join(quoted(string.name) for string in strings)}]"


def _word(value: object) -> str:
    return str(value.value if isinstance(value, Enum) else value)
