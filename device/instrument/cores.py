"""What strings are made of: how far they stretch before they break, and how far they are stretched.

A string that carries the share `load` of its breaking load is stretched by that share of the strain at
which it breaks, as far as it is elastic (Hooke's law). So two figures for each material say everything:
the strain at which it breaks, and the share of it that a string bears at its pitch. For a plain string that
share follows from length and pitch alone: its stress is rho (2 L f)^2, whatever its thickness
(Mersenne's law; Fletcher and Rossing, The Physics of Musical Instruments).

Wherever a source gives a range, the monitor takes the end at which a string breaks sooner. What is
marked "from memory" is an ordinary figure of the trade that we could not look up.
"""

from dataclasses import dataclass

from device.config.settings import Cores

STEEL_STRENGTH = 0.97 * 2634e6
"""Pa. Least strength of music wire of 0.28 mm, 382 ksi (ASTM A228, table of tensile strengths, as wire
makers print it); stainless wire of that thickness may have three per cent less (EN 10270-3 beside
EN 10270-1, from memory)."""
STEEL_DENSITY = 7850.0  # kg/m3, handbook value for carbon steel
STEEL_MODULUS = 210e9  # Pa; handbooks give 190 to 210, and the stiffest breaks soonest when it is wound
ROPE_BEARS = 0.9  # of what its wires bear, laid into a rope; from memory
GUT_LEAST_LENGTH_HZ = 245.0
"""Hz m at which thin plain gut breaks: a string maker's published tests give 260 on average, some 240 to
280. It is not the very least of them, because a plain gut E is sold for 440 Hz and stands it (common
practice): 659.3 Hz on 328 mm is 216 Hz m, and below 242 that would count as near breaking."""


@dataclass(frozen=True, slots=True)
class Core:
    """One material of a core; strains are plain numbers, at the pitch of a full-size string."""

    breaks_at: float  # the least strain at which it breaks
    strain_least: float  # at its pitch
    strain_usual: float
    strain_most: float
    strongest: float = 1.6  # times the least plausible load, borne by the strongest string; from memory


CORES: dict[Cores, Core] = {
    Cores.GUT: Core(breaks_at=0.045, strain_least=0.009, strain_usual=0.025, strain_most=0.05),
    Cores.SYNTHETIC: Core(breaks_at=0.045, strain_least=0.024, strain_usual=0.036, strain_most=0.072),
    Cores.STEEL: Core(
        breaks_at=ROPE_BEARS * STEEL_STRENGTH / STEEL_MODULUS,
        strain_least=0.004,
        strain_usual=0.0075,
        strain_most=0.014,
    ),
}
"""Gut is linear, with a modulus of some 5.5 GPa (Materials 11 (2018) 2160): a plain gut D is stretched by
0.9 % at its pitch, an A by 2 %; it breaks at 250 to 380 MPa (from memory), so at 4.5 to 7 %. The tangent
modulus of taut nylon is some 8 GPa (Materials 10 (2017) 497), the strains at pitch and at breaking are
from memory; other synthetic cores are stiffer, hence the low end. A steel core is a rope of
wires no thicker than 0.28 mm, and thinner wire is stronger (ASTM A228); how far it is stretched is from
memory."""

TOP_LOAD = 0.55  # of the least breaking load, highest wound string at its pitch, from memory
WOUND_LOAD = 0.5
"""Of the least breaking load, lower wound strings at their pitch. It is common practice that any string
stands a fourth too high, which is 1.78 times its pull; taken as 1.7, it bears 0.59 of its breaking load
at its pitch. With 0.5 the monitor's margin comes at 1.6 times, 0.94 of what the weakest string bears."""


def plain_steel_load(length_hz: float) -> float:
    """Share of the least breaking load on a plain steel string; `length_hz` is length times pitch, Hz m."""
    return STEEL_DENSITY * (2.0 * length_hz) ** 2 / STEEL_STRENGTH


def plain_steel() -> Core:
    """Plain steel wire; its strain at pitch follows from its load."""
    breaks = STEEL_STRENGTH / STEEL_MODULUS
    return Core(breaks, 0.0, 0.0, 0.0)


def plain_gut_load(length_hz: float) -> float:
    """Share of the least breaking load on a plain gut string; `length_hz` is length times pitch, Hz m."""
    return (length_hz / GUT_LEAST_LENGTH_HZ) ** 2
