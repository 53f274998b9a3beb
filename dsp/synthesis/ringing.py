"""The partials of a plucked string: their frequencies, their decay, and the start that settles.

Sources: stiff string, Fletcher & Rossing, The Physics of Musical Instruments; decay rates, medians
over the University of Iowa MIS anechoic violin pizzicato notes; two swings, Woodhouse, JASA 2021.
"""

import math

import numpy as np
import numpy.typing as npt

from dsp.reading import Signal
from dsp.synthesis.harmonics import Harmonics
from dsp.synthesis.manner import PLUCK_POINT, Glide, Manner, Swings
from dsp.units import CENTS_PER_OCTAVE, Cents, Hz

EARLY_S = 0.08  # the first, faster part of the decay (University of Iowa MIS medians)
SWING_SPLIT = Cents(0.7)  # the vertical swing above the sideways one (Woodhouse, JASA 2021)
VERTICAL_DB = -5.0  # against sideways: then harmonics 2 and 3 change from 78 to 15 dB/s at 80 ms
_SWING_GAP = 2.0  # dB/s between the swings from harmonic 4 up: as between 17 and 15; chosen
_FINGER_DB = -30.0  # a finger has width, so no harmonic vanishes wholly; chosen
_NODE_DB = -10.0  # nearer to a node than this the table's level is not scaled up further; chosen
_DAMPING_DB_PER_S = 400.0  # a fingertip laid on the string; chosen
_INAUDIBLE_DB = -110.0  # a swing is computed down to this, against full level


def decay_rates(harmonic: int) -> tuple[float, float]:
    """Decay of a harmonic (1 = fundamental) in dB/s, in the first 80 ms and after.

    Published medians up to harmonic 8, where the last line, 20 to 32 dB/s, is drawn straight;
    above, that line goes on (chosen).
    """
    if harmonic == 1:
        return 17.0, 15.0
    if harmonic <= 3:
        return 78.0, 15.0
    rate = 20.0 + 3.0 * (harmonic - 4)
    return rate, rate


def pluck_comb(harmonic: int, point: float) -> float:
    """Gain of a harmonic plucked at `point`, against the usual point of the published levels."""
    floor, node = 10.0 ** (_FINGER_DB / 20.0), 10.0 ** (_NODE_DB / 20.0)
    here = max(abs(math.sin(harmonic * math.pi * point)), floor)
    usual = max(abs(math.sin(harmonic * math.pi * PLUCK_POINT)), node)
    return 1.0 if point == PLUCK_POINT else here / usual


def ringing(frequency: Hz, time: Signal, harmonics: Harmonics, manner: Manner) -> Signal:
    """All partials of both swings at `time`, in seconds from the pluck; float64, the same shape."""
    swung = cycles(frequency, time, manner)
    rate = 1.0 / (time[1] - time[0]) if time.size > 1 else 1.0
    offsets = manner.strays and manner.strays.offsets(_weights(harmonics, manner))
    note = np.zeros(time.size)
    for index, phase in enumerate(harmonics.phases_rad):
        harmonic = index + 1
        stretch = harmonic * math.sqrt(1.0 + manner.inharmonicity * harmonic**2)
        if stretch * frequency > 0.45 * rate:
            break
        gain = _level(harmonics, manner, harmonic)
        for number, (part, split, early, late) in enumerate(_swings(harmonic, manner)):
            envelope = gain * part * _envelope(time, early, late, manner)
            turns = stretch * split * swung[: envelope.size] + phase / (2.0 * math.pi)
            if offsets and manner.strays:
                here = time[: envelope.size]
                turns += (offsets.ratio(index, vertical=number > 0) - 1.0) * stretch * swung[: envelope.size]
                turns += offsets.extra(index, stretch * frequency) * manner.strays.passed(here)
                envelope = envelope * offsets.risen(index, here)
            turns -= np.floor(turns)
            note[: envelope.size] += envelope * np.cos(np.float32(2.0 * math.pi) * turns.astype(np.float32))
    return note


def _level(harmonics: Harmonics, manner: Manner, harmonic: int) -> float:
    """Amplitude of a harmonic where the string is plucked."""
    level = 10.0 ** (harmonics.levels_db[harmonic - 1] / 20.0)
    return float(level * pluck_comb(harmonic, manner.point))


def _weights(harmonics: Harmonics, manner: Manner) -> Signal:
    """How much each harmonic counts for the pitch of the note: the root of its amplitude times its number."""
    count = len(harmonics.levels_db)
    return np.sqrt([k * _level(harmonics, manner, k) for k in range(1, count + 1)])


def _swings(harmonic: int, manner: Manner) -> list[tuple[float, float, float, float]]:
    """Of each swing: start amplitude, pitch ratio, and decay early and late in dB/s.

    The amplitudes bring the sum to 1 after 80 ms of the published decay.
    """
    early, late = decay_rates(harmonic)
    factor = manner.decay_factor
    if manner.swings is Swings.SIDEWAYS:
        return [(10.0 ** (early * EARLY_S / 20.0), 1.0, factor * early, factor * late)]
    if early == late:
        early, late = early + _SWING_GAP / 2.0, late - _SWING_GAP / 2.0
    vertical = 10.0 ** (VERTICAL_DB / 20.0)
    start = 1.0 / (10.0 ** (-early * EARLY_S / 20.0) + vertical * 10.0 ** (-late * EARLY_S / 20.0))
    split = 2.0 ** (SWING_SPLIT / CENTS_PER_OCTAVE)
    return [
        (start, 1.0, factor * early, factor * early),
        (start * vertical, split, factor * late, factor * late),
    ]


def _envelope(time: Signal, early: float, late: float, manner: Manner) -> npt.NDArray[np.float32]:
    """Decay of one swing from 1 on, cut where it is inaudible."""
    level_db = -early * np.minimum(time, EARLY_S) - late * np.maximum(time - EARLY_S, 0.0)
    if math.isfinite(manner.damped_at_s):
        level_db -= _DAMPING_DB_PER_S * np.maximum(time - manner.damped_at_s, 0.0)
    audible = int(np.searchsorted(-level_db, -_INAUDIBLE_DB))
    scale = np.float32(math.log(10.0) / 20.0)
    return np.asarray(np.exp(scale * level_db[:audible].astype(np.float32)), np.float32)


def cycles(frequency: Hz, time: Signal, manner: Manner) -> Signal:
    """Cycles of the ideal string's fundamental since the pluck, shape of `time` (s)."""
    sharp = manner.glide_cents * _glide(time / manner.settle_s, manner.glide)
    if manner.turning is not None:
        turn = manner.turning
        sharp += turn.cents_per_s * np.clip(time - turn.start_s, 0.0, turn.stop_s - turn.start_s)
    if manner.wobble_cents:
        sharp += manner.wobble_cents * np.sin(2.0 * math.pi * manner.wobble_hz * time)
    if manner.strays is not None:
        sharp += manner.strays.swayed(time)
    pitch = frequency * np.exp2(sharp / CENTS_PER_OCTAVE)
    step = time[1] - time[0] if time.size > 1 else 0.0
    middle = 0.5 * (pitch[1:] + pitch[:-1])
    return np.concatenate([np.zeros(min(1, time.size)), np.cumsum(middle) * step])


def _glide(progress: Signal, glide: Glide) -> Signal:
    """Share of the sharp start that is left, at times counted in settling times."""
    if glide is Glide.EXPONENTIAL:
        return np.asarray(np.exp(math.log(0.05) * progress))
    if glide is Glide.COSINE:
        return np.asarray(0.5 + 0.5 * np.cos(math.pi * np.minimum(progress, 1.0)))
    return np.asarray(0.7 * np.exp(-6.0 * progress) + 0.3 * np.exp(-2.5 * progress))
