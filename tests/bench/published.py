"""Three published methods in a few lines each, written from their papers.

Each takes a window of sound and the range to search, and answers a frequency in Hz or None.
"""

import numpy as np

from dsp import Samples

_ZEROS = 1 << 17  # length of the zero-padded spectra: 0.37 Hz a bin at 48 kHz before interpolation
_CLARITY = 0.93  # share of the highest key maximum that the first one must reach (McLeod & Wyvill)
_HARMONICS = 5  # factors of the product


def mcleod(window: Samples, rate: float, low: float, high: float) -> float | None:
    """McLeod & Wyvill, A smarter way to find pitch, ICMC 2005."""
    x = window.astype(float) - float(np.mean(window))
    size = 1 << (2 * x.size - 1).bit_length()
    autocorrelation = np.fft.irfft(np.abs(np.fft.rfft(x, size)) ** 2)[: x.size]
    square = np.concatenate([[0.0], np.cumsum(x**2)])
    energy = square[x.size - np.arange(x.size)] + square[-1] - square[np.arange(x.size)]
    similarity = 2.0 * autocorrelation / np.maximum(energy, 1e-30)
    last = min(int(rate / low) + 2, x.size // 2)
    maxima = [m for m in _key_maxima(similarity[: last + 1]) if rate / high <= m <= rate / low]
    if not maxima:
        return None
    bar = _CLARITY * max(similarity[m] for m in maxima)
    chosen = next(m for m in maxima if similarity[m] >= bar)
    return rate / (chosen + _vertex(similarity, chosen))


def harmonic_product(window: Samples, rate: float, low: float, high: float) -> float | None:
    """Schroeder, Period histogram and product spectrum, JASA 1968; Noll 1969."""
    spectrum = _spectrum(window)
    first, last = int(np.ceil(low * _ZEROS / rate)), int(high * _ZEROS / rate)
    log = np.log(spectrum + 1e-12)
    bins = np.arange(first, last + 1)
    total = np.sum([log[np.minimum(h * bins, log.size - 1)] for h in range(1, _HARMONICS + 1)], axis=0)
    top = int(np.argmax(total))
    if not 0 < top < total.size - 1:
        return None
    return (first + top + _vertex(total, top)) * rate / _ZEROS


def fft_peak(window: Samples, rate: float, low: float, high: float) -> float | None:
    """The highest peak of the spectrum, by a parabola in dB (Smith & Serra, PARSHL, 1987)."""
    log = np.log(_spectrum(window) + 1e-12)
    first, last = int(np.ceil(low * _ZEROS / rate)), int(high * _ZEROS / rate)
    top = first + int(np.argmax(log[first : last + 1]))
    return (top + _vertex(log, top)) * rate / _ZEROS


def _spectrum(window: Samples) -> np.ndarray:
    return np.abs(np.fft.rfft(window * np.hanning(window.size), _ZEROS))


def _key_maxima(similarity: np.ndarray) -> list[int]:
    """The highest point between each upward zero crossing and the next downward one."""
    positive = similarity > 0.0
    start = int(np.argmin(positive))  # leave the peak at lag 0
    edges = np.flatnonzero(np.diff(positive[start:].astype(int))) + start + 1
    ups = edges[0::2]
    downs = edges[1::2] if edges.size > 1 else np.array([], int)
    ends = list(downs) + [similarity.size - 1] * (len(ups) - len(downs))
    tops = [u + int(np.argmax(similarity[u:d])) for u, d in zip(ups, ends, strict=True) if d > u]
    return [t for t in tops if 0 < t < similarity.size - 1]


def _vertex(values: np.ndarray, top: int) -> float:
    """Offset of a parabola's highest point from its middle sample."""
    left, middle, right = values[top - 1 : top + 2]
    bend = left - 2.0 * middle + right
    return 0.0 if bend == 0.0 else float(0.5 * (left - right) / bend)
