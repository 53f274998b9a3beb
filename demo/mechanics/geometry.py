"""Which way a turn winds a string, derived from where things are.

Axes as seen by somebody who looks at the strings with the scroll up: x to their right, y up
towards the scroll, z out of the instrument towards them. The string comes up from the nut and
runs over the front of the shaft (towards the looker), so winding pulls that point of the shaft up. A
turn is an axial vector: by the right-hand rule it points at whoever sees it go counter-clockwise.
"""

from dataclasses import dataclass
from enum import Enum

Vector = tuple[float, float, float]

TO_THE_RIGHT: Vector = (1.0, 0.0, 0.0)
UP: Vector = (0.0, 1.0, 0.0)
FRONT: Vector = (0.0, 0.0, 1.0)


class Spin(Enum):
    """A turn as seen by whoever faces the head of what is turned."""

    CLOCKWISE = "clockwise"
    COUNTER_CLOCKWISE = "counter-clockwise"

    @property
    def opposite(self) -> "Spin":
        """The other way round."""
        return Spin.COUNTER_CLOCKWISE if self is Spin.CLOCKWISE else Spin.CLOCKWISE


class Seat(Enum):
    """Where the player is, as seen from the pegbox."""

    FRONT = "front"  # looks at the strings: a violin or a viola in the lap
    BEHIND = "behind"  # sits behind the pegbox: a cello, a double bass


@dataclass(frozen=True, slots=True)
class Shaft:
    """A peg or a machine head: which side its head sticks out, and where the string runs over it."""

    head: Vector  # unit vector from the pegbox out through the head
    string_over: Vector = FRONT  # unit vector, axis to string

    def winding(self, spin: Spin) -> int:
        """+1 when this turn winds the string up, -1 when it lets it go.

        >>> left_peg = Shaft(head=(-1.0, 0.0, 0.0))
        >>> left_peg.winding(Spin.COUNTER_CLOCKWISE)
        1
        """
        return 1 if dot(cross_product(self._turn(spin), self.string_over), UP) > 0.0 else -1

    def away(self, seat: Seat) -> Spin:
        """The turn whose upper edge moves away from a player in that seat."""
        player = FRONT if seat is Seat.FRONT else (0.0, 0.0, -1.0)
        clockwise = dot(cross_product(self._turn(Spin.CLOCKWISE), UP), player) < 0.0
        return Spin.CLOCKWISE if clockwise else Spin.COUNTER_CLOCKWISE

    def _turn(self, spin: Spin) -> Vector:
        """The axial vector of a turn."""
        x, y, z = self.head
        return (x, y, z) if spin is Spin.COUNTER_CLOCKWISE else (-x, -y, -z)


def cross_product(a: Vector, b: Vector) -> Vector:
    """The vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a: Vector, b: Vector) -> float:
    """The scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def pegs(count: int, left_handed: bool) -> tuple[Shaft, ...]:
    """The shafts of a pegbox, low string first.

    The lower half of the strings has its pegs at the looker's left; a left-handed instrument is
    the mirror picture (common practice).
    """
    side = 1.0 if left_handed else -1.0
    low = (count + 1) // 2
    return (Shaft((side, 0.0, 0.0)),) * low + (Shaft((-side, 0.0, 0.0)),) * (count - low)


def screw_pulls(spin: Spin) -> int:
    """+1 when this turn of a fine tuner's screw stretches the string, -1 when it lets it go.

    A right-handed thread moves along its turn's axial vector. The head looks at the player and the
    tip presses on a lever whose other arm pulls the string towards the tailpiece: a tip that
    goes in stretches. Common practice; mirrored instruments have the same screws.
    """
    turn = FRONT if spin is Spin.COUNTER_CLOCKWISE else (0.0, 0.0, -1.0)
    tip_moves_in = dot(turn, (0.0, 0.0, -1.0))
    return 1 if tip_moves_in > 0.0 else -1
