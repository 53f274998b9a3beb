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
            Row(0.10, 0.397, 0.702, 0.392),
            Row(0.16, 0.500, 0.118, 0.075),
            Row(0.25, 0.374, 0.048, 0.079),
            Row(0.36, 0.389, 0.028, 0.067),
            Row(0.50, 0.420, 0.018, 0.065),
            Row(0.70, 0.440, 0.013, 0.071),
            Row(0.90, 0.523, 0.017, 0.072),
            Row(1.10, 0.522, 0.021, 0.082),
        ),
    ),
    "D4": StringRows(
        293.66,
        (
            Row(0.10, 0.243, 0.649, 0.409),
            Row(0.16, 0.333, 0.173, 0.222),
            Row(0.25, 0.365, 0.051, 0.093),
            Row(0.36, 0.389, 0.037, 0.080),
            Row(0.50, 0.423, 0.026, 0.081),
            Row(0.70, 0.457, 0.024, 0.093),
            Row(0.90, 0.523, 0.028, 0.129),
            Row(1.10, 0.579, 0.028, 0.140),
        ),
    ),
    "A4": StringRows(
        440.00,
        (
            Row(0.10, 0.255, 0.676, 0.375),
            Row(0.16, 0.337, 0.161, 0.198),
            Row(0.25, 0.379, 0.056, 0.104),
            Row(0.36, 0.392, 0.043, 0.092),
            Row(0.50, 0.428, 0.038, 0.099),
            Row(0.70, 0.498, 0.022, 0.118),
            Row(0.90, 0.684, 0.071, 0.294),
            Row(1.10, 0.363, 0.036, 0.159),
        ),
    ),
    "E5": StringRows(
        659.26,
        (
            Row(0.10, 0.259, 0.750, 0.354),
            Row(0.16, 0.301, 0.115, 0.098),
            Row(0.25, 0.309, 0.071, 0.073),
            Row(0.36, 0.343, 0.075, 0.078),
            Row(0.50, 0.456, 0.059, 0.119),
            Row(0.70, 0.632, 0.055, 0.223),
            Row(0.90, 0.360, 0.057, 0.188),
            Row(1.10, 0.355, 0.013, 0.152),
        ),
    ),
}
