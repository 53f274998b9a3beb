"""Reference tones: steady, exactly periodic, rich enough to be heard from a small loudspeaker.

A loudspeaker of a few centimetres gives almost nothing below some 300 Hz, so a low note has to live
from its overtones: partial k of n sounds at exactly k times the pitch, 1/sqrt(k) as strong as the
first, and the ear finds the pitch they have in common. The phases are those M. R. Schroeder gives
for low peaks (Synthesis of low-peak-factor signals and binary sequences with low autocorrelation,
IEEE Transactions on Information Theory 16, 1970): a lower peak is a louder tone at the same limit.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from dsp.reading import Samples
from dsp.units import Hz, Seconds

TonePhasors = npt.NDArray[np.complex64]
"""Complex numbers of magnitude 1 or a weight, shape (n,)."""

LOUDEST_DBFS = -12.0  # no sample goes beyond; the project's limit for a safe level
SOFT_S = Seconds(0.08)  # start and end fade so long; chosen: no click, still prompt
_HIGHEST_PARTIAL_HZ = 3000.0  # chosen: brighter is shrill
_PIECE = 4096  # samples; what a small processor keeps close by, measured twice as fast as the whole
_MOST_PARTIALS = 32  # chosen: E1 (41 Hz) reaches 1.3 kHz, and the cost stays small


def tone(frequencies: Sequence[Hz], duration_s: Seconds, sample_rate_hz: int, level_dbfs: float) -> Samples:
    """One or more notes together, with soft start and end.

    Parameters
    ----------
    frequencies : of the notes, in Hz; at least one, each below half the sample rate
    duration_s : how long it sounds, fades included
    sample_rate_hz : samples a second
    level_dbfs : magnitude of the largest sample, in dB; at most LOUDEST_DBFS

    Returns
    -------
    float32, shape (duration * rate,)

    Raises
    ------
    ValueError : for a level above LOUDEST_DBFS, no note, or a note that this rate cannot carry
    """
    if level_dbfs > LOUDEST_DBFS:
        raise ValueError(f"level_dbfs = {level_dbfs:g} is louder than {LOUDEST_DBFS:g} dBFS; -18 works")
    if not frequencies or not all(0.0 < hz < sample_rate_hz / 2.0 for hz in frequencies):
        raise ValueError(
            f"frequencies = {list(frequencies)} must be one or more between 0 and {sample_rate_hz / 2:g} Hz"
        )
    count = round(duration_s * sample_rate_hz)
    if count == 0:
        return np.zeros(0, np.float32)
    sound = np.zeros(count, np.float32)
    for hz in frequencies:
        sound += _note(hz, count, sample_rate_hz)
    sound *= _fades(count, sample_rate_hz)
    peak = float(np.max(np.abs(sound)))
    return sound * np.float32(10.0 ** (level_dbfs / 20.0) / peak) if peak > 0.0 else sound


def partial_count(frequency_hz: Hz, sample_rate_hz: int) -> int:
    """How many partials a note has: at least the first."""
    ceiling = min(_HIGHEST_PARTIAL_HZ, 0.45 * sample_rate_hz)
    return max(1, min(_MOST_PARTIALS, int(ceiling / frequency_hz)))


def _note(frequency_hz: Hz, count: int, rate: int) -> Samples:
    """All partials of one note."""
    partials = partial_count(frequency_hz, rate)
    numbers = np.arange(1, partials + 1)
    phases = -np.pi * numbers * (numbers - 1) / partials
    weights = (np.exp(1j * phases) / np.sqrt(numbers)).astype(np.complex64)
    note = np.empty(count, np.float32)
    for start in range(0, count, _PIECE):
        piece = note[start : start + _PIECE]
        turns = np.arange(start, start + piece.size) * (frequency_hz / rate)
        piece[:] = _horner(np.exp(2j * np.pi * (turns % 1.0)).astype(np.complex64), weights)
    return note


def _horner(z: TonePhasors, weights: TonePhasors) -> Samples:
    """Imaginary part of w1 z + w2 z^2 + ..., by Horner's rule: z (w1 + z (w2 + ...))."""
    total = np.full(z.size, weights[-1], np.complex64)
    for weight in weights[-2::-1]:
        total *= z
        total += weight
    total *= z
    return np.ascontiguousarray(total.imag, dtype=np.float32)


def _fades(count: int, rate: int) -> Samples:
    """1 in the middle, rising from 0 and falling to 0 along a raised cosine."""
    length = min(round(SOFT_S * rate), count // 2)
    window = np.ones(count, np.float32)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(length) / max(length, 1))
    window[:length] = rise
    window[count - length :] = rise[::-1]
    return window
