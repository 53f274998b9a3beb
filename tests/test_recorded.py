"""The truth of recorded plucks, and how a tracker is counted against it."""

from dataclasses import replace

import numpy as np
import pytest

from dsp import Hz, Reading, cents
from tests.bench.recorded_figures import Figures, Scene, heard
from tests.bench.recorded_notes import LEAD_S, SETS, Note, missing, notes
from tests.bench.truth import Fit, fitted

RATE = 44100.0
TRUE_HZ = Hz(196.0)


def stiff_note(stiffness_b: float, off_cents: dict[int, float] | None = None, decay_s: float = 2.0):
    """f_k = k f sqrt(1 + B k^2) (Fletcher & Rossing), some partials put off their course."""
    time = np.arange(round(2.0 * RATE)) / RATE
    sound = np.zeros(time.size)
    for k in range(1, 13):
        off = 2.0 ** ((off_cents or {}).get(k, 0.0) / 1200.0)
        pitch = k * TRUE_HZ * np.sqrt(1.0 + stiffness_b * k * k) * off
        sound += 0.1 / k * np.cos(2.0 * np.pi * pitch * time + k) * np.exp(-time / decay_s)
    return sound.astype(np.float32)


@pytest.mark.parametrize("stiffness_b", [0.0, 7e-5, 1.4e-4])
def test_the_fit_finds_the_fundamental_of_a_stiff_string(stiffness_b):
    fit = fitted(stiff_note(stiffness_b)[: round(0.7 * RATE)], RATE, Hz(198.0))
    assert fit is not None
    assert fit.partials == 12
    assert abs(cents(fit.frequency_hz, TRUE_HZ)) < 0.4  # the stiffness is held, so not quite 0
    assert fit.rms_cents < 0.5


def test_one_stray_partial_moves_the_fit_by_less_than_a_cent_and_a_half():
    fit = fitted(stiff_note(7e-5, {2: 20.0})[: round(0.7 * RATE)], RATE, TRUE_HZ)
    assert fit is not None
    assert abs(cents(fit.frequency_hz, TRUE_HZ)) < 1.5
    assert fit.rms_cents > 3.0


def test_noise_alone_has_no_pitch():
    noise = np.random.default_rng(1).standard_normal(round(0.7 * RATE)).astype(np.float32)
    fit = fitted(noise, RATE, TRUE_HZ)
    assert fit is None or fit.partials < 3


def note_of(sound, onset_s: float = 0.0) -> Note:
    silence = np.zeros(round(onset_s * RATE), np.float32)
    return Note("made", "g3_ma", False, TRUE_HZ, RATE, np.concatenate([silence, sound]))


def test_times_count_from_the_onset_and_the_truth_is_taken_late():
    note = note_of(stiff_note(7e-5), onset_s=0.02)
    assert note.onset_s == pytest.approx(LEAD_S + 0.02, abs=0.0011)
    assert note.truth is not None
    assert abs(cents(note.truth.frequency_hz, TRUE_HZ)) < 0.4


def test_a_note_whose_partials_disagree_has_no_truth():
    scattered = {k: 15.0 * (-1) ** k for k in range(1, 13)}
    assert note_of(stiff_note(7e-5, scattered)).truth is None


def reading(since_s: float, hz: float, error: float = 1.0, doubt: float = 0.0) -> tuple[float, Reading]:
    made = Reading(
        time_s=since_s, frequency_hz=hz, std_error_cents=error, octave_doubt=doubt,
        drift_cents_per_s=0.0, level_dbfs=-20.0, since_pluck_s=since_s, pluck=1,
    )  # fmt: skip
    return since_s, made


def test_each_kind_of_reading_is_counted_where_it_belongs():
    made = Figures()
    note = note_of(stiff_note(7e-5))
    hz = note.truth.frequency_hz
    up3 = hz * 2.0 ** (3.0 / 1200.0)
    made.add(note, [reading(0.09, up3), reading(0.25, hz)])
    made.add(note, [reading(0.12, hz / 2.0, doubt=0.9)])
    made.add(note, [reading(0.2, hz / 3.0), reading(0.4, 1.26 * hz)])
    made.add(note, [])
    assert [made.answered[0.1], made.answered[0.15]] == [1, 2]
    assert dict(made.wrong) == {"octave": 1, "doubted": 1, "sub": 1, "other": 1, "silent": 1}
    assert made.errors[0.1] == [(pytest.approx(3.0), 1.0)]
    assert made.inside(0.1, 1) == 0.0  # 3 cents against the root of 1 and 1.5 squared
    assert made.inside(0.1, 2) == 100.0
    assert made.errors[0.3] == [(pytest.approx(0.0, abs=1e-9), 1.0)]


def test_a_low_note_has_time_in_proportion_to_its_period():
    made, low = Figures(), note_of(stiff_note(7e-5))
    low = replace(low, nominal_hz=Hz(70.0))
    object.__setattr__(low, "truth", Fit(Hz(70.0), 0.06, 1.0, 8))
    made.add(low, [reading(0.19, 70.0)])
    assert made.answered[0.1] == 1


def test_a_tracker_is_fed_blocks_and_what_it_says_before_the_onset_does_not_count():
    class Says:
        def __init__(self, *_range):
            self.time = 0.0

        def feed(self, samples):
            self.time += samples.size / RATE
            return [reading(self.time, TRUE_HZ)[1]] if 0.28 < self.time < 0.62 else []

    note = note_of(stiff_note(7e-5))
    said = heard(Scene(note, note.sound, RATE), Says)
    assert 10 <= len(said) <= 13
    assert all(0.0 < t < 0.13 for t, _ in said)


def test_without_a_folder_the_reason_is_said(tmp_path):
    assert "--recorded" in missing(None)
    assert "bass_plucked holds no .flac" in missing(tmp_path)


@pytest.mark.parametrize("name", SETS)
def test_recorded_notes_settle_near_their_names_and_the_two_halves_share_no_take(recorded, name):
    chosen, told = (notes(recorded, name, reported=r) for r in (False, True))
    assert len(chosen) >= 30
    assert len(told) >= 18
    assert not {n.name for n in chosen} & {n.name for n in told}
    off = [cents(n.truth.frequency_hz, n.nominal_hz) for n in chosen + told]
    assert max(np.abs(off)) < 30.0
