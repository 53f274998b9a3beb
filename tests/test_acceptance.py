"""What speaks for a string and what for a voice, mark by mark; and how much of it is needed."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dsp import Cents, Hz, PitchTracker, Seconds, shifted
from dsp.acceptance import CoursePoint, Marks, marks_of, odds, pitch_holds, stands
from dsp.background import early_growth_db
from dsp.retuning import Turn
from dsp.sounding import Onset, Past
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


BLOCK_S = 0.01


def looked_at(*partials: np.ndarray, now_cents: float = 0.0) -> Marks:
    """The marks of a sounding whose partials have these powers, one for each block of 10 ms."""
    power = np.stack(partials)
    tracks = SimpleNamespace(
        power=power,
        time_s=BLOCK_S * np.arange(power.shape[1]),
        noise=np.full(power.shape[1], 0.01),
    )
    settled = SimpleNamespace(scatter=1.0, misfit=1.0, cents=5.0, now_cents=now_cents)
    note = SimpleNamespace(tracks=tracks, settled=settled, onset=SimpleNamespace(age_s=lambda _past: 0.3))
    known = SimpleNamespace(coarse=SimpleNamespace(strength=10.0), octave_doubt=0.0)
    marks = marks_of(note, known, Turn(), 20.0, None)
    assert marks is not None
    return marks


def test_partials_that_have_grown_by_half_since_the_body_built_up_are_a_voices():
    """A body builds up for 20 to 50 ms, so what grows until then says nothing; of three equal partials one
    grows by half, one by a quarter, and one stays: 1.5 of 3.75."""
    late = np.arange(31) >= 10
    steady, quarter, half = (np.where(late, 1.0 + more, 1.0) for more in (0.0, 0.25, 0.5))
    early = np.where(np.arange(31) < 5, 0.1, 1.0)
    assert looked_at(steady, quarter, half).rising == pytest.approx(1.5 / 3.75)
    assert looked_at(steady * early, steady, steady).rising == 0.0


def test_how_fast_a_string_dies_away_and_how_far_it_swells_is_measured_in_db():
    """Two blocks are taken together at either end, so what falls by 50 dB a second is 12 dB lower 0.24 s
    later, and that is divided by all of the 0.25 s. Twice the power is 3 dB."""
    falling = 10.0 ** (-5.0 * BLOCK_S * np.arange(31))
    assert looked_at(falling, falling).fall_db_per_s == pytest.approx(50.0 * 0.24 / 0.25, abs=0.3)
    swelling = np.where(np.arange(31) >= 20, 2.0, 1.0)
    assert looked_at(swelling).growth_db == pytest.approx(10.0 * np.log10(2.0), abs=0.01)
    assert looked_at(swelling).comb_db == pytest.approx(10.0 * np.log10(2.0 / 0.01), abs=0.01)


def test_what_is_left_of_a_sharp_start_is_told_as_its_size():
    assert looked_at(np.ones(31), now_cents=12.0).sharp == pytest.approx(7.0)
    assert looked_at(np.ones(31), now_cents=-2.0).sharp == pytest.approx(7.0)


def course(*cents: float, slope: float | None = 20.0) -> tuple[CoursePoint, ...]:
    """A fit every 25 ms, the last at 0.3 s."""
    ages = [0.3 - 0.025 * i for i in reversed(range(len(cents)))]
    return tuple(
        CoursePoint(age, shifted(Hz(196.0), Cents(off)), shifted(Hz(196.0), Cents(off)), slope)
        for age, off in zip(ages, cents, strict=True)
    )


@pytest.mark.parametrize(
    ("slide", "for_string", "held"),
    [(10.0, -1.0, True), (14.0, -1.0, False), (25.0, 1.0, True), (35.0, 1.0, False)],
)
def test_a_pitch_that_slides_further_than_a_bows_does_not_hold(slide, for_string, held):
    slid = course(*np.linspace(0.0, slide, 11))
    assert pitch_holds(slid, replace(STRING, age_s=0.3), 2.0, for_string) is held


@pytest.mark.parametrize(
    ("off", "slope", "early_db", "stood"),
    [
        ((0.0, 30.0), 400.0, -0.5, True),  # began at once, as a pluck does
        ((0.0, 30.0), 90.0, 3.0, True),  # hardly moves about its course
        ((0.0, 7.0), 290.0, 3.0, True),  # is foreseen to settle where it was a fit ago
        ((0.0, 7.0), 310.0, 3.0, False),  # runs
        ((0.0, 9.0), 290.0, 3.0, False),  # is foreseen elsewhere than a fit ago
        ((30.0, 0.0, 7.0), 290.0, 3.0, True),  # only the last two fits are compared
        ((0.0,), 290.0, 3.0, False),  # and one alone says nothing
    ],
)
def test_what_swells_like_a_syllable_must_stand_before_it_is_a_pluck(off, slope, early_db, stood):
    """Middle values of words taken for plucks: 2.6 dB, 370 cents a second, 11 cents from fit to fit."""
    assert stands(course(*off, slope=slope), early_db) is stood


def test_a_pitch_that_came_back_has_not_held():
    assert not pitch_holds(course(0, 0, 0, 0, 0, 40, 0, 0, 0, 0, 0), replace(STRING, age_s=0.3), 2.0, 1.0)


def test_a_pitch_holds_only_after_a_fifth_of_a_second_and_where_it_stands_out():
    late = replace(STRING, age_s=0.3)
    still = course(*[0.0] * 11)
    assert pitch_holds(still, late, 2.0, 1.0)
    assert not pitch_holds(still[-8:], late, 2.0, 1.0)
    assert not pitch_holds(still, replace(late, comb_db=-1.0), 2.0, 1.0)
    assert not pitch_holds(still, replace(late, strength=5.0), 2.0, 1.0)
    assert pitch_holds(still, late, 8.0, 1.0)
    assert not pitch_holds(still, late, 9.0, 1.0)


AMONG_OTHERS = replace(STRING, age_s=0.3, quiet_db=10.0)


@pytest.mark.parametrize(("slope", "held"), [(20.0, True), (105.0, True), (115.0, False), (None, False)])
def test_a_pitch_that_runs_to_and_fro_about_its_course_does_not_hold(slope, held):
    """In an hour of speech every pitch that seemed to hold ran by 135 cents a second and more."""
    assert pitch_holds(course(*[0.0] * 11, slope=slope), AMONG_OTHERS, 2.0, 1.0) is held


@pytest.mark.parametrize(
    ("quiet_db", "growth_db", "held"), [(19.0, 0.2, False), (21.0, 0.2, True), (21.0, 26.0, False)]
)
def test_strings_that_run_are_believed_where_nothing_sounded_before_and_nothing_swells(
    quiet_db, growth_db, held
):
    running = course(*[0.0] * 11, slope=300.0)
    marks = replace(STRING, age_s=0.3, quiet_db=quiet_db, growth_db=growth_db)
    assert pitch_holds(running, marks, 2.0, 1.0) is held


def heard(rise_s: float) -> Past:
    """A tone at a room's rate that grows for so long, from its first sample on."""
    time = np.arange(1800) / 12000.0
    sound = np.minimum(time / rise_s, 1.0) * np.sin(2.0 * np.pi * 440.0 * time)
    return Past(sound, 1800, 12000.0, Hz(5000.0))


def test_a_pluck_is_as_loud_at_once_as_it_will_be_and_a_syllable_swells():
    """A ramp of 80 ms: its loudest 20 ms from 60 to 80, against 10 to 20: 20 log10(70 / 15) = 13.4 dB."""
    assert early_growth_db(Onset(0, True), heard(0.005)) < 1.0
    assert early_growth_db(Onset(0, True), heard(0.08)) == pytest.approx(13.4, abs=0.5)


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
def test_a_pluck_is_told_of_only_after_five_periods_of_the_octave_below(pitch):
    """Before that little can tell it from a string an octave lower whose odd partials are weak."""
    sound = np.concatenate([np.zeros(24000, np.float32), pluck(Hz(pitch), Seconds(0.6), 48000, seed=7)])
    readings = PitchTracker(48000, 82.0, 1500.0).feed(sound + np.float32(1e-4))
    assert readings
    assert readings[0].since_pluck_s * pitch / 2.0 >= 5.0
    assert readings[0].since_pluck_s < 14.0 / pitch + 0.08
