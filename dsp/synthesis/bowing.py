"""A bowed open string of known pitch, for tests, the demo and the benchmark.

Under the bow the string moves in a sawtooth (Helmholtz motion: Helmholtz, On the Sensations of Tone),
so harmonic k is 1/k as loud, and stick and slip lock the partials to exact multiples: no inharmonicity.
"""

import math
from dataclasses import dataclass

import numpy as np

from dsp.reading import Samples
from dsp.units import CENTS_PER_OCTAVE, Cents, Hz, Seconds

_HARMONICS = 30  # 1/30 is -30 dB
_RISE_S = 0.06  # time constant with which a stroke speaks; chosen
_CHANGE_DB = -25.0  # level left at the moment of a bow change; chosen
_CHANGE_S = 0.03  # half width of that dip; chosen


@dataclass(frozen=True, slots=True)
class Bowing:
    """How the string is bowed."""

    changes_s: tuple[float, ...] = ()  # moments of bow changes, from the start of the sound
    sway_cents: Cents = Cents(1.5)  # slow unsteadiness of the pitch, one standard deviation
    hiss_db: float = -35.0  # the bow's own noise against the note
    lead_s: Seconds = Seconds(0.0)  # silence before the first stroke
    level_dbfs: float = -20.0  # mean power while it sounds


def bowed(
    frequency_hz: Hz,
    duration_s: Seconds,
    sample_rate_hz: float,
    *,
    bowing: Bowing = Bowing(),
    seed: int = 0,
) -> Samples:
    """The sound of a bowed string, float32, shape (duration * rate,); the mean pitch is `frequency_hz`."""
    rng = np.random.default_rng((seed, 4))
    total = round(duration_s * sample_rate_hz)
    lead = min(round(bowing.lead_s * sample_rate_hz), total)
    time = np.arange(total - lead) / sample_rate_hz
    sway = _sway(time, bowing.sway_cents, rng)
    cycles = np.cumsum(frequency_hz * np.exp2(sway / CENTS_PER_OCTAVE)) / sample_rate_hz
    note = np.zeros(time.size)
    for harmonic in range(1, _HARMONICS + 1):
        if harmonic * frequency_hz < 0.45 * sample_rate_hz:
            note += np.sin(2.0 * math.pi * ((harmonic * cycles) % 1.0)) / harmonic
    note += math.sqrt(math.pi**2 / 12.0) * 10.0 ** (bowing.hiss_db / 20.0) * rng.standard_normal(time.size)
    note *= 1.0 - np.exp(-time / _RISE_S)
    for change in bowing.changes_s:
        dip = np.exp(-0.5 * ((time + bowing.lead_s - change) / _CHANGE_S) ** 2)
        note *= 10.0 ** (_CHANGE_DB / 20.0 * dip)
    gain = 10.0 ** (bowing.level_dbfs / 20.0) / math.sqrt(math.pi**2 / 12.0)
    sound = np.zeros(total, np.float32)
    sound[lead:] = gain * note
    return sound


def _sway(time: np.ndarray, deviation: float, rng: "np.random.Generator") -> np.ndarray:
    """A slow wandering about zero: five sines of 0.5 to 6 Hz."""
    rates, phases = rng.uniform(0.5, 6.0, 5), rng.uniform(0.0, 2.0 * math.pi, 5)
    waves = [np.sin(2.0 * math.pi * r * time + p) for r, p in zip(rates, phases, strict=True)]
    return np.asarray(deviation * math.sqrt(2.0 / 5.0) * np.sum(waves, axis=0))
