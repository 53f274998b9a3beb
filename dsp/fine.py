"""The pitch to a fraction of a cent, from how the partials' phases advance, and how sure it is.

Over the blocks of a note partial k has the phase

    phi_k + 2 pi f_k (t + c integral of y),   y(t) = d + g1 exp(-t / 20 ms) + g2 exp(-t / 60 ms),

with f_k the expected frequency, c = ln 2 / 1200, d the settled pitch in cents against the expected
one, g1 and g2 the sharp start, and the inharmonicity B adds f_k k^2 dB / (2 (1 + B k^2)) t. While the
string is being turned, y has the line s (t - t_end) instead of the sharp start.

Gauss-Newton from the last answer: the misfit of a block is the part of its amplitude that stands at
right angles to the expected one, which makes the estimate the maximum of likelihood in white noise
(Rife & Boorstyn 1974 for one tone; weights here are each partial's power over its noise). The phases
phi_k are eliminated: they are whatever the blocks of their partial say on average. Noise per partial
is measured from the misfit, so whatever else moves the phases widens the standard error.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.partials import Basis, Phasors
from dsp.units import Cents

Signal = npt.NDArray[np.float64]

_PER_CENT = math.log(2.0) / 1200.0
_GLIDE_S = (0.02, 0.06)  # time constants whose mix follows a start that settles in 40 to 150 ms
_GLIDE_SD = Cents(6.0)  # of each part: 0 to 15 cents sharp in all
_PITCH_SD = Cents(30.0)  # of the first guess
_B_SD = 2e-4  # of the first guess's B
_OVERLAP = 4.0 / 3.0  # noise of half-overlapped Hann blocks: neighbours correlate by 1/6, 1 + 2/6
_PRIOR_DOF = 4.0  # weight of the noise common to all partials against one partial's own, in blocks


@dataclass(frozen=True, slots=True)
class Tracks:
    """Amplitudes of all partials over time."""

    time_s: Signal  # shape (j,), block centres, from the pluck
    phasor: Phasors  # shape (k, j), phase against the block's centre
    base: Basis


@dataclass(frozen=True, slots=True)
class Fit:
    """What the phases say."""

    offset: Cents  # settled pitch against the expected one
    std_error: Cents
    inharmonicity: float  # change of B against the expected one
    glide: tuple[float, float]  # cents of the two parts at the pluck
    slope: float  # cents per second, 0 where the line was not asked for
    slope_error: float
    misfit: float  # power at right angles over the expected power, all partials: 0 pure, 1 nonsense
    signal_to_noise: float  # power of the partials over their noise, all blocks


def fit(tracks: Tracks, start: Fit | None, *, turning: bool = False, rounds: int = 2) -> Fit:
    """Fit the phase model to the tracks, from an earlier answer.

    `turning` asks for a line, and `offset` is then the pitch at the last block.
    """
    base = tracks.base
    shapes, integrals, sds = _courses(tracks.time_s, turning)
    x = _start(start, shapes.shape[0] + 1)
    relative = base.harmonic**2 / (2.0 * (1.0 + base.inharmonicity * base.harmonic**2))
    rate = 2.0 * math.pi * base.partial_hz
    prior = np.array([*(1.0 / sd**2 for sd in sds), 1.0 / _B_SD**2])
    turned = tracks.phasor * np.exp(-1j * np.outer(rate, tracks.time_s))
    spread = 6.0 if start is None else max(0.3, 3.0 * start.std_error)
    result = _Round(x, np.eye(x.size), 1.0, 0.0)
    for _ in range(rounds):
        result = _round(tracks, turned, x, integrals, rate, relative, prior, spread)
        x = result.x
        spread = 3.0 * math.sqrt(result.covariance[0, 0])
    error = np.sqrt(np.diag(result.covariance))
    glide = (0.0, 0.0) if turning else (float(x[1]), float(x[2]))
    slope, slope_error = (float(x[1]), float(error[1])) if turning else (0.0, 0.0)
    return Fit(
        Cents(float(x[0])),
        Cents(float(error[0])),
        float(x[-1]),
        glide,
        slope,
        slope_error,
        result.misfit,
        result.snr,
    )


@dataclass(frozen=True, slots=True)
class _Round:
    x: Signal
    covariance: Signal
    misfit: float
    snr: float


def _courses(time: Signal, turning: bool) -> tuple[Signal, Signal, tuple[float, ...]]:
    """Pitch courses in cents, their integrals over time, each (m, j), and their prior deviations."""
    if turning:
        late = time - time[-1]
        return np.stack([np.ones(time.size), late]), np.stack([time, 0.5 * late**2]), (_PITCH_SD, 300.0)
    falls = [np.exp(-time / tau) for tau in _GLIDE_S]
    integrals = [tau * (1.0 - fall) for tau, fall in zip(_GLIDE_S, falls, strict=True)]
    return (
        np.stack([np.ones(time.size), *falls]),
        np.stack([time, *integrals]),
        (_PITCH_SD, _GLIDE_SD, _GLIDE_SD),
    )


def _start(start: Fit | None, size: int) -> Signal:
    x = np.zeros(size)
    if start is not None:
        x[0], x[-1] = start.offset, start.inharmonicity
        if size == 4:
            x[1:3] = start.glide
        else:
            x[1] = start.slope
    return x


def _round(  # noqa: PLR0913, PLR0917 - the parts of one linear system
    tracks: Tracks,
    turned: Phasors,
    x: Signal,
    integrals: Signal,
    rate: Signal,
    relative: Signal,
    prior: Signal,
    spread: float,
) -> _Round:
    """One Gauss-Newton step."""
    time = tracks.time_s
    course = _PER_CENT * (x[:-1] @ integrals)
    u = turned * np.exp(-1j * (rate[:, None] * (course + (relative * x[-1])[:, None] * time)))
    model = _smooth(u, time)
    power = np.abs(model) ** 2
    aside = np.imag(u * np.conj(model)) / np.maximum(np.abs(model), 1e-30)
    noise = _noise(u, model, tracks.base)
    taper = np.exp(-0.5 * (rate * _PER_CENT * spread * 0.3 * (time[-1] - time[0])) ** 2)
    weight = power / noise[:, None] * taper[:, None] / _OVERLAP
    angle = aside / np.maximum(np.abs(model), 1e-30)
    columns = np.concatenate([_PER_CENT * integrals, time[None, :]])
    scale = np.ones((rate.size, columns.shape[0]))
    scale[:, -1] = relative
    scale *= rate[:, None]
    total = np.maximum(weight.sum(axis=1), 1e-30)
    mean = weight @ columns.T / total[:, None]
    products = np.einsum("kj,mj,nj->kmn", weight, columns, columns, optimize=True)
    products -= total[:, None, None] * mean[:, :, None] * mean[:, None, :]
    normal = np.einsum("kmn,km,kn->mn", products, scale, scale)
    mean_angle = (weight * angle).sum(axis=1) / total
    right = ((weight * angle) @ columns.T - total[:, None] * mean_angle[:, None] * mean) * scale
    normal[np.diag_indices_from(normal)] += prior
    covariance = np.linalg.inv(normal)
    step = covariance @ (right.sum(axis=0) - prior * x)
    snr = float(power.sum() / (noise.sum() * time.size))
    return _Round(x + step, covariance, float((aside**2).sum() / max(power.sum(), 1e-30)), snr)


def _smooth(u: Phasors, time: Signal) -> Phasors:
    """The expected amplitudes: for each partial one phase, and a decay that is even in dB; (k, j)."""
    power = np.abs(u) ** 2
    half = max(1, time.size // 2)
    early, late = power[:, :half].mean(axis=1) + 1e-30, power[:, half:].mean(axis=1) + 1e-30
    gap = float(time[half:].mean() - time[:half].mean()) if time.size > 1 else 1.0
    decay = np.clip(0.5 * np.log(early / late) / gap, 0.0, 60.0)
    course = np.exp(-np.outer(decay, time - time[0]))
    phasor = (u * course).sum(axis=1) / (course**2).sum(axis=1)
    return np.asarray(phasor[:, None] * course)


def _noise(u: Phasors, model: Phasors, base: Basis) -> Signal:
    """Noise power of each partial's amplitude in quadrature, (k,): misfit of its own, steadied by all.

    One of the two quadratures is what the phase sees, so it is half the power of the complex misfit.
    """
    count = u.shape[1]
    own = 0.5 * (np.abs(u - model) ** 2).sum(axis=1)
    common = float(np.median(own / base.gain)) / max(count - 1, 1)
    return np.asarray((own + _PRIOR_DOF * common * base.gain) / (max(count - 1, 0) + _PRIOR_DOF)) + 1e-24
