"""Plucks that vary as recorded ones do: how sharp they start, how long they sink, how their partials stray.

The figures: 32 single plucks of a violin and a viola in an orchestra's studio, of which each partial's place
was measured in four windows after the pluck against where the same note settles. The draws below were chosen
so that synthetic plucks, measured in the same way, come to the same medians; `tests/test_realistic_plucks.py`
holds the two together. Starts go from none to 40 cents and sink with time constants of 0.04 to 0.5 s. The
body builds up in 20 to 50 ms: some periods of its lowest resonances (Fletcher & Rossing).
"""

import math

import numpy as np

from dsp.synthesis.manner import Glide, Manner, Swings
from dsp.synthesis.strays import Strays
from dsp.units import Cents, Seconds

STEEPEST = Cents(40.0)  # no start was sharper
SINKS_S = (0.04, 0.5)  # time constants of the sinking: the least and the greatest
_START, _START_FACTOR = 18.0, 1.9  # cents: median start, and by what factor one standard deviation differs
_SINKS_MEDIAN_S, _SINKS_FACTOR = 0.27, 1.8
_STIFFNESS, _STIFFNESS_FACTOR = 6e-5, 1.5  # B; 0.05 cents a squared partial, as on the recorded strings
_LEFT_AT_SETTLE = {
    Glide.EXPONENTIAL: math.log(20.0),
    Glide.TWO_STAGE: 4.0,
}  # time constants in a settling time


def realistic_manner(seed: int, *, swings: Swings = Swings.BOTH) -> Manner:
    """A pluck drawn as recorded ones vary; the same seed draws the same pluck.

    The frequency handed to `dsp.synthesis.pluck` beside it is the pitch that the note settles on, found as
    the weighted mean of its partials; single ones stand some cents off it all the time, and the whole note
    sways by about a cent, so that no reading can be nearer than that.
    """
    rng = np.random.default_rng((seed, 47))
    glide = (Glide.EXPONENTIAL, Glide.TWO_STAGE)[int(rng.integers(2))]
    sinks = float(np.clip(_spread(rng, _SINKS_MEDIAN_S, _SINKS_FACTOR), *SINKS_S))
    return Manner(
        inharmonicity=_spread(rng, _STIFFNESS, _STIFFNESS_FACTOR),
        swings=swings,
        glide_cents=Cents(min(_spread(rng, _START, _START_FACTOR), STEEPEST)),
        settle_s=Seconds(sinks * _LEFT_AT_SETTLE[glide]),
        glide=glide,
        point=float(rng.uniform(0.12, 0.35)),
        decay_factor=float(rng.uniform(1.0, 2.0)),
        strays=Strays(
            lasting=Cents(_spread(rng, 3.0, 1.4)),
            passing=Cents(_spread(rng, 11.0, 1.4)),
            passes_s=Seconds(_spread(rng, 0.3, 1.4)),
            between_swings=Cents(3.0),
            sway=Cents(_spread(rng, 0.8, 1.6)),
            builds_up_s=Seconds(rng.uniform(0.02, 0.05)),
            seed=seed,
        ),
    )


def _spread(rng: np.random.Generator, median: float, factor: float) -> float:
    """Lognormal: two thirds lie within the factor of the median."""
    return float(median * factor ** rng.standard_normal())
