"""What speaks for a string and what for a voice, mark by mark; and how much of it is needed."""

from dataclasses import replace

import numpy as np
import pytest

from dsp import Cents, Hz, PitchTracker, Seconds, shifted
from dsp.acceptance import Marks, odds, pitch_holds
from dsp.synthesis import pluck

STRING = Marks(
    quiet_db=30.0,
    comb_db=20.0,
    rising=0.0,
    growth_db=0.2,
    fall_db_per_s=30.0,
    slope=20.0,
    scatter=2.0,
    misfit=1.5,
    strength=20.0,
    doubt=0.0,
    sharp=3.0,
    age_s=0.1,
)
VOICE = replace(
    STRING, quiet_db=-5.0, comb_db=8.0, rising=0.6, growth_db=2.0, slope=400.0, misfit=9.0, sharp=12.0
)


def test_a_usual_string_is_believed_and_a_usual_voice_is_not():
    """Middle values of recorded plucks and of speech."""
    assert odds(STRING) > 3.0
    assert odds(VOICE) < -3.0


@pytest.mark.parametrize(
    ("mark", "worse"),
    [
        ("quiet_db", 0.0),
        ("comb_db", 8.0),
        ("rising", 0.6),
        ("growth_db", 4.0),
        ("slope", 500.0),
        ("misfit", 10.0),
        ("sharp", 15.0),
        ("fall_db_per_s", 220.0),
        ("fall_db_per_s", -60.0),
    ],
)
def test_every_mark_of_a_voice_speaks_against_a_string(mark, worse):
    assert odds(replace(STRING, **{mark: worse})) < odds(STRING) - 0.5


def course(*cents: float) -> tuple[tuple[float, Hz], ...]:
    """A fit every 25 ms, the last at 0.3 s."""
    ages = [0.3 - 0.025 * i for i in reversed(range(len(cents)))]
    return tuple((age, shifted(Hz(196.0), Cents(off))) for age, off in zip(ages, cents, strict=True))


@pytest.mark.parametrize(
    ("slide", "for_string", "held"),
    [(10.0, -1.0, True), (14.0, -1.0, False), (25.0, 1.0, True), (35.0, 1.0, False)],
)
def test_a_pitch_that_slides_further_than_a_bows_does_not_hold(slide, for_string, held):
    slid = course(*np.linspace(0.0, slide, 11))
    assert pitch_holds(slid, replace(STRING, age_s=0.3), 2.0, for_string) is held


def test_a_pitch_that_came_back_has_not_held():
    assert not pitch_holds(course(0, 0, 0, 0, 0, 40, 0, 0, 0, 0, 0), replace(STRING, age_s=0.3), 2.0, 1.0)


def test_a_pitch_holds_only_after_a_fifth_of_a_second_and_where_it_stands_out():
    late = replace(STRING, age_s=0.3)
    still = course(*[0.0] * 11)
    assert pitch_holds(still, late, 2.0, 1.0)
    assert not pitch_holds(still[-8:], late, 2.0, 1.0)
    assert not pitch_holds(still, replace(late, comb_db=-1.0), 2.0, 1.0)
    assert not pitch_holds(still, replace(late, strength=5.0), 2.0, 1.0)
    assert not pitch_holds(still, late, 7.0, 1.0)


def words(seed: int, quiet_s: float) -> np.ndarray:
    """Two seconds of syllables: harmonics under a moving vowel, swelling, gliding, after some silence."""
    rng = np.random.default_rng(seed)
    rate, parts = 48000, [np.zeros(round(quiet_s * 48000))]
    while sum(map(len, parts)) < 2.0 * rate:
        time = np.arange(round(rng.uniform(0.12, 0.3) * rate)) / rate
        cycles = np.cumsum(rng.uniform(100, 260) * np.exp2(rng.uniform(-0.6, 0.6) * time)) / rate
        vowel, swell = rng.uniform(400, 1200), np.sin(np.pi * np.arange(time.size) / time.size) ** 0.7
        sound = sum(
            np.exp(-0.5 * ((k * 160 - vowel) / 450) ** 2) * np.sin(2 * np.pi * k * cycles)
            for k in range(1, 18)
        )
        parts += [0.1 * swell * sound, np.zeros(round(rng.uniform(0.0, 0.1) * rate))]
    return (np.concatenate(parts) + 1e-4 * rng.standard_normal(sum(map(len, parts)))).astype(np.float32)


def test_syllables_after_a_silence_hardly_ever_get_a_sure_reading():
    """Not one reading in a hundred syllables that a lesson, which waits for settled ones, could act upon."""
    sure = 0
    for seed in range(12):
        readings = PitchTracker(48000, 82.0, 1319.0).feed(words(seed, 0.4))
        sure += sum(r.std_error_cents < 5.0 and r.octave_doubt < 0.5 for r in readings)
    assert sure <= 1


@pytest.mark.parametrize("pitch", [130.81, 196.0, 440.0, 659.26])
def test_a_pluck_is_told_of_only_after_seven_periods_of_the_octave_below(pitch):
    """Before that nothing can tell it from a string an octave lower whose odd partials are weak."""
    sound = np.concatenate([np.zeros(24000, np.float32), pluck(Hz(pitch), Seconds(0.6), 48000, seed=7)])
    readings = PitchTracker(48000, 82.0, 1500.0).feed(sound + np.float32(1e-4))
    assert readings
    assert readings[0].since_pluck_s * pitch / 2.0 >= 7.0
    assert readings[0].since_pluck_s < 14.0 / pitch + 0.08
