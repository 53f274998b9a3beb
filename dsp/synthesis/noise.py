"""Noise of a known level, for tests and the benchmark.

A signal-to-noise ratio here is the mean power of the note's first 0.5 s over the power of the noise,
both over the whole band of the sample rate.
"""

import numpy as np

from dsp.reading import Samples
from dsp.synthesis.plucks import LEVEL_WINDOW_S
from dsp.units import Seconds


def white_noise(size: int, seed: int) -> Samples:
    """White Gaussian noise of power 1, float32, shape (size,)."""
    return np.random.default_rng((seed, 3)).standard_normal(size, np.float32)


def pink_noise(size: int, seed: int) -> Samples:
    """Noise of power 1 whose power in every octave is the same, float32, shape (size,)."""
    spectrum = np.fft.rfft(white_noise(size, seed))
    spectrum[0] = 0.0
    spectrum[1:] /= np.sqrt(np.arange(1, spectrum.size))
    pink = np.fft.irfft(spectrum, size)
    return np.asarray(pink / np.sqrt(np.mean(pink**2)), np.float32)


def with_noise(
    sound: Samples,
    noise: Samples,
    snr_db: float,
    sample_rate_hz: float,
    *,
    start_s: Seconds = Seconds(0.0),
) -> Samples:
    """Add noise to a sound at a signal-to-noise ratio.

    Parameters
    ----------
    sound, noise : float32, the same shape (n,)
    snr_db : of the 0.5 s of sound from `start_s`, where the note begins, against all of the noise
    sample_rate_hz : of both

    Raises ValueError where the noise or that part of the sound is silent.
    """
    first = round(start_s * sample_rate_hz)
    signal_power = _power(sound[first : first + round(LEVEL_WINDOW_S * sample_rate_hz)])
    noise_power = _power(noise)
    if signal_power <= 0.0 or noise_power <= 0.0:
        raise ValueError("the sound or the noise is silent, so no ratio can be set; check start_s")
    gain = np.sqrt(signal_power / noise_power) * 10.0 ** (-snr_db / 20.0)
    return np.asarray(sound + gain * noise, np.float32)


def _power(sound: Samples) -> float:
    return float(np.mean(np.square(sound, dtype=np.float64))) if sound.size else 0.0
