"""How far to turn: cents -> tension -> stretch -> turn of a peg or a screw.

The pitch tells the tension (T goes with f squared), the tension tells the stretch of the core (its
stiffness and its length between tailpiece and peg), and the stretch is wound up by the shaft of the
peg (circumference, gear) or pulled by the screw (pitch, lever). In relative tension t = T/T0, with
T0 at the pitch the string is made for, a turn of d degrees adds `slope` * d. Stiffness differs
between makers, so every slope has a smallest and a largest plausible value; steps are counted with
the largest, so they come out small.
"""

import math
from dataclasses import dataclass

from device.coach.limits import largest_size, made
from device.coach.makes import RELATIVE_LENGTH, sizes
from device.coach.once import Once
from device.coach.tuned import FINE_REACH
from device.config.settings import Pegs, Settings, Size
from device.instrument.tuning_parts import Amount, TuningPart
from dsp import Cents, Hz, Instrument, cents, shifted

SHAFT_MM = {  # diameter where the string winds on, with half the string's own; from memory
    Instrument.VIOLIN: 6.8,
    Instrument.VIOLA: 7.4,
    Instrument.CELLO: 10.0,
    Instrument.DOUBLE_BASS: 10.0,
}
GEAR = 4.0  # turns of a geared peg's head for one of its shaft, from memory
WORM = 20.0  # turns of a double bass's machine head for one of its shaft, from memory
SCREW_MM = 0.4  # of string for one whole turn: thread of 0.5 mm, lever 0.8; from memory
SURE_TRAVEL_MM = 0.8  # of string, to either side: two of a screw's eight turns; from memory
_TENSION_CENTS = 600.0  # doubling the tension raises the pitch by half an octave

Degrees = dict[Amount, float]
_SCREW: Degrees = {Amount.A_HAIR: 30.0, Amount.A_LITTLE: 120.0, Amount.MORE: 360.0}
_WOODEN: Degrees = {Amount.A_HAIR: 2.0, Amount.A_LITTLE: 6.0, Amount.MORE: 20.0}
_GEARED: Degrees = {Amount.A_HAIR: 8.0, Amount.A_LITTLE: 24.0, Amount.MORE: 80.0}
_MACHINE: Degrees = {Amount.A_HAIR: 10.0, Amount.A_LITTLE: 30.0, Amount.MORE: 90.0}
"""What the words mean, in degrees of what is turned; chosen by us so that a hand can do them."""


@dataclass(frozen=True, slots=True)
class Slope:
    """Relative tension for one degree, at the pitch the string is made for."""

    least: float
    usual: float
    most: float


def degrees_of(turn: TuningPart, settings: Settings) -> Degrees:
    """How many degrees each amount stands for; empty for no turn."""
    if turn is TuningPart.NONE:
        return {}
    if turn is TuningPart.FINE_TUNER:
        return _SCREW
    if settings.instrument is Instrument.DOUBLE_BASS:
        return _MACHINE
    return _GEARED if settings.pegs is Pegs.GEARED else _WOODEN


def amount_for(degrees: float, turn: TuningPart, settings: Settings) -> Amount:
    """The smallest amount that holds `degrees`; `MORE` for anything beyond."""
    table = degrees_of(turn, settings)
    return next((amount for amount in Amount if degrees <= table[amount]), Amount.MORE)


def slope(string: str, turn: TuningPart, size: Size, settings: Settings) -> Slope:
    """What one degree does to `string` on an instrument of `size`."""
    make = made(string, size, settings)
    usual = _pull_mm(turn, size, settings) / (make.strain * make.whole_mm)
    return Slope(usual / make.softest, usual, usual / make.stiffest)


def steepest(string: str, turn: TuningPart, settings: Settings) -> Slope:
    """The slope to reckon steps with: the smallest size's when the size is not known."""
    smallest = min(sizes(settings), key=lambda size: RELATIVE_LENGTH[size])
    return slope(string, turn, smallest, settings)


def flattest(string: str, turn: TuningPart, settings: Settings) -> Slope:
    """The slope below which a turn did not happen: the full size's when the size is not known."""
    return slope(string, turn, largest_size(settings), settings)


def worst_share(string: str, hz: Hz, peg: float, screw: float, settings: Settings) -> float:
    """Share of the breaking load on `string`, now at `hz`, after more turning done twice over.

    `peg` and `screw` are degrees of tightening. It is the worst of all sizes the instrument may have,
    each with its own slopes and its own strength.
    """
    now = tension(string, hz, settings)
    return max(
        (now + 2.0 * (peg * by_peg + screw * by_screw)) * share
        for share, by_peg, by_screw in _reckoning(string, settings)
    )


def _no_reckonings(_settings: Settings) -> dict[str, tuple[tuple[float, float, float], ...]]:
    return {}


_reckonings = Once(_no_reckonings)


def _reckoning(string: str, settings: Settings) -> tuple[tuple[float, float, float], ...]:
    """For each size it may have: share of the breaking load, and the steepest slopes of peg and screw."""
    known = _reckonings(settings)
    if string not in known:
        known[string] = tuple(
            (
                made(string, size, settings).share,
                slope(string, TuningPart.PEG, size, settings).most,
                slope(string, TuningPart.FINE_TUNER, size, settings).most,
            )
            for size in sizes(settings)
        )
    return known[string]


def tension(string: str, hz: Hz, settings: Settings) -> float:
    """Relative tension t of `string` at `hz`; 1 at the pitch it is made for."""
    return float(2.0 ** (cents(hz, made(string, Size.FULL, settings).hz) / _TENSION_CENTS))


def pitch(string: str, relative_tension: float, settings: Settings) -> Hz:
    """The pitch of `string` at a relative tension; of a slack string, as of one at a hundredth."""
    above = Cents(_TENSION_CENTS * math.log2(max(relative_tension, 0.01)))
    return shifted(made(string, Size.FULL, settings).hz, above)


def reach(string: str, settings: Settings) -> Cents:
    """How far the fine tuner takes the usual `string`: the last 50 cents, or more on a stiff core."""
    degrees = 360.0 * SURE_TRAVEL_MM / SCREW_MM
    above = degrees * flattest(string, TuningPart.FINE_TUNER, settings).usual
    return Cents(max(FINE_REACH, _TENSION_CENTS * math.log2(1.0 + above)))


def turned(string: str, hz: Hz, degrees: float, one_degree: float, settings: Settings) -> Hz:
    """Where `string` sounds after `degrees` more (negative: less) at `one_degree` of slope."""
    return pitch(string, tension(string, hz, settings) + degrees * one_degree, settings)


def degrees_between(string: str, hz: Hz, to: Hz, one_degree: float, settings: Settings) -> float:
    """How many degrees take `string` from `hz` to `to`; negative to go down."""
    return (tension(string, to, settings) - tension(string, hz, settings)) / one_degree


def _pull_mm(turn: TuningPart, size: Size, settings: Settings) -> float:
    """How much string one degree takes in, in mm."""
    if turn is TuningPart.FINE_TUNER:
        return SCREW_MM / 360.0
    around = math.pi * SHAFT_MM[settings.instrument] / 360.0
    if settings.instrument is Instrument.DOUBLE_BASS:
        return around / WORM
    return around * RELATIVE_LENGTH[size] / (GEAR if settings.pegs is Pegs.GEARED else 1.0)
