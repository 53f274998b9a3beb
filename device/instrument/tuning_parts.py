"""What a hand turns, which way, and about how far.

A peg turns by so little that nobody can read an angle off a picture. So the picture of a peg shows one,
two or three marks, and each number of marks stands for a fixed angle. A fine tuner's arrow sweeps as
far as the turn, up to one whole turn.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from device.config.settings import Cores, Pegs, Settings
from device.instrument.cores import Core
from dsp import Cents, Instrument

SHAFT_MM = {  # diameter where the string winds on, with half the string's own; from memory
    Instrument.VIOLIN: 6.8,
    Instrument.VIOLA: 7.4,
    Instrument.CELLO: 10.0,
    Instrument.DOUBLE_BASS: 10.0,
}
PEG_SPREAD = {  # a thicker shaft and a shorter string (5 %) than usual, a faster worm; from memory
    Instrument.VIOLIN: 1.16,  # 7.5 for 6.8 mm
    Instrument.VIOLA: 1.16,
    Instrument.CELLO: 1.25,  # 12 for 10 mm
    Instrument.DOUBLE_BASS: 1.5,  # 12 for 10 mm, 16 turns for 20
}
SHAFT_SHRINKS = 0.5  # as much as the string, from full size to a small one; from memory
GEAR, WORM = 4.0, 20.0  # turns of a geared peg, of a bass's machine head, for one of its shaft; from memory
SCREW_MM, SCREW_SPREAD = 0.4, 1.25  # of string for a whole turn: thread 0.5 mm, lever 0.8; from memory
SURE_TRAVEL_MM = 0.8  # of string, to either side: two of a screw's eight turns; from memory
TWICE = 2.0  # a hand may turn twice as far as asked
DRAWN_OVER = 1.25  # a fine tuner's arrow sweeps up to a quarter further than the turn
CENTS_PER_LOG = 600.0  # doubling the tension raises the pitch by half an octave
FINE_REACH = Cents(50.0)  # a fine tuner is for the last 50 cents (common practice)


class TuningPart(Enum):
    """What a hand turns; on a double bass the peg is a machine head."""

    NONE = "none"
    FINE_TUNER = "fine-tuner"
    PEG = "peg"


class Direction(Enum):
    """What the turn does to the string."""

    NONE = "none"
    TIGHTEN = "tighten"
    LOOSEN = "loosen"


class Rotation(Enum):
    """The rotation as it is seen by whoever faces the head of what is turned."""

    CLOCKWISE = "clockwise"
    COUNTER_CLOCKWISE = "counter-clockwise"


class Amount(Enum):
    """About how far to turn before the next pluck; one, two or three marks in the picture of a peg."""

    A_HAIR = "a-hair"
    A_LITTLE = "a-little"
    MORE = "more"


Degrees = dict[Amount, float]

SCREW_DEGREES: Degrees = {Amount.A_HAIR: 30.0, Amount.A_LITTLE: 120.0, Amount.MORE: 360.0}
"""Up to how many degrees of a fine tuner each amount is said; one whole turn is the most that is drawn."""

WOODEN_DEGREES: Degrees = {Amount.A_HAIR: 2.0, Amount.A_LITTLE: 8.0, Amount.MORE: 12.0}
"""What the marks stand for on a wooden peg. A hand can just do 2 degrees (from memory). The others follow
from the string that bears least, a plain steel E of full size: from its pitch to the margin of breaking
it has 16.9 degrees by the thickest shaft and the stiffest steel, from a tone under it 25.7, and a hand may
turn twice as far as asked. Half of each, rounded down to a whole degree; `tests/test_strung.py` reckons it
again from the strength and the diameter of music wire."""

ROPE_DEGREES: Degrees = {Amount.A_HAIR: 2.0, Amount.A_LITTLE: 6.0, Amount.MORE: 9.0}
"""The same where a wound string may have a core of steel rope. On the smallest violin the A bears least
then, 13.2 degrees from its pitch and 19.2 from a tone under it. A larger turn would be cut down to a hair
while other strings are at their places. A cello's strings are longer, and bear the marks of a plain E."""

_GEARED = 4.0  # turns of a geared peg's head for one of its shaft, from memory
MACHINE_DEGREES: Degrees = {Amount.A_HAIR: 10.0, Amount.A_LITTLE: 45.0, Amount.MORE: 180.0}
"""The same for the machine head of a double bass: half a turn is three marks."""


def degrees_of(part: TuningPart, settings: Settings) -> Degrees:
    """How many degrees each amount stands for; empty for no part."""
    if part is TuningPart.NONE:
        return {}
    if part is TuningPart.FINE_TUNER:
        return SCREW_DEGREES
    if settings.instrument is Instrument.DOUBLE_BASS:
        return MACHINE_DEGREES
    gear = _GEARED if settings.pegs is Pegs.GEARED else 1.0
    rope = settings.cores in {Cores.UNKNOWN, Cores.STEEL} and settings.instrument is not Instrument.CELLO
    marks = ROPE_DEGREES if rope else WOODEN_DEGREES
    return {amount: gear * degrees for amount, degrees in marks.items()}


def carried_out(part: TuningPart, degrees: float | None, stands_for: float) -> tuple[float, float]:
    """Degrees of peg and of screw that a picture may bring about, by twice or by what it shows literally."""
    asked = stands_for if degrees is None else degrees
    if part is TuningPart.PEG:
        return max(TWICE * asked, stands_for), 0.0
    return 0.0, max(TWICE, DRAWN_OVER) * asked


def gear_of(settings: Settings) -> float:
    """Turns of what the hand holds for one turn of the shaft that winds the string."""
    if settings.instrument is Instrument.DOUBLE_BASS:
        return WORM
    return GEAR if settings.pegs is Pegs.GEARED else 1.0


@dataclass(frozen=True, slots=True)
class Slope:
    """Relative tension for one degree, at the pitch the string is made for."""

    least: float
    usual: float
    most: float

    def times(self, factor: float) -> "Slope":
        """All three, so many times as steep."""
        return Slope(factor * self.least, factor * self.usual, factor * self.most)


def one_degree_of(  # noqa: PLR0913 - a product of as many figures
    pull_mm: float, spread: float, whole: float, cores: Iterable[Core], sizes: Iterable[float], *, grows: bool
) -> Slope:
    """What one degree does: `grows` for a peg, whose shaft is as large as its instrument.

    On a smaller instrument the same string is stretched less, with the square of its length; a thinner one
    that is made for it is stretched as much as the full-size one.
    """
    lengths = [(whole if grows else whole * size, size) for size in sizes]
    least = min(pull_mm / (c.strain_most * length) for c in cores for length, _ in lengths) / spread
    most = (
        max(pull_mm / (c.strain_least * size**2 * length) for c in cores for length, size in lengths) * spread
    )
    usual = [
        math.log(pull_mm / (c.strain_usual * size**2 * length)) for c in cores for length, size in lengths
    ]
    return Slope(least, math.exp(sum(usual) / len(usual)), most)


def reach_of(one_degree: float) -> Cents:
    """How far two turns of a screw take a string, which is what every screw has left in the middle."""
    above = 360.0 * SURE_TRAVEL_MM / SCREW_MM * one_degree
    return Cents(max(FINE_REACH, CENTS_PER_LOG * math.log2(1.0 + above)))
