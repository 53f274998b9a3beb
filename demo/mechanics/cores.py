"""What carries the pull of a string, from plain gut to plain steel, and how far makers differ.

A plain string has one material throughout, so its stiffness and its strength follow from density,
Young's modulus and strength alone. A wound string has a core that carries the load and a winding that
only adds mass; it is described by how far the core is stretched when the string is in tune, and by the
stretch at which it breaks. Every range below is drawn from evenly.

Sources:

- gut breaks at a product of sounding length and frequency of 240 to 280 Hz m, whatever its thickness: a
  string maker's published tests of thin gut;
- gut stretches in proportion to its pull up to breaking: N. Lynch-Aird and J. Woodhouse, Materials 11
  (2018) 2160; that its modulus is 5 to 6.5 GPa and its density 1.3 is from memory of the same paper;
- music wire (ASTM A228): 190 GPa, 7800 kg/m3, ultimate strength 2450 MPa, expansion 12e-6 per K: a
  published table of materials; that fine gauges reach 2950 MPa is from memory of the standard;
- so gut breaks at 4.6 to 8 % of stretch: density times (2 x 240 to 280 Hz m) squared, over its modulus;
- a rope of such wire breaks at 1.05 to 1.5 %: strength over modulus, less a tenth for its strands (from
  memory);
- everything else is from memory, with the range that it is drawn from.
"""

from dataclasses import dataclass
from enum import Enum

Range = tuple[float, float]
"""Lowest and highest value, both included."""


class CoreMaterial(Enum):
    """What carries the load."""

    PLAIN_GUT = "plain gut"
    WOUND_GUT = "wound gut"
    SYNTHETIC = "synthetic"
    STEEL_ROPE = "steel rope"
    STEEL_WIRE = "steel wire"

    @property
    def steel(self) -> bool:
        """Whether a cold room makes it sharp."""
        return self in {CoreMaterial.STEEL_ROPE, CoreMaterial.STEEL_WIRE}


@dataclass(frozen=True, slots=True)
class Solid:
    """A plain string: one material."""

    density_kg_m3: float
    modulus_pa: Range
    breaking_hz_m: Range | None = None  # sounding length times frequency at which it breaks; or:
    strength_pa: Range | None = None  # the stress at which it breaks


@dataclass(frozen=True, slots=True)
class Wound:
    """A core under a winding."""

    stretch: Range  # of the core when the string is in tune, over its unstretched length
    breaks_at: Range  # of stretch


@dataclass(frozen=True, slots=True)
class Ageing:
    """How a string sinks and how it answers to warmth."""

    sinks: Range  # share of its stretch that it loses after a change, once it is played in
    sinks_new: Range  # the same while it is new
    within_s: Range  # time constant of that
    expansion_per_k: Range  # of its length, less that of the wood (4e-6 along the grain, from memory)


BEARS = 1.7  # times the pull in tune, at least: any string stands a fourth too high; common practice
MAKES: dict[CoreMaterial, Solid | Wound] = {
    CoreMaterial.PLAIN_GUT: Solid(1300.0, (5.0e9, 6.5e9), breaking_hz_m=(240.0, 280.0)),
    CoreMaterial.WOUND_GUT: Wound((0.018, 0.034), (0.046, 0.08)),
    CoreMaterial.SYNTHETIC: Wound((0.020, 0.048), (0.05, 0.15)),
    CoreMaterial.STEEL_ROPE: Wound((0.0038, 0.0085), (0.0105, 0.015)),
    CoreMaterial.STEEL_WIRE: Solid(7800.0, (190e9, 206e9), strength_pa=(2450e6, 2950e6)),
}
AGEING: dict[CoreMaterial, Ageing] = {
    CoreMaterial.PLAIN_GUT: Ageing((0.005, 0.02), (0.03, 0.07), (20.0, 120.0), (-20e-6, 60e-6)),
    CoreMaterial.WOUND_GUT: Ageing((0.005, 0.02), (0.03, 0.07), (20.0, 120.0), (-20e-6, 60e-6)),
    CoreMaterial.SYNTHETIC: Ageing((0.003, 0.015), (0.02, 0.05), (20.0, 90.0), (-20e-6, 60e-6)),
    CoreMaterial.STEEL_ROPE: Ageing((0.0005, 0.002), (0.002, 0.006), (20.0, 60.0), (7e-6, 9e-6)),
    CoreMaterial.STEEL_WIRE: Ageing((0.0, 0.001), (0.001, 0.003), (20.0, 60.0), (7e-6, 9e-6)),
}
