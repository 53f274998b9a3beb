"""Lengths: whole, half, quarter and eighth notes and rests, dots, ties, time signatures, bars.

Everything is counted in sixteenths of a whole note, so that a dotted eighth still is a whole number.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

Sixteenths = int
"""Lengths and moments in a bar, in sixteenths of a whole note."""


class NoteValue(Enum):
    """The undotted lengths that the box writes, in sixteenths."""

    WHOLE = 16
    HALF = 8
    QUARTER = 4
    EIGHTH = 2


@dataclass(frozen=True, slots=True)
class Length:
    """A note or a rest: how long, and whether it is held on into the next note."""

    value: NoteValue
    dotted: bool = False  # half as long again
    rest: bool = False
    tied: bool = False  # to the next note, which is then not plucked

    def __post_init__(self) -> None:
        if self.rest and self.tied:
            raise ValueError("a rest cannot be tied; tie a note, or leave the tie away")

    @property
    def sixteenths(self) -> Sixteenths:
        """How long it lasts."""
        return self.value.value * 3 // 2 if self.dotted else self.value.value


class Metre(Enum):
    """The time signatures in use: how many of which length fill a bar."""

    TWO_FOUR = (2, 4)
    THREE_FOUR = (3, 4)
    FOUR_FOUR = (4, 4)
    SIX_EIGHT = (6, 8)

    @property
    def upper(self) -> int:
        """The number that stands above."""
        return self.value[0]

    @property
    def lower(self) -> int:
        """The number that stands below."""
        return self.value[1]

    @property
    def unit(self) -> Sixteenths:
        """The length that the lower number names."""
        return 16 // self.lower

    @property
    def sixteenths(self) -> Sixteenths:
        """How long a bar is."""
        return self.upper * self.unit

    @property
    def group(self) -> Sixteenths:
        """What is beamed together: a quarter, and in 6/8 a dotted quarter."""
        return 6 if self is Metre.SIX_EIGHT else 4


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: a time signature and what fills it.

    Raises ValueError, in one sentence, where it does not add up or ends on a tie.
    """

    metre: Metre
    lengths: tuple[Length, ...]

    def __post_init__(self) -> None:
        total = sum(length.sixteenths for length in self.lengths)
        if total != self.metre.sixteenths:
            raise ValueError(
                f"a bar of {self.metre.upper}/{self.metre.lower} holds {self.metre.sixteenths} sixteenths,"
                f" not {total}"
            )
        for length, after in zip(self.lengths, (*self.lengths[1:], None), strict=True):
            if length.tied and (after is None or after.rest):
                raise ValueError("a tie leads to a note of the same bar; let a note follow it")

    @property
    def starts(self) -> tuple[Sixteenths, ...]:
        """When each note or rest begins."""
        return tuple(sum(one.sixteenths for one in self.lengths[:i]) for i in range(len(self.lengths)))

    @property
    def plucked(self) -> tuple[int, ...]:
        """Places in `lengths` of what has to be plucked: no rest, and nothing that a tie leads to."""
        held = {i + 1 for i, length in enumerate(self.lengths) if length.tied}
        return tuple(i for i, length in enumerate(self.lengths) if not length.rest and i not in held)

    @property
    def shortest(self) -> Sixteenths:
        """The least time from one beginning to the next, or to the end of the bar."""
        begins = [self.starts[i] for i in self.plucked]
        ends = [*begins[1:], self.metre.sixteenths]
        return min((end - begin for begin, end in zip(begins, ends, strict=True)), default=self.metre.unit)


def beams(bar: Bar) -> tuple[tuple[int, ...], ...]:
    """Places in the bar of the eighths that share a beam: neighbours in the same group, two or more."""
    groups: list[list[int]] = []
    for i, (length, start) in enumerate(zip(bar.lengths, bar.starts, strict=True)):
        if length.rest or length.value is not NoteValue.EIGHTH:
            groups.append([])
        elif groups and groups[-1] and start // bar.metre.group == bar.starts[i - 1] // bar.metre.group:
            groups[-1].append(i)
        else:
            groups.append([i])
    return tuple(tuple(group) for group in groups if len(group) > 1)


def syllables(bar: Bar) -> tuple[tuple[Sixteenths, str], ...]:
    """What is counted aloud, and when: the numbers, and "and" where eighths are heard between them.

    In quarters 1 2 3 4, and an "and" between two numbers where something begins there; in 6/8 the six
    eighths are counted, which needs no "and" (common practice).
    """
    numbers = [(i * bar.metre.unit, str(i + 1)) for i in range(bar.metre.upper)]
    if bar.metre is Metre.SIX_EIGHT:
        return tuple(numbers)
    between = [(start, "and") for start in bar.starts if start % bar.metre.unit]
    return tuple(sorted(numbers + between))


def beats(metre: Metre, by_eighths: bool) -> tuple[Sixteenths, ...]:
    """When the beats of a bar fall: in 6/8 in dotted quarters, or in eighths where that is chosen."""
    each = metre.group if metre is Metre.SIX_EIGHT and not by_eighths else metre.unit
    return tuple(range(0, metre.sixteenths, each))


def bar_of(metre: Metre, lengths: Sequence[Length]) -> Bar:
    """A bar of any sequence of lengths."""
    return Bar(metre, tuple(lengths))
