"""The Cramer-Rao bound: how far no unbiased method can go, on the same sound in the same noise.

Rife & Boorstyn, Single-tone parameter estimation, IEEE Trans. Information Theory 1974, taken to many
partials of a stiff string: unknown are the fundamental, the inharmonicity, and amplitude and phase of
every partial; the decays are taken as known. The Fisher matrix of samples in white Gaussian noise is
J^T J / variance, J holding the derivatives of the sound by each unknown.

A pluck starts sharp and settles. Where the sharp start is unknown too, its size and its time of settling
are two more unknowns, although the kind of its fall is given away: `gliding_bound_cents`. What a method
that does not know the kind either can reach lies above that.
"""

import math
from dataclasses import replace

import numpy as np

from dsp.synthesis import PIZZICATO, Manner
from dsp.synthesis.ringing import EARLY_S, cycles, decay_rates
from dsp.units import CENTS_PER_OCTAVE
from tests.bench.common import RATE, Case


def bound_cents(case: Case, start_s: float, stop_s: float, *, known_inharmonicity: bool = False) -> float:
    """Least standard error in cents from the sound between two times after the pluck (single swing)."""
    time = np.arange(round(start_s * RATE), round(stop_s * RATE)) / RATE
    jacobian = np.concatenate(_columns(case, time, time), axis=1)
    if known_inharmonicity:
        jacobian = np.delete(jacobian, 1, axis=1)
    return _least_cents(case, jacobian)


def gliding_bound_cents(case: Case, start_s: float, stop_s: float) -> float:
    """The same where size and settling time of the sharp start are unknown as well, its kind being known."""
    time = np.arange(round(stop_s * RATE)) / RATE
    kept = time >= start_s - 0.5 / RATE
    seconds = _settled_seconds(case, case.manner, time)
    columns = _columns(case, time[kept], seconds[kept])
    for name, step in (("glide_cents", 1e-3), ("settle_s", 1e-5)):
        value = getattr(case.manner, name)
        more, less = (
            _settled_seconds(case, replace(case.manner, **{name: value + d}), time) for d in (step, -step)
        )
        by_seconds = (
            columns[0] / seconds[kept, None]
        )  # by cycles, as a change of f gives f times more of them
        columns.append(by_seconds * case.frequency * ((more - less) / (2.0 * step))[kept, None])
    return _least_cents(case, np.concatenate(columns, axis=1))


def _settled_seconds(case: Case, manner: Manner, time: np.ndarray) -> np.ndarray:
    """Seconds in which the settled string would have swung as often, (n,)."""
    return cycles(case.frequency, time, manner) / case.frequency


def _least_cents(case: Case, jacobian: np.ndarray) -> float:
    """Square root of the bound on the variance of the first unknown, the fundamental, in cents."""
    scale = np.linalg.norm(jacobian, axis=0)
    fisher = (jacobian / scale).T @ (jacobian / scale)
    variance = float(np.linalg.pinv(fisher, rcond=1e-13, hermitian=True)[0, 0]) / scale[0] ** 2
    deviation = math.sqrt(variance * _noise_power(case))
    return CENTS_PER_OCTAVE / math.log(2.0) * deviation / case.frequency


def _columns(case: Case, time: np.ndarray, seconds: np.ndarray) -> list[np.ndarray]:
    """Derivatives by fundamental and inharmonicity, then by the two parts of every partial.

    Parameters
    ----------
    time, seconds : since the pluck, (n,): by the clock, and as the settled string's swings count them
    """
    harmonics = PIZZICATO[case.instrument][case.string]
    b, f = case.manner.inharmonicity, case.frequency
    by_f, by_b, parts = np.zeros(time.size), np.zeros(time.size), []
    for k, (level, phase) in enumerate(zip(harmonics.levels_db, harmonics.phases_rad, strict=True), 1):
        stretch = k * math.sqrt(1.0 + b * k * k)
        if stretch * f > 0.45 * RATE:
            break
        early, late = decay_rates(k)
        shape = -early * np.minimum(time, EARLY_S) - late * np.maximum(time - EARLY_S, 0.0)
        envelope = 10.0 ** ((level + early * EARLY_S + shape) / 20.0)
        angle = 2.0 * math.pi * stretch * f * seconds + phase
        swing = -envelope * np.sin(angle) * 2.0 * math.pi * seconds
        by_f += swing * stretch
        by_b += swing * f * k**3 / (2.0 * math.sqrt(1.0 + b * k * k))
        parts += [envelope * np.cos(angle), envelope * np.sin(angle)]
    return [by_f[:, None], by_b[:, None], np.stack(parts, axis=1)]


def _noise_power(case: Case) -> float:
    """Noise power against the unscaled partials: their mean power in 0.5 s over the ratio."""
    harmonics = PIZZICATO[case.instrument][case.string]
    time = np.arange(0.0, 0.5, 0.001)
    power = 0.0
    for k, level in enumerate(harmonics.levels_db, 1):
        if k * case.frequency > 0.45 * RATE:
            break
        early, late = decay_rates(k)
        shape = -early * np.minimum(time, EARLY_S) - late * np.maximum(time - EARLY_S, 0.0)
        power += 0.5 * float(np.mean(10.0 ** ((level + early * EARLY_S + shape) / 10.0)))
    return power * 10.0 ** (-case.snr_db / 10.0)
