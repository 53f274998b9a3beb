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
            Row(0.10, 0.670, 1.334, 0.607),
            Row(0.16, 0.564, 0.800, 0.158),
            Row(0.25, 0.407, 0.114, 0.095),
            Row(0.36, 0.405, 0.054, 0.069),
            Row(0.50, 0.434, 0.023, 0.062),
            Row(0.70, 0.498, 0.019, 0.077),
            Row(0.90, 0.556, 0.032, 0.081),
            Row(1.10, 0.545, 0.057, 0.118),
        ),
    ),
    "D4": StringRows(
        293.66,
        (
            Row(0.10, 0.489, 1.388, 0.629),
            Row(0.16, 0.437, 0.951, 0.273),
            Row(0.25, 0.405, 0.135, 0.107),
            Row(0.36, 0.412, 0.069, 0.084),
            Row(0.50, 0.444, 0.038, 0.076),
            Row(0.70, 0.551, 0.025, 0.114),
            Row(0.90, 0.472, 0.050, 0.160),
            Row(1.10, 0.486, 0.052, 0.174),
        ),
    ),
    "A4": StringRows(
        440.00,
        (
            Row(0.10, 0.480, 1.221, 0.626),
            Row(0.16, 0.450, 0.925, 0.261),
            Row(0.25, 0.411, 0.136, 0.115),
            Row(0.36, 0.419, 0.078, 0.093),
            Row(0.50, 0.464, 0.042, 0.092),
            Row(0.70, 0.496, 0.017, 0.144),
            Row(0.90, 0.557, 0.025, 0.246),
            Row(1.10, 0.541, 0.017, 0.174),
        ),
    ),
    "E5": StringRows(
        659.26,
        (
            Row(0.10, 0.467, 1.465, 0.581),
            Row(0.16, 0.388, 0.573, 0.214),
            Row(0.25, 0.362, 0.117, 0.094),
            Row(0.36, 0.390, 0.078, 0.082),
            Row(0.50, 0.487, 0.055, 0.105),
            Row(0.70, 0.602, 0.018, 0.261),
            Row(0.90, 0.360, 0.019, 0.248),
            Row(1.10, 0.564, 0.003, 0.191),
        ),
    ),
}
