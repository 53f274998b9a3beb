"""What the simulated strings are made of: a table of its own, not the coach's.

For each string of a full-size instrument: its tension at pitch, the stiffness of the core that
carries it (Young's modulus times section), the load at which it breaks, and how much of its stretch
creeps away when it is new. Tensions at pitch are common practice. The steel E is worked out from music
wire 0.26 mm thick: 200 GPa and 7850 kg/m3 (handbook values, from memory), breaking at some 2600 MPa
(the tensile strength of music wire of that gauge, ASTM A228, from memory). Synthetic cores behave like
nylon: some 3 to 4 % of stretch at pitch and breaking at about twice the tension (of the order of the
moduli and strengths in Lynch-Aird and Woodhouse, Materials 10 (2017) 497, from memory). Between runs
the stiffness varies by +-50 % and the breaking load by -15 to +30 %, so none of these need be exact.
"""

from dataclasses import dataclass

from dsp import Instrument


@dataclass(frozen=True, slots=True)
class Material:
    """One string at its usual pitch on a full-size instrument."""

    tension_n: float
    stretch: float  # share of its length by which the core is stretched at pitch
    breaking_n: float
    creep: float  # share of the stretch that a new string loses
    steel: bool = False  # a cold room makes it sharp

    @property
    def stiffness_n(self) -> float:
        """Force per unit of relative stretch: Young's modulus times section, in newtons."""
        return self.tension_n / self.stretch


def synthetic(tension_n: float) -> Material:
    """A wound string on a nylon-like core: 3.6 % of stretch, breaks at 2.1 times its tension."""
    return Material(tension_n, stretch=0.036, breaking_n=2.1 * tension_n, creep=0.02)


def rope(tension_n: float) -> Material:
    """A wound string on a steel core: 1.0 % of stretch, breaks at 2.0 times its tension."""
    return Material(tension_n, stretch=0.010, breaking_n=2.0 * tension_n, creep=0.003, steel=True)


STEEL_E = Material(78.0, stretch=0.00736, breaking_n=138.0, creep=0.002, steel=True)
GUT_E = Material(69.0, stretch=0.044, breaking_n=100.0, creep=0.03)
"""Plain gut 0.60 mm thick: 1300 kg/m3 and 5.5 GPa (of the order of Materials 11 (2018) 2160, from
memory), breaking where a maker's tests find it on average, at 260 Hz m."""

MATERIALS: dict[Instrument, dict[str, Material]] = {
    Instrument.VIOLIN: {"G3": synthetic(45.0), "D4": synthetic(45.0), "A4": synthetic(55.0), "E5": STEEL_E},
    Instrument.VIOLA: {"C3": synthetic(50.0), "G3": synthetic(50.0), "D4": synthetic(52.0), "A4": rope(72.0)},
    Instrument.CELLO: {"C2": rope(130.0), "G2": rope(130.0), "D3": rope(135.0), "A3": rope(165.0)},
    Instrument.DOUBLE_BASS: {"E1": rope(275.0), "A1": rope(280.0), "D2": rope(285.0), "G2": rope(290.0)},
}

STEEL_CORES: dict[str, Material] = {  # a beginner's violin set on steel throughout; common practice
    "G3": rope(45.0),
    "D4": rope(45.0),
    "A4": rope(58.0),
    "E5": STEEL_E,
}

LENGTH_MM: dict[Instrument, float] = {  # nut to bridge, full size; common practice
    Instrument.VIOLIN: 328.0,
    Instrument.VIOLA: 370.0,
    Instrument.CELLO: 690.0,
    Instrument.DOUBLE_BASS: 1050.0,
}
SHAFT_MM: dict[Instrument, float] = {  # where the string winds; common practice
    Instrument.VIOLIN: 6.5,
    Instrument.VIOLA: 7.0,
    Instrument.CELLO: 10.0,
    Instrument.DOUBLE_BASS: 10.0,
}
GEAR: dict[Instrument, float] = {  # turns of the hand per turn of the shaft; worm gears, common practice
    Instrument.DOUBLE_BASS: 20.0,
}
GEARED_PEG = 4.0  # turns of the hand per turn of the shaft, of a violin's geared pegs; common practice
SIZES: dict[str, float] = {  # string length as a share of the full size's; common practice for violins
    "4/4": 1.0,
    "3/4": 0.945,
    "1/2": 0.87,
    "1/4": 0.79,
    "1/8": 0.71,
    "1/10": 0.66,
    "1/16": 0.61,
}

TOTAL_LENGTH = 1.27  # tailpiece to peg over nut to bridge: a sixth behind the bridge, a tenth in the pegbox
SCREW_MM_PER_TURN = 0.4  # string pulled per turn: thread of 0.6 mm and a lever of about 2:3; common practice
SCREW_TRAVEL_MM = 3.2  # eight turns from end to end; common practice
BODY_MM_PER_N = 0.0025  # how far the body gives: 100 cents on one string take 1 to 4 cents off the others
