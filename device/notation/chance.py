"""Chance as a value: the same seed draws the same, and a draw returns the chance that is left.

The generator is the minimal standard one of S. K. Park and K. W. Miller (Random number generators: good
ones are hard to find, Communications of the ACM 31, 1988): x -> 16807 x modulo 2^31 - 1.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

_MULTIPLIER, _MODULUS = 16_807, 2**31 - 1
_WARM_UP = 4  # draws; neighbouring seeds begin alike without them

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Chance:
    """What the next draw depends on."""

    state: int = 1  # 1 .. 2^31 - 2

    def pick(self, of: Sequence[Item], weights: Sequence[int] | None = None) -> tuple[Item, "Chance"]:
        """One of a sequence, each as likely as its weight; ValueError where nothing can be picked."""
        counts = [1] * len(of) if weights is None else list(weights)
        total = sum(counts)
        if total <= 0:
            raise ValueError("there is nothing to pick from; hand in one thing with a weight above 0")
        after = Chance(self.state * _MULTIPLIER % _MODULUS)
        left = after.state * total // _MODULUS
        for one, count in zip(of, counts, strict=True):
            if left < count:
                return one, after
            left -= count
        raise AssertionError("a share of the total lies below the total")


def seeded(seed: int) -> Chance:
    """The chance that a seed stands for."""
    state = seed % (_MODULUS - 1) + 1
    for _ in range(_WARM_UP):
        state = state * _MULTIPLIER % _MODULUS
    return Chance(state)
