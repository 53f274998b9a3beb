"""A simulated bowed instrument: what turns do to tension, and tension to pitch.

A string whose peg winds `w` mm and whose screw pulls `s` mm is stretched by w + s, less what has crept
away and less what the body gives under the other strings' pull. Its tension is stiffness times
stretch, its pitch f = sqrt(T / mu) / 2L (Mersenne's law), and above its breaking load it snaps.
Which way a turn winds comes from `geometry.py`. Values are frozen and replaced; nothing here
knows what a coach is.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from demo.geometry import Shaft, Spin, screw_pulls
from demo.materials import BODY_MM_PER_N, SCREW_MM_PER_TURN, SCREW_TRAVEL_MM
from dsp import Cents, Hz, Seconds, cents

CREEP_S = 45.0  # time constant of a new string's creep, s; of the order of minutes (common practice)


@dataclass(frozen=True, slots=True)
class SimString:
    """One string with its peg and its screw. Lengths in mm, forces in N."""

    name: str
    length_mm: float  # nut to bridge
    mass_g_per_mm: float
    stiffness_n_per_mm: float  # tension per millimetre of stretch
    breaking_n: float
    shaft: Shaft
    shaft_mm: float  # diameter where the string winds
    creep: float = 0.0  # share of the stretch that creeps away in the end
    gear: float = 1.0  # turns of the hand per turn of the shaft
    wooden: bool = True
    has_screw: bool = True
    wound_mm: float = 0.0
    screw_mm: float = SCREW_TRAVEL_MM / 2.0  # 0 is backed right out
    crept_mm: float = 0.0
    broken: bool = False

    @property
    def pulled_mm(self) -> float:
        """Stretch before the body gives."""
        return self.wound_mm + self.screw_mm - self.crept_mm

    def tension_at(self, pitch: Hz) -> float:
        """Tension in N at which it sounds `pitch`."""
        speed = 2.0 * self.length_mm * pitch
        return self.mass_g_per_mm * speed * speed * 1e-6

    def pitch_at(self, tension_n: float) -> Hz:
        """What it sounds under `tension_n`, in Hz."""
        return Hz(math.sqrt(tension_n * 1e6 / self.mass_g_per_mm) / (2.0 * self.length_mm))


@dataclass(frozen=True, slots=True)
class SimInstrument:
    """The strings of one instrument, low to high, pulling at one body."""

    strings: tuple[SimString, ...]
    body_mm_per_n: float = BODY_MM_PER_N

    def string(self, name: str) -> SimString:
        """One string by its name; KeyError for a string it does not have."""
        return self.strings[self.index(name)]

    def index(self, name: str) -> int:
        """Position from the low side; KeyError for a string it does not have."""
        for i, string in enumerate(self.strings):
            if string.name == name:
                return i
        raise KeyError(name)

    def tensions(self) -> tuple[float, ...]:
        """Tension of each string in N; 0 for a slack or a broken one.

        With the body's give c, T_i = k_i (x_i - c (S - T_i)) for S the sum of all tensions: linear in
        S, solved again without the strings that come out slack.
        """
        taut = [not s.broken for s in self.strings]
        while True:
            found = self._solve(taut)
            slack = [on and t <= 0.0 for on, t in zip(taut, found, strict=True)]
            if not any(slack):
                return tuple(found)
            taut = [on and not off for on, off in zip(taut, slack, strict=True)]

    def _solve(self, taut: list[bool]) -> list[float]:
        give = self.body_mm_per_n
        own, shared = [], []
        for string, on in zip(self.strings, taut, strict=True):
            k = string.stiffness_n_per_mm / (1.0 - string.stiffness_n_per_mm * give) if on else 0.0
            own.append(k * string.pulled_mm)
            shared.append(k * give)
        total = sum(own) / (1.0 + sum(shared))
        return [o - s * total for o, s in zip(own, shared, strict=True)]

    def pitch(self, name: str) -> Hz | None:
        """What a string sounds now, in Hz; None for a slack or a broken one."""
        tension = self.tensions()[self.index(name)]
        return self.string(name).pitch_at(tension) if tension > 0.0 else None

    def load(self, name: str) -> float:
        """Tension as a share of the load at which this string breaks."""
        return self.tensions()[self.index(name)] / self.string(name).breaking_n

    @property
    def broken(self) -> tuple[str, ...]:
        """Names of the strings that have snapped."""
        return tuple(s.name for s in self.strings if s.broken)

    def turn_peg(self, name: str, spin: Spin, degrees: float) -> "SimInstrument":
        """The hand turns a peg by `degrees` and it holds there."""
        string = self.string(name)
        around = math.pi * string.shaft_mm * degrees / 360.0 / string.gear
        return self._moved(replace(string, wound_mm=string.wound_mm + string.shaft.winding(spin) * around))

    def turn_screw(self, name: str, spin: Spin, degrees: float) -> "SimInstrument":
        """The hand turns a fine tuner; at either end of its travel it stops."""
        string = self.string(name)
        if not string.has_screw:
            return self
        wish = string.screw_mm + screw_pulls(spin) * SCREW_MM_PER_TURN * degrees / 360.0
        return self._moved(replace(string, screw_mm=min(max(wish, 0.0), SCREW_TRAVEL_MM)))

    def slipped(self, name: str, degrees: float) -> "SimInstrument":
        """A wooden peg slips back under the string's pull."""
        string = self.string(name)
        around = math.pi * string.shaft_mm * degrees / 360.0
        return self._moved(replace(string, wound_mm=string.wound_mm - around))

    def later(self, duration: Seconds) -> "SimInstrument":
        """The same instrument after `duration`: stretch creeps towards its share."""
        eased = 1.0 - math.exp(-duration / CREEP_S)
        return replace(self, strings=tuple(_crept(string, eased) for string in self.strings))

    def _moved(self, moved: SimString) -> "SimInstrument":
        """With one string replaced, and whatever snaps now snapped."""
        after = replace(self, strings=tuple(moved if s.name == moved.name else s for s in self.strings))
        pulls = zip(after.strings, after.tensions(), strict=True)
        return replace(
            after, strings=tuple(replace(s, broken=s.broken or t > s.breaking_n) for s, t in pulls)
        )


def _crept(string: SimString, eased: float) -> SimString:
    goal = string.creep * max(string.wound_mm + string.screw_mm, 0.0)
    return replace(string, crept_mm=string.crept_mm + eased * (goal - string.crept_mm))


def errors(instrument: SimInstrument, goals: Mapping[str, Hz]) -> dict[str, Cents | None]:
    """How far each string truly is off; None for one that does not sound."""
    pitches = {s.name: instrument.pitch(s.name) for s in instrument.strings}
    return {name: cents(p, goals[name]) if p is not None else None for name, p in pitches.items()}
