"""What a practice room adds to a pluck: other players, hum, walls, a poor microphone, people talking.

Everything is made here or by Debian's espeak-ng and fluidsynth; each maker takes size and seed and
gives noise of power near 1, float32, so that `with_noise` can set its level.
"""

import shutil
import subprocess
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

import numpy as np

from dsp import Cents, Hz, Samples, Seconds, shifted
from dsp.synthesis import Bowing, bowed, pluck
from tests.bench.common import RATE, Case, names, open_frequency

SENTENCES = (
    "Good morning everybody, please sit down and take out your instruments.",
    "Did you practise this week? I did the scale, but not the new piece.",
    "Hold the bow lightly, thumb bent, and let the arm hang from the shoulder.",
    "Where is my rosin? I think it fell behind the radiator again.",
    "Now all together, from the second bar, one two three and four.",
    "My brother is coming at half past five, so we still have time for a game.",
    "The rain has stopped, we can open the window and let some air in.",
    "Seven, eight, nine, ten, and once more, a little slower this time.",
)
VOICES = (
    "en-gb",
    "en-us",
    "en-gb+f3",
    "en-us+f4",
    "en-gb+m3",
    "de",
    "fr",
    "en-gb-scotland+f2",
    "it",
    "es+f1",
)


def hum(mains_hz: float, size: int, seed: int) -> Samples:
    """Mains hum and buzz: the mains frequency and its multiples, the odd ones louder."""
    rng = np.random.default_rng((seed, 11))
    time = np.arange(size) / RATE
    levels = [(k, (1.0 if k % 2 else 0.5) / k) for k in range(1, 13)]
    waves = [a * np.sin(2 * np.pi * k * mains_hz * time + rng.uniform(0, 6.28)) for k, a in levels]
    return np.asarray(np.sum(waves, axis=0), np.float32)


def other_violin(size: int, seed: int) -> Samples:
    """A violin playing a melody of stopped notes, two to five a second, bowed."""
    rng = np.random.default_rng((seed, 12))
    notes, done = [], 0
    while done < size:
        length = float(rng.uniform(0.2, 0.5))
        pitch = shifted(Hz(440.0), Cents(100.0 * rng.integers(-12, 14)))
        note = bowed(
            pitch,
            Seconds(length),
            RATE,
            bowing=Bowing(sway_cents=Cents(8.0)),
            seed=int(rng.integers(1 << 30)),
        )
        notes.append(note)
        done += note.size
    return np.concatenate(notes)[:size]


def speech(size: int, seed: int) -> Samples:
    """A stretch of synthetic speech (espeak-ng), from a random place of a few sentences."""
    long = _spoken()
    start = int(np.random.default_rng((seed, 13)).integers(0, long.size - size))
    return long[start : start + size]


@lru_cache(maxsize=1)
def _spoken() -> Samples:
    return np.concatenate([spoken(text, VOICES[i % len(VOICES)], 50) for i, text in enumerate(SENTENCES)])


def spoken(text: str, voice: str, pitch: int, speed: int = 160) -> Samples:
    """One sentence by espeak-ng at this benchmark's rate; gaps are left as they are."""
    command = ["espeak-ng", "-v", voice, "-p", str(pitch), "-s", str(speed), "--stdout", text]
    wav = subprocess.run(command, check=True, capture_output=True).stdout
    samples = np.frombuffer(wav[44:], np.int16).astype(np.float32) / 32768.0
    return resampled(samples, 22050.0 / RATE)


def resampled(sound: Samples, step: float) -> Samples:
    """The sound read at steps of `step` input samples, band-limited (Smith's windowed sinc, scipy)."""
    from scipy.signal import resample_poly

    ratio = Fraction(1.0 / step).limit_denominator(2000)
    return np.asarray(resample_poly(sound, ratio.numerator, ratio.denominator), np.float32)


def reverberant(clean: Samples, seed: int, rt60_s: float = 0.5) -> Samples:
    """The sound in a small room: noise dying by 60 dB in `rt60_s`, its energy equal to the direct sound's."""
    rng = np.random.default_rng((seed, 14))
    time = np.arange(round(rt60_s * RATE)) / RATE
    tail = rng.standard_normal(time.size) * 10.0 ** (-3.0 * time / rt60_s)
    tail[: round(0.002 * RATE)] = 0.0
    tail /= np.sqrt(np.sum(tail**2))
    size = 1 << (clean.size + tail.size).bit_length()
    wet = np.fft.irfft(np.fft.rfft(clean, size) * np.fft.rfft(tail, size), size)[: clean.size]
    return np.asarray(clean + wet, np.float32)


def ringing_along(case: Case, clean: Samples) -> Samples:
    """The other open strings of the instrument sounding with it, together 12 dB softer."""
    rest = np.zeros(clean.size, np.float32)
    for name in names(case.instrument):
        if name != case.string:
            lead = Seconds(case.manner.lead_s)
            other = replace(case.manner, lead_s=lead, attack_db=None)
            detuned = shifted(open_frequency(case.instrument, name), Cents(float(case.seed % 41 - 20)))
            rest += pluck(detuned, Seconds(clean.size / RATE), RATE, manner=other, seed=case.seed)[
                : clean.size
            ]
    rest *= np.sqrt(np.mean(clean**2) / np.mean(rest**2)) * 10.0 ** (-12.0 / 20.0)
    return np.asarray(clean + rest, np.float32)


def without_bass(sound: Samples, corner_hz: float = 150.0) -> Samples:
    """A small microphone: 24 dB an octave lost below the corner (fourth-order Butterworth)."""
    from scipy.signal import butter, sosfilt

    return np.asarray(sosfilt(butter(4, corner_hz, "highpass", fs=RATE, output="sos"), sound), np.float32)


def clipped(sound: Samples) -> Samples:
    """Recorded too hot: everything above a fifth of the peak is cut."""
    limit = 0.2 * float(np.max(np.abs(sound)))
    return np.clip(sound, -limit, limit)


def knocks(size: int, seed: int) -> Samples:
    """Knocks, dropped pencils, chairs: short bursts at odd moments, some with a wooden ring."""
    rng = np.random.default_rng((seed, 15))
    sound = np.zeros(size, np.float32)
    moment = 0.0
    while True:
        moment += float(rng.exponential(1.5))
        start, length = round(moment * RATE), round(0.3 * RATE)
        if start + length > size:
            return sound
        time = np.arange(length) / RATE
        body = rng.standard_normal(length) * np.exp(-time / rng.uniform(0.003, 0.03))
        for _ in range(int(rng.integers(0, 4))):
            ring = np.sin(2 * np.pi * rng.uniform(80.0, 2500.0) * time)
            body += rng.uniform(0.2, 1.5) * ring * np.exp(-time / rng.uniform(0.005, 0.04))
        sound[start : start + length] += np.float32(rng.uniform(0.02, 0.3)) * body.astype(np.float32)


def missing() -> list[str]:
    """Programs the false-reading hours need that are not installed."""
    return [p for p in ("espeak-ng", "fluidsynth") if shutil.which(p) is None]
