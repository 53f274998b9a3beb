"""Columns of amplitudes, and what becomes of them when some are merged."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dsp import Hz
from dsp.courses import even
from dsp.fine import Fit, first_fit, fit, phase_path
from dsp.partials import basis, blocks
from dsp.tracks import Tracks, joined, merged

RATE, BAND = 12000.0, Hz(5000.0)


def tone_tracks(pitch_hz: float, noise: float, seed: int) -> Tracks:
    """One second of five steady partials, expected six cents lower."""
    time = np.arange(round(RATE)) / RATE
    sound = noise * np.random.default_rng(seed).standard_normal(time.size)
    for k in range(1, 6):
        sound += np.cos(2.0 * math.pi * pitch_hz * k * math.sqrt(1.0 + 6e-5 * k * k) * time + k) / k
    base = basis(Hz(pitch_hz * 2.0 ** (-6.0 / 1200.0)), 6e-5, RATE, BAND)
    count = (sound.size - base.length) // base.hop + 1
    found = blocks(sound, count, base, 0.0, RATE)
    centre = (0.5 * (base.length - 1) + base.hop * np.arange(count)) / RATE
    return Tracks(centre, found.phasor, found.noise, base)


def shortened(tracks: Tracks, pitch: float) -> Tracks:
    """All but the last tenth merged by eights."""
    first, most = 0, int(0.9 * tracks.time_s.size) // 8
    for first in range(most):
        path = phase_path(tracks.base, tracks.time_s[first : first + 8], pitch, 0.0)
        tracks = merged(tracks, first, 8, path)
    return tracks


def found_pitch(tracks: Tracks) -> Fit:
    start = replace(first_fit(1), x=np.array([6.0, 0.0]), std_error=np.array([0.02, 1e-6]))
    return fit(tracks, even(tracks.time_s, 6e-5), start, rounds=4)


def test_merged_columns_say_the_same_pitch_with_the_same_error():
    for seed in range(6):
        tracks = tone_tracks(440.0, 0.3, seed)
        few = shortened(tracks, 6.0)
        assert few.time_s.size < tracks.time_s.size / 3
        assert few.many.sum() == tracks.time_s.size
        long, short = (found_pitch(t) for t in (tracks, few))
        assert float(long.x[0]) == pytest.approx(6.0, abs=0.05)
        assert float(short.x[0]) == pytest.approx(float(long.x[0]), abs=1.5 * float(long.std_error[0]))
        assert float(short.std_error[0]) == pytest.approx(float(long.std_error[0]), rel=0.25)


def test_the_noise_of_a_merged_column_is_that_of_a_mean():
    """Hann blocks overlapping by half correlate by 1/6: a mean of n has (4/3 - 1/(3n)) / n of it."""
    for count in (2, 8):
        values = []
        for seed in range(40):
            tracks = tone_tracks(440.0, 1.0, seed)
            path = phase_path(tracks.base, tracks.time_s[:count], 6.0, 0.0)
            one = merged(tracks, 0, count, path).phasor[3, 0]
            values.append(
                one * np.exp(-1j * phase_path(tracks.base, tracks.time_s[:count], 6.0, 0.0)[3].mean())
            )
        expected = (4.0 / 3.0 - 1.0 / (3.0 * count)) / count
        seen = float(np.var(np.array(values))) / 2.0 / float(tracks.base.gain[3])
        assert seen == pytest.approx(expected, rel=0.4)
        assert float(merged(tracks, 0, count, path).spread[0]) == pytest.approx(expected)


def test_a_column_stands_for_one_block_unless_it_is_said():
    tracks = tone_tracks(220.0, 0.1, 0)
    assert np.all(tracks.many == 1.0)
    assert np.all(tracks.spread == 1.0)
    both = joined(tracks.of(slice(0, 5)), tracks.since(5))
    assert both.time_s == pytest.approx(tracks.time_s)
    assert both.many.size == tracks.many.size
