"""Plucked strings, stepped through time by the modes of a stretched string.

They chose one constant only, how far a start sinks with the string's own swing (`dsp.settling`): by seeds
7001 and 7002.

The string of Kirchhoff and Carrier: its tension rises with what it swings, so the pitch starts sharp and
sinks as the swing dies (G. F. Carrier, On the non-linear vibration problem of the elastic string, 1945; K. A.
Legge and N. H. Fletcher, Nonlinear generation of missing modes on a vibrating string, 1984). Mode k of a
stiff string stands at k f sqrt(1 + B k^2) and dies the faster the higher it is; it swings in two planes, of
which one gives its power to the bridge sooner (G. Weinreich, Coupled piano strings, 1977) and stands apart
by some tenths of a cent to two. Modes near a resonance of the body are drawn aside (the scatter of the
recorded plucks is 4 to 8 cents; here 1.5 in the mean). All strings of a bank are stepped at once.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

from dsp import Hz, Samples
from tests.bench.common import RATE

MODES = 40
STEPS = 2  # of the reckoning in a sample, for the highest modes
HIGHEST = 0.4  # of the sample rate: modes above are left out
BODY = (  # Hz, quality, weight: air, first bending modes and the hill of a violin; from memory
    (280.0, 18.0, 1.0),
    (460.0, 25.0, 1.0),
    (550.0, 25.0, 0.9),
    (900.0, 15.0, 0.6),
    (1300.0, 12.0, 0.6),
    (2300.0, 6.0, 0.8),
    (3500.0, 5.0, 0.4),
)

Waves = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Draw:
    """Within what each string is drawn."""

    sharp_cents: tuple[float, float] = (3.0, 30.0)  # of the very start
    dies_s: tuple[float, float] = (0.5, 1.8)  # by 60 dB, the lowest mode
    stiffness: tuple[float, float] = (1e-5, 1e-4)  # B
    place: tuple[float, float] = (0.08, 0.3)  # where it is plucked, as a share of its length
    apart_cents: tuple[float, float] = (0.0, 2.0)  # the two planes
    aside_cents: float = 1.5  # one standard deviation of modes 2 to 7


def bank(pitches: list[Hz], seconds: float, seed: int, draw: Draw = Draw()) -> list[Samples]:
    """One pluck of each pitch, which is where its first mode settles; peak 0.2, no noise."""
    rng = np.random.default_rng((seed, 71))
    count, modes = len(pitches), np.arange(1, MODES + 1)
    place, stiff = rng.uniform(*draw.place, count), np.exp(rng.uniform(*np.log(draw.stiffness), count))
    hz = np.array(pitches)[:, None] * modes * np.sqrt(1.0 + stiff[:, None] * modes**2)
    aside = rng.normal(0.0, draw.aside_cents, hz.shape) * ((modes > 1) & (modes < 8))
    apart = rng.uniform(*draw.apart_cents, count)[:, None]
    turns = 2.0 * np.pi * np.stack([hz, hz * 2.0 ** (apart / 1200.0)], 1) * 2.0 ** (aside[:, None] / 1200.0)
    rate = 6.91 / rng.uniform(*draw.dies_s, count)[:, None]
    rate = rate * (1.0 + rng.uniform(0.02, 0.05, (count, 1)) * modes**1.3)
    rate *= np.exp(rng.normal(0.0, 0.35, hz.shape))
    shape = np.sin(np.pi * modes * place[:, None]) / modes**2 * np.exp(-((0.01 * np.pi * modes) ** 2))
    shape *= hz < HIGHEST * RATE
    slant = rng.uniform(0.2, 1.2, count)[:, None]
    begun = np.stack([shape * np.cos(slant), shape * np.sin(slant)], 1)
    sharp = rng.uniform(*draw.sharp_cents, count)
    out = _stepped(
        begun,
        np.minimum(turns, 2.0 * np.pi * HIGHEST * RATE),
        np.stack([rate, 0.4 * rate], 1),
        sharp,
        seconds,
    )
    return [_through_body(wave, rng) for wave in out]


def _stepped(begun: Waves, turns: Waves, rate: Waves, sharp: Waves, seconds: float) -> Waves:
    """The force on the bridge; arrays of (string, plane, mode), by the leapfrog rule."""
    step = 1.0 / (RATE * STEPS)
    square = np.arange(1, MODES + 1.0) ** 2
    swing = np.sum(square * begun**2, axis=(1, 2))
    stretch = (2.0 ** (sharp / 600.0) - 1.0) / (0.5 * swing)  # of the tension; half: a swing's mean square
    force = np.array([1.0, 0.35])[:, None] * np.sqrt(square)
    kept, pull = np.exp(-step * rate), step * (2.0 / step * np.sin(0.5 * step * turns)) ** 2  # exact pitch
    place, speed = begun.copy(), np.zeros_like(begun)
    out = np.empty((begun.shape[0], round(seconds * RATE)))
    for sample in range(out.shape[1]):
        for _ in range(STEPS):
            tension = 1.0 + stretch * np.einsum("m,spm,spm->s", square, place, place)
            speed = (speed - pull * tension[:, None, None] * place) * kept
            place = place + step * speed
        out[:, sample] = np.einsum("pm,spm->s", force, place)
    return out


def _through_body(wave: Waves, rng: np.random.Generator) -> Samples:
    out = 0.05 * wave
    for frequency, quality, weight in BODY:
        centre = frequency * 2.0 ** rng.normal(0.0, 0.1)
        radius, angle = np.exp(-np.pi * centre / quality / RATE), 2.0 * np.pi * centre / RATE
        poles = [1.0, -2.0 * radius * np.cos(angle), radius**2]
        out = out + weight * lfilter([1.0 - radius, 0.0, radius - 1.0], poles, wave)
    return np.asarray(0.2 * out / np.max(np.abs(out)), np.float32)
