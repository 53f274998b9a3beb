"""One string between a hook and a peg: Hooke's law for its stretch, Mersenne's for its pitch.

`natural_mm` of string, unstretched, span a path of `path_mm`; so it is stretched by the share
e = path / natural - 1 and pulls with T = EA e. Stretching thins it: its mass a length is m / (1 + e), and it
sounds f = sqrt(T (1 + e) / m) / 2 L.

A peg winds stretched string on: an arc da takes da / (1 + e) of natural length, and as path and natural
length stand in the same ratio all along, natural' = natural exp(-arc / path), exactly. A screw moves the
hook and so lengthens the path.
"""

import math
from dataclasses import dataclass, replace

from demo.mechanics.cores import CoreMaterial
from demo.mechanics.geometry import Shaft, Spin
from dsp import Hz, Seconds


@dataclass(frozen=True, slots=True)
class Peg:
    """A peg, a geared peg or a machine head."""

    shaft: Shaft
    across_mm: float  # where the string winds
    gear: float = 1.0  # turns of the hand for one of the shaft
    wooden: bool = True  # holds by friction alone
    sticks_degrees: float = 0.0  # it does not move, and then jumps by about so much; 0 for a smooth one
    slips_pushed: float = 0.0  # share of its turns that slip back although it was pushed in
    slips_unpushed: float = 0.0  # and when it was not


@dataclass(frozen=True, slots=True)
class Screw:
    """A fine tuner."""

    mm_per_turn: float  # of the hook
    travel_mm: float  # of the hook, from end to end
    at_mm: float  # 0 is backed right out


@dataclass(frozen=True, slots=True)
class SimString:
    """One string with its peg and its screw. Lengths in mm, forces in N."""

    name: str
    core: CoreMaterial
    sounding_mm: float  # nut to bridge
    path_mm: float  # hook to peg, the screw backed right out
    stiffness_n: float  # EA: the pull that would double its length
    mass_g_per_m: float  # unstretched
    breaking_n: float
    peg: Peg
    screw: Screw | None
    natural_mm: float  # unstretched, between hook and peg
    sinks: float = 0.0  # share of its stretch that is lost in time
    within_s: float = 60.0
    sunk_mm: float = 0.0  # lost so far
    expansion_per_k: float = 0.0
    broken: bool = False

    @property
    def span_mm(self) -> float:
        """From hook to peg, as the screw stands."""
        return self.path_mm + (self.screw.at_mm if self.screw is not None else 0.0)

    @property
    def slack_mm(self) -> float:
        """Its length without any pull."""
        return self.natural_mm + self.sunk_mm

    @property
    def newtons_per_mm(self) -> float:
        """Pull for one millimetre of path more."""
        return self.stiffness_n / self.slack_mm

    def pull_at(self, pitch: Hz) -> float:
        """The pull in N at which it sounds `pitch`: T (1 + T / EA) = m (2 L f)^2."""
        speed = 2e-3 * self.sounding_mm * pitch
        return pull_of(1e-3 * self.mass_g_per_m * speed * speed, self.stiffness_n)

    def pitch_at(self, pull_n: float) -> Hz:
        """What it sounds under a pull, in Hz."""
        thinned = 1e-3 * self.mass_g_per_m / (1.0 + pull_n / self.stiffness_n)
        return Hz(math.sqrt(pull_n / thinned) / (2e-3 * self.sounding_mm))

    def wound(self, spin: Spin, degrees: float) -> "SimString":
        """The peg turned by `degrees` of the hand."""
        arc = math.pi * self.peg.across_mm * degrees / 360.0 / self.peg.gear
        shrinks = math.exp(-self.peg.shaft.winding(spin) * arc / self.span_mm)
        return replace(self, natural_mm=self.natural_mm * shrinks)

    def screwed(self, pulls: int, degrees: float) -> "SimString":
        """The screw turned by `degrees`, +1 to pull and -1 to let go; at either end it stops."""
        if self.screw is None:
            return self
        wish = self.screw.at_mm + pulls * self.screw.mm_per_turn * degrees / 360.0
        stands = min(max(wish, 0.0), self.screw.travel_mm)
        return replace(self, screw=replace(self.screw, at_mm=stands))

    def later(self, duration: Seconds, warmer_k: float) -> "SimString":
        """After `duration`, `warmer_k` warmer: sunk towards its share, expanded."""
        goal = self.sinks * max(self.span_mm - self.natural_mm, 0.0)
        eased = 1.0 - math.exp(-duration / self.within_s)
        return replace(
            self,
            sunk_mm=self.sunk_mm + eased * (goal - self.sunk_mm),
            natural_mm=self.natural_mm * (1.0 + self.expansion_per_k * warmer_k),
        )

    def holding(self, pull_n: float, taken_mm: float) -> "SimString":
        """Wound so that it pulls with `pull_n` where the body takes `taken_mm` of its path; sunk in full."""
        slack = (self.span_mm - taken_mm) / (1.0 + pull_n / self.stiffness_n)
        natural = (slack - self.sinks * self.span_mm) / (1.0 - self.sinks)
        return replace(self, natural_mm=natural, sunk_mm=slack - natural)


def pull_of(wanted_n: float, stiffness_n: float) -> float:
    """The pull T with T (1 + T / EA) = `wanted_n`, that is m (2 L f)^2 for the unstretched mass m."""
    return 0.5 * stiffness_n * (math.sqrt(1.0 + 4.0 * wanted_n / stiffness_n) - 1.0)
