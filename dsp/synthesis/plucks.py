"""Synthetic plucked strings of known pitch, for tests, the demo and the benchmark.

The model, after published measurements:

- a stiff string: partial k sounds at k f sqrt(1 + B k^2) (Fletcher & Rossing, The Physics of
  Musical Instruments);
- the levels and phases of real open strings (`dsp.synthesis.harmonics`); they hold 80 ms after the pluck;
- a decay of its own for every partial (medians over the University of Iowa MIS anechoic violin
  pizzicato notes), and two swings of the string: one sideways, louder and shorter, one vertical
  that rings on 0.7 cents sharper (double decay: Woodhouse, JASA 2021);
- a start some cents sharp that settles, and a burst of noise as the finger leaves the string.

The same description and seed always give the same sound.
"""

import math

import numpy as np

from dsp.reading import Samples, Signal
from dsp.synthesis.harmonics import Harmonics, violin_harmonics_near
from dsp.synthesis.manner import Manner, Swings
from dsp.synthesis.ringing import SWING_SPLIT, ringing
from dsp.units import Cents, Hz, Seconds, cents, shifted

LEVEL_WINDOW_S = 0.5  # a note's level is its mean power over this long from the pluck on
_ATTACK_S = 0.006  # time constant of the burst of noise; chosen


def pluck(  # noqa: PLR0913 - three of them by keyword only, with defaults
    frequency_hz: Hz,
    duration_s: Seconds,
    sample_rate_hz: float,
    *,
    harmonics: Harmonics | None = None,
    manner: Manner = Manner(),
    seed: int = 0,
) -> Samples:
    """The sound of one plucked string.

    Parameters
    ----------
    frequency_hz : the settled fundamental of the sideways swing (see `true_stretch`), in Hz
    duration_s : length of the sound, the lead of silence included
    sample_rate_hz : samples a second
    harmonics : levels and phases; by default those of the violin string nearest in pitch
    manner : how it is plucked
    seed : of the burst of noise

    Returns
    -------
    float32, shape (duration * rate,); loud notes may pass 1 in their first milliseconds
    """
    total = round(duration_s * sample_rate_hz)
    lead = min(round(manner.lead_s * sample_rate_hz), total)
    time = np.arange(total - lead) / sample_rate_hz
    note = ringing(frequency_hz, time, harmonics or violin_harmonics_near(frequency_hz), manner)
    note += _burst(note, manner, sample_rate_hz, seed)
    sound = np.zeros(total, np.float32)
    sound[lead:] = note * _gain(note[: round(LEVEL_WINDOW_S * sample_rate_hz)], manner.level_dbfs)
    return sound


def true_stretch(frequency_hz: Hz, manner: Manner) -> tuple[Hz, Hz]:
    """Lowest and highest frequency that a reading of the settled note may show without error."""
    top = SWING_SPLIT if manner.swings is Swings.BOTH else Cents(0.0)
    return frequency_hz, shifted(frequency_hz, top)


def outside_stretch(reading_hz: Hz, frequency_hz: Hz, manner: Manner) -> Cents:
    """How many cents a reading lies outside the true stretch; 0 inside, sharp positive."""
    low, high = true_stretch(frequency_hz, manner)
    return Cents(max(cents(reading_hz, high), 0.0) + min(cents(reading_hz, low), 0.0))


def _burst(note: Signal, manner: Manner, rate: float, seed: int) -> Signal:
    """The noise of the finger leaving the string."""
    burst = np.zeros(note.size)
    if manner.attack_db is None or not note.size:
        return burst
    start = note[: round(0.02 * rate)]
    length = min(round(12 * _ATTACK_S * rate), note.size)
    level = 10.0 ** (manner.attack_db / 20.0) * math.sqrt(float(np.mean(start**2)))
    noise = np.random.default_rng((seed, 2)).standard_normal(length)
    burst[:length] = level * noise * np.exp(-np.arange(length) / (_ATTACK_S * rate))
    return burst


def _gain(head: Signal, level_dbfs: float) -> float:
    power = float(np.mean(head**2)) if head.size else 0.0
    return 10.0 ** (level_dbfs / 20.0) / math.sqrt(power) if power > 0.0 else 0.0
