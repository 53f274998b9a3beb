"""Four strings at one body: what turns do to their pulls, and pulls to pitch.

The body gives: every newton that the other strings pull takes `gives_mm_per_n` of a string's path, so that
winding one up lets the others down. Values are frozen and replaced; nothing here knows what hangs on
the wall.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from demo.mechanics.geometry import Spin, screw_pulls
from demo.mechanics.strings import SimString
from dsp import Cents, Hz, Seconds, cents

ROOM_REACHED_S = 600.0  # time constant with which an instrument takes the room's temperature; from memory


@dataclass(frozen=True, slots=True)
class SimInstrument:
    """The strings of one instrument, low to high."""

    strings: tuple[SimString, ...]
    gives_mm_per_n: float = 0.0
    colder_k: float = 0.0  # than the room

    def string(self, name: str) -> SimString:
        """One string by its name; KeyError for a string it does not have."""
        return self.strings[self.index(name)]

    def index(self, name: str) -> int:
        """Position from the low side; KeyError for a string it does not have."""
        for i, string in enumerate(self.strings):
            if string.name == name:
                return i
        raise KeyError(name)

    def pulls(self) -> tuple[float, ...]:
        """The pull of each string in N; 0 for a slack or a broken one.

        With the body's give c, T_i = k_i (p_i - c (S - T_i)) for S the sum of all pulls and p_i the path
        less the slack length: linear in S, solved again without the strings that come out slack.
        """
        taut = [not s.broken for s in self.strings]
        while True:
            found = self._solved(taut)
            slack = [on and t <= 0.0 for on, t in zip(taut, found, strict=True)]
            if not any(slack):
                return tuple(found)
            taut = [on and not off for on, off in zip(taut, slack, strict=True)]

    def _solved(self, taut: list[bool]) -> list[float]:
        give = self.gives_mm_per_n
        own, shared = [], []
        for string, on in zip(self.strings, taut, strict=True):
            k = string.newtons_per_mm if on else 0.0
            k /= 1.0 - k * give
            own.append(k * (string.span_mm - string.slack_mm))
            shared.append(k * give)
        total = sum(own) / (1.0 + sum(shared))
        return [o - s * total for o, s in zip(own, shared, strict=True)]

    def pitches(self) -> dict[str, Hz | None]:
        """What each string sounds now, in Hz; None for a slack or a broken one."""
        pulls = zip(self.strings, self.pulls(), strict=True)
        return {s.name: s.pitch_at(pull) if pull > 0.0 else None for s, pull in pulls}

    def pitch(self, name: str) -> Hz | None:
        """What a string sounds now, in Hz; None for a slack or a broken one."""
        return self.pitches()[name]

    def loads(self) -> dict[str, float]:
        """Each pull as a share of the one at which that string breaks."""
        pulls = zip(self.strings, self.pulls(), strict=True)
        return {s.name: pull / s.breaking_n for s, pull in pulls}

    @property
    def broken(self) -> tuple[str, ...]:
        """Names of the strings that have snapped."""
        return tuple(s.name for s in self.strings if s.broken)

    def turn_peg(self, name: str, spin: Spin, degrees: float) -> "SimInstrument":
        """The hand turns a peg by `degrees` and it holds there."""
        return self._with(self.string(name).wound(spin, degrees))

    def turn_screw(self, name: str, spin: Spin, degrees: float) -> "SimInstrument":
        """The hand turns a fine tuner; at either end of its travel it stops."""
        return self._with(self.string(name).screwed(screw_pulls(spin), degrees))

    def later(self, duration: Seconds) -> "SimInstrument":
        """The same instrument after `duration`: strings sink, and it takes the room's temperature."""
        warmer = self.colder_k * (1.0 - math.exp(-duration / ROOM_REACHED_S))
        strings = tuple(string.later(duration, warmer) for string in self.strings)
        return replace(self, strings=strings, colder_k=self.colder_k - warmer)

    def without(self, name: str) -> "SimInstrument":
        """The same instrument with one string snapped or taken off."""
        gone = (replace(s, broken=s.broken or s.name == name) for s in self.strings)
        return replace(self, strings=tuple(gone))

    def tuned_to(self, goals: Mapping[str, Hz]) -> "SimInstrument":
        """Every peg wound so that the strings sound `goals` together, all of them stretched in."""
        pulls = [s.pull_at(goals[s.name]) for s in self.strings]
        total = sum(pulls)
        strings = zip(self.strings, pulls, strict=True)
        held = (s.holding(pull, self.gives_mm_per_n * (total - pull)) for s, pull in strings)
        return replace(self, strings=tuple(held))

    def _with(self, moved: SimString) -> "SimInstrument":
        """With one string replaced, and whatever snaps now snapped."""
        after = replace(self, strings=tuple(moved if s.name == moved.name else s for s in self.strings))
        if all(load <= 1.0 for load in after.loads().values()):
            return after
        pulls = zip(after.strings, after.pulls(), strict=True)
        snapped = (replace(s, broken=s.broken or pull > s.breaking_n) for s, pull in pulls)
        return replace(after, strings=tuple(snapped))


def errors(instrument: SimInstrument, goals: Mapping[str, Hz]) -> dict[str, Cents | None]:
    """How far each string truly is off; None for one that does not sound."""
    pitches = instrument.pitches()
    return {n: cents(p, goals[n]) if p is not None else None for n, p in pitches.items()}
