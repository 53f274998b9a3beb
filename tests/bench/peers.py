"""Other methods behind one small door: a window of sound in, a frequency in Hz or None out.

Libraries are imported when first used; one that is absent is left out and named. All get the very
same windows and the very same range.
"""

import importlib.metadata
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np

from dsp import Samples
from tests.bench.published import fft_peak, harmonic_product, mcleod

Estimate = Callable[[Samples, float, float, float], float | None]
HOP_S = 0.01


def _middle(track: np.ndarray, low: float, high: float) -> float | None:
    """Median of the frames that hold a pitch inside the range."""
    found = track[np.isfinite(track) & (track >= 0.97 * low) & (track <= 1.03 * high)]
    return float(np.median(found)) if found.size else None


def _frame(rate: float, low: float) -> int:
    """A power of two that holds three periods of the lowest pitch."""
    return 1 << (int(3.0 * rate / low) - 1).bit_length()


def librosa_yin(window: Samples, rate: float, low: float, high: float) -> float | None:
    """De Cheveigne & Kawahara, YIN, JASA 2002."""
    import librosa

    frame = _frame(rate, low)
    if window.size < frame:
        return None
    hop = int(HOP_S * rate)
    track = librosa.yin(
        window, fmin=low, fmax=high, sr=rate, frame_length=frame, hop_length=hop, center=False
    )
    return _middle(track, low, high)


def librosa_pyin(window: Samples, rate: float, low: float, high: float) -> float | None:
    """Mauch & Dixon, pYIN, ICASSP 2014."""
    import librosa

    frame = _frame(rate, low)
    if window.size < frame:
        return None
    hop = int(HOP_S * rate)
    track = librosa.pyin(
        window, fmin=low, fmax=high, sr=rate, frame_length=frame, hop_length=hop, center=False
    )[0]
    return _middle(track, low, high)


def aubio_yinfft(window: Samples, rate: float, low: float, high: float) -> float | None:
    """Brossier, Automatic annotation of musical audio, thesis 2006 (YIN in the spectrum)."""
    import aubio

    frame, hop = _frame(rate, low), int(HOP_S * rate)
    if window.size < frame:
        return None
    detector = aubio.pitch("yinfft", frame, hop, int(rate))
    track = [float(detector(b)[0]) for b in _blocks(window, hop)][(frame - 1) // hop :]
    return _middle(np.array(track), low, high)


def praat(window: Samples, rate: float, low: float, high: float) -> float | None:
    """Boersma, Accurate short-term analysis of the fundamental frequency, IFA 1993."""
    import parselmouth

    if window.size < 3.1 * rate / low:
        return None
    sound = parselmouth.Sound(window.astype(float), rate)
    pitch = sound.to_pitch_ac(time_step=HOP_S, pitch_floor=low, pitch_ceiling=high)
    track = pitch.selected_array["frequency"]
    return _middle(track, low, high)


def harvest(window: Samples, rate: float, low: float, high: float) -> float | None:
    """Morise, Harvest, Interspeech 2017."""
    import pyworld

    track = pyworld.harvest(window.astype(float), int(rate), low, high, 1000.0 * HOP_S)[0]
    return _middle(track, low, high)


@lru_cache(maxsize=1)
def _network() -> Any:
    import swift_f0

    return swift_f0.SwiftF0(threads=1, spin=False)


def swift_f0(window: Samples, rate: float, low: float, high: float) -> float | None:
    """Nieradzik, SwiftF0, 2025: a small neural network; it reaches from 46.875 to 2093.75 Hz."""
    result = _network().detect(window, rate, max(low, 46.875), min(high, 2093.75))
    return _middle(np.where(result.confidence >= 0.5, result.pitch_hz, np.nan), low, high)


PEERS: dict[str, tuple[str | None, Estimate]] = {
    "YIN": ("librosa", librosa_yin),
    "pYIN": ("librosa", librosa_pyin),
    "aubio yinfft": ("aubio", aubio_yinfft),
    "Praat": ("praat-parselmouth", praat),
    "Harvest": ("pyworld", harvest),
    "swift-f0": ("swift-f0", swift_f0),
    "McLeod": (None, mcleod),
    "product spectrum": (None, harmonic_product),
    "FFT peak": (None, fft_peak),
}


def available() -> dict[str, Estimate]:
    """The methods whose libraries are installed, by name."""
    return {name: f for name, (package, f) in PEERS.items() if package is None or version(package)}


def version(package: str) -> str | None:
    try:
        return importlib.metadata.version(package)
    except importlib.metadata.PackageNotFoundError:
        return None


def _blocks(window: Samples, hop: int) -> list[Samples]:
    return [window[i : i + hop] for i in range(0, window.size - hop + 1, hop)]
