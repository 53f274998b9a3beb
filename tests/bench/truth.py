"""The pitch a recorded note settles on: its partials' peaks, and a robust straight fit through them.

No recording says what it was tuned to, so the truth is taken from the same note, later. Used on an early
stretch of sound the same few lines are the plain least-squares fit that the tracker is compared with.

Peaks: Hann window and a parabola through the three highest bins in dB (Smith & Serra, PARSHL, 1987). Course:
partial k of a stiff string stands about s k^2 cents above k times the fundamental (Fletcher & Rossing, The
Physics of Musical Instruments). Robustness: reweighting by Cauchy's law (Holland & Welsch, 1977).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp import Cents, Hz, Samples, cents, shifted

HIGHEST_PARTIAL = 12
OVER_FLOOR_DB = 20.0  # chosen: a peak lower than this over the spectrum around it is none
FIRST_REACH, LAST_REACH = Cents(70.0), Cents(35.0)  # chosen: how far from its place a partial is sought
STIFF, STIFF_SPREAD = 0.06, 0.06  # cents a squared partial: left free it runs to impossible values
SCATTER = Cents(3.0)  # chosen: of single partials about their course, where the reweighting sets in
_ROUNDS = 12

Signal = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Partials:
    """What stands near the multiples of a pitch; arrays of the same length."""

    numbers: Signal  # 1 = fundamental
    frequencies_hz: Signal
    amplitudes: Signal


@dataclass(frozen=True)
class Fit:
    """A pitch through some partials."""

    frequency_hz: Hz  # of the fundamental, stiffness removed
    stiffness: float  # cents a squared partial
    rms_cents: float  # weighted, of the partials about the course
    partials: int  # how many stood out


def fitted(window: Samples, rate: float, near: Hz) -> Fit | None:
    """The pitch of a note known to be near `near`; None where nothing stands out."""
    fit = None
    for reach in (FIRST_REACH, LAST_REACH):
        found = peaks(window, rate, fit.frequency_hz if fit else near, fit.stiffness if fit else STIFF, reach)
        if found.numbers.size == 0:
            return None
        fit = _through(found, fit.frequency_hz if fit else near)
    return fit


def peaks(window: Samples, rate: float, pitch: Hz, stiffness: float, reach: Cents) -> Partials:
    """The highest point near each partial, where it stands out of what lies around it."""
    size = 8 << (window.size - 1).bit_length()
    level = 20.0 * np.log10(np.abs(np.fft.rfft(window * np.hanning(window.size), size)) + 1e-12)
    found = []
    for number in range(1, HIGHEST_PARTIAL + 1):
        place = number * shifted(pitch, Cents(stiffness * number**2))
        if place > 0.45 * rate:
            break
        far = min(place * (2.0 ** (reach / 1200.0) - 1.0), 0.4 * pitch) * size / rate
        low, high = int(place * size / rate - far), int(place * size / rate + far) + 1
        top = low + int(np.argmax(level[low : high + 1]))
        around = level[int((place - 0.5 * pitch) * size / rate) : int((place + 0.5 * pitch) * size / rate)]
        if low < top < high and level[top] > np.median(around) + OVER_FLOOR_DB:
            found.append((number, (top + _vertex(level, top)) * rate / size, 10.0 ** (level[top] / 20.0)))
    table = np.array(found, float).reshape(-1, 3)
    return Partials(table[:, 0], table[:, 1], table[:, 2])


def _through(found: Partials, near: Hz) -> Fit:
    """Robust least squares in cents, weights by the root of amplitude times number, stiffness held."""
    places = np.array(
        [cents(Hz(f / k), near) for k, f in zip(found.numbers, found.frequencies_hz, strict=True)]
    )
    weights = np.sqrt(found.amplitudes * found.numbers)
    weights /= weights.max()
    lines = np.column_stack([np.ones(places.size), found.numbers**2])
    prior = np.diag([1e-9, (SCATTER / STIFF_SPREAD) ** 2])
    trust = np.ones(places.size)
    course = np.array([float(np.median(places)), STIFF])
    for _ in range(_ROUNDS):
        both = weights * trust
        left = lines.T @ (both[:, None] * lines) + prior
        course = np.linalg.solve(left, lines.T @ (both * places) + prior @ np.array([0.0, STIFF]))
        rest = places - lines @ course
        trust = 1.0 / (1.0 + (rest / SCATTER) ** 2)
    rms = float(np.sqrt(np.sum(weights * rest**2) / np.sum(weights)))
    return Fit(shifted(near, Cents(float(course[0]))), float(course[1]), rms, places.size)


def _vertex(values: Signal, top: int) -> float:
    """Offset of a parabola's highest point from its middle sample."""
    left, middle, right = values[top - 1 : top + 2]
    bend = left - 2.0 * middle + right
    return 0.0 if bend == 0.0 else float(0.5 * (left - right) / bend)
