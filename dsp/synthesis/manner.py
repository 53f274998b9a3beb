"""How a string is plucked: the description from which `dsp.synthesis.plucks` makes the sound.

Everything that varies from string to string and from hand to hand is a field of `Manner`; the
published figures behind the defaults are named where they stand.
"""

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np

from dsp.synthesis.strays import Strays
from dsp.units import Cents, Seconds

STEEL_E_INHARMONICITY = 5.7e-5  # B of a plain steel violin E by Fletcher & Rossing's formula; tested
PLUCK_POINT = 70.0 / 328.0  # from the bridge, in mm of the string's mm: where the finger usually plucks


class Swings(Enum):
    """Which way the string swings."""

    BOTH = "both"  # the true pitch is then a stretch, not a number
    SIDEWAYS = "sideways"  # one true frequency


class Glide(Enum):
    """How the sharp start comes down; the settling time is when it has all but gone."""

    EXPONENTIAL = "exponential"  # 5 % is left at the end of the time
    COSINE = "cosine"  # half a cosine: flat at both ends, nothing left
    TWO_STAGE = "two-stage"  # fast at first, then slower: 3 % is left


@dataclass(frozen=True, slots=True)
class Turning:
    """A hand at the peg or at the fine tuner while the string rings."""

    cents_per_s: float
    start_s: Seconds = Seconds(0.0)  # from the pluck on
    stop_s: Seconds = Seconds(math.inf)


@dataclass(frozen=True, slots=True)
class Manner:
    """How, and on what string, the note is plucked."""

    inharmonicity: float = STEEL_E_INHARMONICITY  # B; fractional sizes reach ten times this
    swings: Swings = Swings.BOTH
    glide_cents: Cents = Cents(8.0)  # sharp at the start; 0 to 15 on real strings
    settle_s: Seconds = Seconds(0.1)  # 0.04 to 0.15 on real strings
    glide: Glide = Glide.EXPONENTIAL
    point: float = PLUCK_POINT  # share of the string's length, 0.1 to 0.5
    decay_factor: float = 1.0  # 1 to 4: dull strings, small instruments
    attack_db: float | None = -20.0  # the burst of noise against the note's start; None: no burst
    strays: Strays | None = None  # None: every partial keeps to the course, and is there at once
    turning: Turning | None = None
    wobble_cents: Cents = Cents(0.0)  # amplitude of a pitch that sways without being turned
    wobble_hz: float = 5.0
    damped_at_s: Seconds = Seconds(math.inf)  # a finger stops the string, from the pluck on
    lead_s: Seconds = Seconds(0.0)  # silence before the pluck
    level_dbfs: float = -20.0  # mean power of the first 0.5 s; 0 dBFS is a full-scale square wave

    def __post_init__(self) -> None:
        if not 0.0 < self.point <= 0.5:
            raise ValueError(f"pluck point {self.point} is outside 0 to 0.5 of the string's length; try 0.2")
        if self.settle_s <= 0.0 or self.decay_factor <= 0.0 or self.inharmonicity < 0.0:
            raise ValueError(
                f"settle_s {self.settle_s} and decay_factor {self.decay_factor} must be above 0 and"
                f" inharmonicity {self.inharmonicity} not below; try 0.1, 1 and 5e-5"
            )


def drawn_manner(seed: int, *, glide_scale: float = 1.0, swings: Swings = Swings.BOTH) -> Manner:
    """A pluck as hands vary it: 3 to 15 cents sharp, settled after 40 to 150 ms, any kind of glide."""
    rng = np.random.default_rng((seed, 1))
    return Manner(
        swings=swings,
        glide_cents=Cents(glide_scale * rng.uniform(3.0, 15.0)),
        settle_s=Seconds(rng.uniform(0.04, 0.15)),
        glide=tuple(Glide)[int(rng.integers(len(Glide)))],
    )
