"""How far the real tracker's readings are off, by string and time since the pluck.

Written by `python -m demo.measure`: 200 plucks a string, seed 20.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """Readings at one time after the pluck; errors in cents, sharp positive."""

    since_s: float
    bias: float  # median error
    spread: float  # a quarter of the stretch that holds 95 % of the errors, as of a normal law
    std_error: float  # median of what the tracker says of itself


@dataclass(frozen=True, slots=True)
class StringRows:
    """One open string."""

    hz: float
    rows: tuple[Row, ...]


ROWS = {
    "G3": StringRows(
        196.00,
        (
            Row(0.10, 0.786, 1.664, 0.762),
            Row(0.16, 0.568, 0.581, 0.247),
            Row(0.25, 0.389, 0.130, 0.131),
            Row(0.36, 0.378, 0.060, 0.066),
            Row(0.50, 0.406, 0.024, 0.049),
            Row(0.70, 0.461, 0.023, 0.062),
            Row(0.90, 0.455, 0.031, 0.071),
            Row(1.10, 0.422, 0.047, 0.097),
        ),
    ),
    "D4": StringRows(
        293.66,
        (
            Row(0.10, 0.554, 1.521, 0.711),
            Row(0.16, 0.407, 0.617, 0.280),
            Row(0.25, 0.402, 0.140, 0.119),
            Row(0.36, 0.401, 0.075, 0.083),
            Row(0.50, 0.428, 0.044, 0.066),
            Row(0.70, 0.415, 0.035, 0.090),
            Row(0.90, 0.390, 0.048, 0.130),
            Row(1.10, 0.462, 0.064, 0.167),
        ),
    ),
    "A4": StringRows(
        440.00,
        (
            Row(0.10, 0.535, 1.499, 0.581),
            Row(0.16, 0.448, 0.626, 0.277),
            Row(0.25, 0.416, 0.135, 0.124),
            Row(0.36, 0.416, 0.094, 0.098),
            Row(0.50, 0.453, 0.045, 0.084),
            Row(0.70, 0.428, 0.031, 0.122),
            Row(0.90, 0.412, 0.060, 0.291),
            Row(1.10, 0.548, 0.071, 0.191),
        ),
    ),
    "E5": StringRows(
        659.26,
        (
            Row(0.10, 0.527, 1.652, 0.568),
            Row(0.16, 0.416, 0.644, 0.263),
            Row(0.25, 0.376, 0.144, 0.110),
            Row(0.36, 0.407, 0.090, 0.093),
            Row(0.50, 0.487, 0.073, 0.101),
            Row(0.70, 0.522, 0.034, 0.251),
            Row(0.90, 0.583, 0.045, 0.241),
            Row(1.10, 0.581, 0.011, 0.104),
        ),
    ),
}
