"""What the amplitudes say about the noise, and what their phases say about each other."""

import math

import numpy as np

from dsp.partials import Phasors
from dsp.reading import Signal
from dsp.tracks import OVERLAP, Tracks

_STRAY = 3.0  # neighbouring blocks stray together
_STEADY = 6.0  # how many blocks' worth the noise common to all partials counts against one's own
LATE_S = 0.075  # of the last phases: a turn that has just begun shows in them
AROUND = 3  # blocks on either side over which an amplitude is smoothed


def turned_back(phasor: Phasors, path: Signal) -> tuple[Signal, Signal]:
    """The amplitudes with the expected phase taken out, along each partial's own phase and aside of it."""
    cosine, sine, real, imag = np.cos(path), np.sin(path), phasor.real, phasor.imag
    along, aside = real * cosine + imag * sine, imag * cosine - real * sine
    mean_along, mean_aside = along.sum(axis=1), aside.sum(axis=1)
    length = np.hypot(mean_along, mean_aside) + 1e-30
    c, s = (mean_along / length)[:, None], (mean_aside / length)[:, None]
    return along * c + aside * s, aside * c - along * s


def smoothing(tracks: Tracks) -> Signal:
    """What takes values (k, j) to their means over `AROUND` blocks on either side, fewer at the ends."""
    reach_s = (AROUND + 0.5) * (tracks.time_s[-1] - tracks.time_s[-2])
    weight = (np.abs(tracks.time_s[:, None] - tracks.time_s) <= reach_s) * tracks.many[:, None]
    return np.asarray(weight / weight.sum(axis=0), np.float64)


def noise_of(aside: Signal, tracks: Tracks) -> Signal:
    """Variance of a block's amplitudes at right angles, (k, j): its noise times the partial's share."""
    white = np.outer(tracks.base.gain, tracks.noise + 1e-16)
    own = (aside**2 / (white * tracks.spread)).sum(axis=1)
    count = aside.shape[1]
    common = float(np.partition(own, own.size // 2)[own.size // 2]) / max(count - 1, 1)
    share = (own + _STEADY * max(common, 0.3)) / (max(count - 1, 0) + _STEADY)
    return np.asarray(white * share[:, None])


def information(weight: Signal, time: Signal) -> Signal:
    """What each partial knows of its own frequency: 1 / variance in (rad/s)^2, (k,)."""
    total = np.maximum(weight.sum(axis=1), 1e-30)
    return np.asarray(np.maximum(weight @ time**2 - (weight @ time) ** 2 / total, 0.0))


def scatter_of(pulled: Signal, info: Signal, rate: Signal, time: Signal, weight: Signal) -> float:
    """Variance, in cents squared, of the partials' own pitches beyond what noise explains.

    DerSimonian & Laird's moment estimate (Controlled Clinical Trials, 1986), less twice its own error.
    """
    total = np.maximum(weight.sum(axis=1), 1e-30)
    middle = (weight @ time) / total
    slope = (pulled @ time - middle * pulled.sum(axis=1)) * rate
    known = info > 1e-3 * info.max()
    freedom = max(float(known.sum()) - 2.0, 1.0)
    excess = float((slope[known] ** 2 / info[known]).sum()) - freedom - 2.0 * math.sqrt(2.0 * freedom)
    room = float(info.sum() - (info**2).sum() / max(float(info.sum()), 1e-30))
    return max(excess, 0.0) / max(room, 1e-30)


def wander_of(pulled: Signal, weight: Signal, rate: Signal, tracks: Tracks) -> tuple[float, float]:
    """How all partials together stray from the course.

    Returns
    -------
    how much more than noise explains, at least 1, and how many cents they lie above it of late
    """
    known = np.maximum(rate**2 @ weight, 1e-30)
    strays = rate @ pulled
    usual = tracks.spread * tracks.many / OVERLAP
    first = int(np.searchsorted(tracks.time_s, tracks.time_s[-1] - LATE_S))
    late, by = tracks.time_s[first:], known[first:]
    late = late - (by @ late) / by.sum()
    above = float(late @ strays[first:]) / max(float(by @ late**2), 1e-30)
    return max(1.0, 1.0 + _STRAY * (float((strays**2 / known / usual).mean()) - 1.0)), above
