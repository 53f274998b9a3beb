"""A second generator, so that nothing rests on one: the plucked-string loop of Karplus & Strong.

Karplus & Strong, Digital synthesis of plucked-string and drum timbres, Computer Music Journal 1983:
a burst of noise runs round a delay of N samples through a two-point average. The average delays
every frequency by exactly half a sample, so the partials are exact multiples of rate / (N + 1/2): the
true pitch is known without any model of `dsp.synthesis.plucks`. Levels and phases are those of the burst: new
with every seed, no weak fundamental, no glide, no inharmonicity, one swing.
"""

import numpy as np
from scipy.signal import lfilter

from dsp import Hz, Samples
from tests.bench.common import LEAD_S, RATE

DECAY_DB_PER_S = 15.0  # of the fundamental, beside what the average takes away


def looped_string(near: Hz, duration_s: float, seed: int) -> tuple[Samples, Hz]:
    """A lead of silence and a note of the loop as near as its whole delay allows; and its true pitch."""
    delay = round(RATE / near - 0.5)
    pitch = Hz(RATE / (delay + 0.5))
    loss = 10.0 ** (-DECAY_DB_PER_S / (20.0 * pitch))
    feedback = np.zeros(delay + 2)
    feedback[0] = 1.0
    feedback[delay : delay + 2] = -0.5 * loss
    burst = np.zeros(round(duration_s * RATE))
    noise = np.random.default_rng((seed, 31)).uniform(-1.0, 1.0, delay)
    burst[:delay] = np.convolve(noise - noise.mean(), np.ones(8) / 8.0, "same")  # a soft fingertip
    note = lfilter([1.0], feedback, burst)
    note *= 0.1 / np.sqrt(np.mean(note[: round(0.5 * RATE)] ** 2))
    return np.concatenate([np.zeros(round(LEAD_S * RATE)), note]).astype(np.float32), pitch
