"""Which way a turn winds a string, derived from where things are.

Axes as seen by somebody who looks at the strings with the scroll up: x to their right, y up
towards the scroll, z out of the instrument towards them. The string comes up from the nut and
runs over the front of the shaft (towards the looker), so winding pulls that point of the shaft up. A
turn is an axial vector: by the right-hand rule it points at whoever sees it go counter-clockwise.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]

RIGHT: Vector = np.array([1.0, 0.0, 0.0])
UP: Vector = np.array([0.0, 1.0, 0.0])
FRONT: Vector = np.array([0.0, 0.0, 1.0])


class Spin(Enum):
    """A turn as seen by whoever faces the head of what is turned."""

    CLOCKWISE = "clockwise"
    COUNTER_CLOCKWISE = "counter-clockwise"

    @property
    def opposite(self) -> "Spin":
        """The other way round."""
        return Spin.COUNTER_CLOCKWISE if self is Spin.CLOCKWISE else Spin.CLOCKWISE


@dataclass(frozen=True, slots=True)
class Shaft:
    """A peg or a machine head: which side its head sticks out, and where the string runs over it."""

    head: tuple[float, float, float]  # unit vector from the pegbox out through the head
    string_over: tuple[float, float, float] = (0.0, 0.0, 1.0)  # unit vector, axis to string

    def winding(self, spin: Spin) -> int:
        """+1 when this turn winds the string up, -1 when it lets it go.

        >>> left_peg = Shaft(head=(-1.0, 0.0, 0.0))
        >>> left_peg.winding(Spin.COUNTER_CLOCKWISE)
        1
        """
        turn = np.array(self.head) * (1.0 if spin is Spin.COUNTER_CLOCKWISE else -1.0)
        surface_moves = np.cross(turn, np.array(self.string_over))
        return 1 if float(surface_moves @ UP) > 0.0 else -1


def pegs(count: int, left_handed: bool) -> tuple[Shaft, ...]:
    """The shafts of a pegbox, low string first.

    The lower half of the strings has its pegs at the looker's left; a left-handed instrument is
    the mirror picture (common practice).
    """
    left = tuple(float(v) for v in (RIGHT if left_handed else -RIGHT))
    right = tuple(-v for v in left)
    low = (count + 1) // 2
    sides = [left] * low + [right] * (count - low)
    return tuple(Shaft((side[0], side[1], side[2])) for side in sides)


def screw_pulls(spin: Spin) -> int:
    """+1 when this turn of a fine tuner's screw stretches the string, -1 when it lets it go.

    A right-handed thread moves along its turn's axial vector. The head looks at the player and the
    tip presses on a lever whose other arm pulls the string towards the tailpiece: a tip that
    goes in stretches. Common practice; mirrored instruments have the same screws.
    """
    turn = FRONT if spin is Spin.COUNTER_CLOCKWISE else -FRONT
    tip_moves_in = float(turn @ -FRONT)
    return 1 if tip_moves_in > 0.0 else -1
