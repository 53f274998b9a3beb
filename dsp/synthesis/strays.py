"""What a body does to the partials of a string: none stays on the common course.

The string hangs on a bridge that gives way, more at some frequencies than at others, so that each partial is
put off its place, its two swings by different amounts (Weinreich, Coupled piano strings, JASA 1977;
Woodhouse, On the synthesis of guitar plucks, Acta Acustica 2004; Fletcher & Rossing, The Physics of Musical
Instruments): it stands off, and it beats. While the string still swings widely it stands off further. A body
also takes some time until it sounds, and the pitch of the whole note sways a little.
"""

import math
from dataclasses import dataclass

import numpy as np

from dsp.reading import Signal
from dsp.units import CENTS_PER_OCTAVE, Cents, Seconds

TAIL_FREEDOM = 5.0  # degrees of freedom of Student's law: a few partials stand far off; chosen
_SWAYS = 5  # sines that make up the sway
_SWAY_HZ = (0.4, 2.5)  # their frequencies: the sway is its own for some 0.15 s
_TO_RATIO = math.log(2.0) / CENTS_PER_OCTAVE


@dataclass(frozen=True, slots=True)
class Strays:
    """How far partials stand off the course, and how the course sways; spreads are standard deviations."""

    lasting: Cents = Cents(0.0)  # of the part of a partial's offset that stays
    passing: Cents = Cents(0.0)  # of the part that is there at the start and dies away
    passes_s: Seconds = Seconds(0.3)  # time constant of that
    between_swings: Cents = Cents(0.0)  # of the further distance of a partial's two swings
    sway: Cents = Cents(0.0)  # of the whole note
    builds_up_s: Seconds = Seconds(0.0)  # until a partial has come to nine tenths, on average
    seed: int = 0

    def offsets(self, weights: Signal) -> "Offsets":
        """What is drawn for each partial; `weights` says how much each counts for the pitch.

        The lasting offsets have no weighted mean: the pitch of the note is what it settles on.
        """
        rng = np.random.default_rng((self.seed, 41))
        lasting, passing, split = (_drawn(rng, weights.size) for _ in range(3))
        lasting -= np.sum(weights * lasting) / np.sum(weights)
        builds = self.builds_up_s * rng.uniform(0.6, 1.4, weights.size) / math.log(10.0)
        return Offsets(self.lasting * lasting, self.passing * passing, self.between_swings * split, builds)

    def swayed(self, time: Signal) -> Signal:
        """Cents by which the whole note sways at `time`, in seconds from the pluck."""
        rng = np.random.default_rng((self.seed, 43))
        sways = zip(rng.uniform(*_SWAY_HZ, _SWAYS), rng.uniform(0.0, 2.0 * math.pi, _SWAYS), strict=True)
        parts = [np.sin(2.0 * math.pi * rate * time + phase) for rate, phase in sways]
        return np.asarray(self.sway * math.sqrt(2.0 / _SWAYS) * np.sum(parts, axis=0))

    def passed(self, time: Signal) -> Signal:
        """Seconds for which a passing offset has been at work, in full: its integral over time."""
        return np.asarray(self.passes_s * -np.expm1(-time / self.passes_s))


@dataclass(frozen=True, slots=True)
class Offsets:
    """Of each partial of one note, the fundamental first, in cents and seconds."""

    lasting: Signal
    passing: Signal
    between_swings: Signal
    builds_s: Signal  # time constant of the rise

    def ratio(self, index: int, *, vertical: bool) -> float:
        """By how much a swing of a partial is sharper than its place."""
        off = float(self.lasting[index]) + vertical * float(self.between_swings[index])
        return math.exp(_TO_RATIO * off)

    def extra(self, index: int, hertz: float) -> float:
        """Cycles that the passing offset adds to a partial of so many hertz for each second at work."""
        return float(hertz * _TO_RATIO * self.passing[index])

    def risen(self, index: int, time: Signal) -> Signal:
        """Share of its level that a partial has come to."""
        constant = float(self.builds_s[index])
        return np.asarray(-np.expm1(-time / constant)) if constant > 0.0 else np.ones(time.size)


def _drawn(rng: np.random.Generator, count: int) -> Signal:
    """Heavy-tailed, of standard deviation 1."""
    return np.asarray(rng.standard_t(TAIL_FREEDOM, count) * math.sqrt((TAIL_FREEDOM - 2.0) / TAIL_FREEDOM))
