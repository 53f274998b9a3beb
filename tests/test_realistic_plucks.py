"""Plucks drawn as real, held against figures of recorded ones, both measured by the same lines.

The recorded figures are medians over 32 single plucks of a violin and a viola in an orchestra's studio (the
Philharmonia Orchestra's sound samples, measured by us; figures are free, the sounds are not kept here).
"""

import json
import math

import numpy as np
import pytest

from dsp import Cents, Hz, Instrument, Seconds, cents
from dsp.synthesis import PIZZICATO, Manner, Strays, Swings, pluck, realistic_manner
from dsp.synthesis.strays import Offsets
from tests.bench.truth import SCATTER as TRIMMED
from tests.bench.truth import STIFF, fitted, peaks

RATE = 44100.0
WINDOWS_S = ((0.02, 0.12), (0.1, 0.25), (0.25, 0.5), (0.5, 0.9))  # after the pluck
COURSE = (14.3, 8.9, 4.3, 2.1)  # cents above where the note settles: medians of the recorded notes
COURSE_WITHIN = (3.7, 3.0, 2.5, 1.5)  # 1.5 standard errors of medians of 48 and of some 30 notes
SCATTER = (8.6, 5.5, 5.1, 3.2)  # cents: medians of the robust spread of their partials about the course
STRINGS = [
    (Instrument.VIOLIN, "G3", 196.0),
    (Instrument.VIOLIN, "D4", 293.66),
    (Instrument.VIOLA, "C3", 130.81),
]
FAINT_DB = -80.0  # a partial softer than this, or further off than the next, is none
FAR = 45.0


def course_and_scatter(numbers, off, levels_db):
    """The common course of partials, robustly, and how far single ones stand off it, in cents."""
    numbers, off = np.asarray(numbers, float), np.asarray(off, float)
    places = off - STIFF * numbers**2
    weights = np.sqrt(10.0 ** (np.asarray(levels_db) / 20.0) * numbers)
    trust = np.ones(places.size)
    for _ in range(12):
        middle = np.sum(weights * trust * places) / np.sum(weights * trust)
        trust = 1.0 / (1.0 + ((places - middle) / TRIMMED) ** 2)
    return middle, 1.4826 * np.median(np.abs(places - middle))


def made(seed: int):
    instrument, name, pitch = STRINGS[seed % len(STRINGS)]
    manner = realistic_manner(seed)
    sound = pluck(
        Hz(pitch), Seconds(1.6), RATE, harmonics=PIZZICATO[instrument][name], manner=manner, seed=seed
    )
    return sound + 1e-5 * np.random.default_rng(seed).standard_normal(sound.size), Hz(pitch)


def piece(sound, start_s: float, stop_s: float):
    return sound[round(start_s * RATE) : round(stop_s * RATE)]


@pytest.fixture(scope="module")
def measured():
    """Course and scatter of synthetic plucks in each window; and how far the truth found late is off."""
    courses, scatters, settled = [], [], []
    for seed in range(48):
        sound, pitch = made(seed)
        late = fitted(piece(sound, 0.8, 1.5), RATE, pitch)
        settled.append(cents(late.frequency_hz, pitch))
        found = [peaks(piece(sound, *w), RATE, late.frequency_hz, STIFF, Cents(70.0)) for w in WINDOWS_S]
        off = [1200.0 * np.log2(p.frequencies_hz / p.numbers / late.frequency_hz) for p in found]
        both = [
            course_and_scatter(p.numbers, o, 20.0 * np.log10(p.amplitudes))
            for p, o in zip(found, off, strict=True)
        ]
        courses.append([c for c, _ in both])
        scatters.append([s for _, s in both])
    return np.array(courses), np.array(scatters), np.array(settled)


def test_synthetic_plucks_start_as_sharp_and_sink_as_slowly_as_recorded_ones(measured):
    courses = measured[0]
    assert np.all(np.abs(np.median(courses, axis=0) - COURSE) < COURSE_WITHIN)
    assert np.percentile(courses[:, 0], 95) > 24.0  # some start very sharp: 34 on the recordings
    assert np.all(np.diff(np.median(courses, axis=0)) < 0.0)


def test_synthetic_partials_stray_as_far_from_their_course_as_recorded_ones(measured):
    assert np.median(measured[1], axis=0) == pytest.approx(SCATTER, rel=0.35)


def test_a_realistic_pluck_settles_on_the_pitch_it_was_made_of(measured):
    settled = measured[2]
    assert abs(np.median(settled)) < 1.5  # what is left of the slowest starts, and half of the vertical swing
    assert np.percentile(np.abs(settled), 90) < 6.0


def test_the_figures_are_those_of_the_recordings(recorded):
    rows = json.loads((recorded / "violin_viola_pluck_figures.json").read_text())["rows"]
    assert len(rows) == 32
    courses, scatters = np.full((32, 4), np.nan), np.full((32, 4), np.nan)
    for i, row in enumerate(rows):
        for w, window in enumerate(row["windows"]):
            kept = [(k, *c) for k, c in enumerate(window, 1) if c and abs(c[0]) < FAR and c[1] > FAINT_DB]
            if len(kept) >= 2:
                courses[i, w], scatters[i, w] = course_and_scatter(*zip(*kept, strict=True))
            if len(kept) < 3:
                scatters[i, w] = np.nan
    assert np.isfinite(courses).sum(axis=0).min() >= 20
    assert np.nanmedian(courses, axis=0) == pytest.approx(COURSE, abs=0.1)
    assert np.nanmedian(scatters, axis=0) == pytest.approx(SCATTER, abs=0.1)


def test_starts_lie_between_none_and_40_cents_and_the_body_builds_up_in_20_to_50_ms():
    drawn = [realistic_manner(seed) for seed in range(400)]
    assert all(0.0 < m.glide_cents <= 40.0 for m in drawn)
    assert all(0.02 <= m.strays.builds_up_s <= 0.05 for m in drawn)
    assert min(m.settle_s for m in drawn) < 0.25
    assert max(m.settle_s for m in drawn) > 1.4  # a time constant of 0.5 s is 1.5 s until 5 % are left
    assert realistic_manner(5) == realistic_manner(5) != realistic_manner(6)


def test_a_partial_comes_to_nine_tenths_of_its_level_in_the_time_that_is_said():
    offsets = Strays(builds_up_s=Seconds(0.03), seed=3).offsets(np.ones(12))
    assert isinstance(offsets, Offsets)
    at_nine_tenths = offsets.builds_s * math.log(10.0)
    assert all(0.018 <= t <= 0.042 for t in at_nine_tenths)
    assert offsets.risen(0, np.array([at_nine_tenths[0]])) == pytest.approx(0.9)


def test_lasting_offsets_have_no_weighted_mean_and_the_spread_that_is_asked_for():
    weights = np.linspace(1.0, 0.1, 4000)
    lasting = Strays(lasting=Cents(4.0), seed=1).offsets(weights).lasting
    assert np.sum(weights * lasting) == pytest.approx(0.0, abs=1e-6)
    assert np.std(lasting) == pytest.approx(4.0, rel=0.1)


def test_without_strays_a_pluck_is_as_it_was_and_with_strays_of_nothing_it_is_the_same():
    plain = Manner(swings=Swings.SIDEWAYS)
    nothing = Manner(swings=Swings.SIDEWAYS, strays=Strays())
    first, second = (pluck(Hz(196.0), Seconds(0.5), RATE, manner=m) for m in (plain, nothing))
    assert second == pytest.approx(first, abs=1e-4)
