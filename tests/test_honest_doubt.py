"""What the tracker owns to not knowing: the octave's rival, soft plucks, the error while turning."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dsp import Hz, Instrument, PitchTracker, Seconds, acceptance, cents
from dsp.acceptance import Judgement, Marks, drowns, judged, odds
from dsp.coarse import Coarse, coarse_pitch
from dsp.onset import FRAMES, MEMORY, Frames, heard, leap, no_frames
from dsp.spectrum import peaks_of, power_spectrum
from dsp.synthesis import PIZZICATO, Swings, Turning, drawn_manner, pluck, white_noise, with_noise

LOW_RATE, BAND = 12000.0, Hz(5000.0)
RATE = 48000


def guessed(fundamental: float, odd_db: float) -> Coarse:
    """Twelve partials that fall by 4 dB each, the odd ones changed by `odd_db`, in a little noise."""
    time = np.arange(round(0.2 * LOW_RATE)) / LOW_RATE
    sound = 1e-5 * np.random.default_rng(1).standard_normal(time.size)
    for k in range(1, 13):
        level_db = -20.0 - 4.0 * k + (odd_db if k % 2 else 0.0)
        sound += 10.0 ** (level_db / 20.0) * np.sin(2.0 * np.pi * fundamental * k * time + k)
    peaks = peaks_of(power_spectrum(sound, LOW_RATE), BAND, 0.4 * 82.0, None)
    found = coarse_pitch(peaks, BAND, Hz(82.0), Hz(1319.0))
    assert found is not None
    return found


@pytest.mark.parametrize("fundamental", [196.0, 220.0, 293.66])
def test_where_the_octave_is_as_likely_the_guess_says_so(fundamental):
    """As its odd partials fade away, a tone turns into its octave: there two answers are as good, which is a
    doubt near one half; where nothing fades, or nothing is left to fade, there is none."""
    steps = [guessed(fundamental, odd_db) for odd_db in np.arange(-20.0, -50.0, -0.5)]
    octave = [found.frequency_hz > 1.5 * fundamental for found in steps]
    assert not octave[0]
    assert octave[-1]
    change = octave.index(True)
    assert [steps[at].doubt > 0.25 for at in (change - 1, change)] == [True, True]
    assert max(found.doubt for found in steps) <= 0.5
    assert [guessed(fundamental, odd_db).doubt < 0.01 for odd_db in (0.0, -10.0, -60.0)] == [True] * 3


def newest(*, before_db: float, now_db: float, room_db: float = -90.0, bright_db: float = 0.0) -> int | None:
    """Whether a step of the level counts as a pluck; its higher half steps by `bright_db` more."""
    before, now, room = (10.0 ** (db / 10.0) for db in (before_db, now_db, room_db))
    whole = (*(before,) * MEMORY, *(now,) * FRAMES)
    bright = 10.0 ** (bright_db / 10.0)
    return leap(Frames(whole, (*(1e-3 * before,) * MEMORY, *(1e-3 * now * bright,) * FRAMES), room))


@pytest.mark.parametrize(
    ("noticed", "level"),
    [
        # 6 dB over what sounded in the last 40 ms: a softer leap may be the beat of a low string
        (True, {"before_db": -40.0, "now_db": -33.6}),
        (False, {"before_db": -40.0, "now_db": -34.4}),
        # 9 dB in the higher half of the band alone: a ringing string plucked again
        (True, {"before_db": -40.0, "now_db": -40.0, "bright_db": 11.0}),
        (False, {"before_db": -40.0, "now_db": -40.0, "bright_db": 7.0}),
        # 8 dB over the room's own level
        (True, {"before_db": -50.0, "now_db": -30.0, "room_db": -40.0}),
        (False, {"before_db": -50.0, "now_db": -34.0, "room_db": -40.0}),
        # and nothing at all under -90 dBFS
        (True, {"before_db": -120.0, "now_db": -88.0, "room_db": -120.0}),
        (False, {"before_db": -120.0, "now_db": -92.0, "room_db": -120.0}),
    ],
)
def test_a_soft_pluck_is_noticed_and_a_swell_that_is_softer_still_is_not(noticed, level):
    assert newest(**level) == (0 if noticed else None)


def test_a_leap_may_take_two_frames_and_no_more():
    """A string is pulled aside and let go within 5 ms; what rises more slowly is a swell."""
    for frames_ago, noticed in ((1, True), (2, True), (3, False)):
        levels = [1e-6] * (MEMORY + FRAMES)
        for at in range(MEMORY - frames_ago, MEMORY):
            levels[at] = 4e-6  # on its way up
        levels[MEMORY:] = [1e-5] * FRAMES
        assert (leap(Frames(tuple(levels), (0.0,) * (MEMORY + FRAMES), 0.0)) == 0) is noticed, frames_ago
    assert FRAMES == 4


def test_the_power_of_a_frame_and_of_its_steps_is_a_mean():
    """A hop that swings between +a and -a has the power a squared, and its steps of 2 a four times that."""
    hop = np.tile([0.1, -0.1], 60)
    frames = heard(no_frames(), hop, sounding=False)
    assert frames.whole == pytest.approx([0.0] * MEMORY + [0.01] * FRAMES)
    assert frames.high == pytest.approx([0.0] * MEMORY + [0.04] * FRAMES)


def off_while_turned(seed: int, pitch: float, name: str) -> list[float]:
    """Errors of readings while a hand turns, in standard errors as stated; every third, which is 0.1 s."""
    rng = np.random.default_rng(seed)
    slope, begins = float(rng.choice([-1.0, 1.0]) * rng.uniform(30.0, 150.0)), 0.5
    manner = replace(
        drawn_manner(seed, swings=Swings.SIDEWAYS), turning=Turning(slope, Seconds(0.4)), lead_s=Seconds(0.1)
    )
    harmonics = PIZZICATO[Instrument.VIOLIN][name]
    clean = pluck(Hz(pitch), Seconds(0.9), RATE, harmonics=harmonics, manner=manner, seed=seed)
    sound = with_noise(clean, white_noise(clean.size, seed), 20.0, RATE, start_s=Seconds(0.1))
    turned = [
        reading
        for reading in PitchTracker(RATE, 130.0, 1319.0).feed(sound)
        if reading.time_s > begins + 0.2 and reading.drift_cents_per_s != 0.0
    ]
    off = [cents(r.frequency_hz, Hz(pitch)) - slope * (r.time_s - begins) for r in turned]
    return [abs(o) / r.std_error_cents for o, r in zip(off, turned, strict=True)][::3]


def test_the_error_stated_while_a_hand_turns_is_not_half_of_the_error_made():
    """A normal error lies within two standard errors in 95 % of cases (tables); within one of them, which is
    what two of half the size would be, in 68 %."""
    off = [
        one
        for seed in range(12)
        for pitch, name in ((196.0, "G3"), (659.26, "E5"))
        for one in off_while_turned(seed, pitch, name)
    ]
    assert len(off) >= 80
    assert float(np.mean(np.array(off) < 1.0)) > 0.5
    assert float(np.mean(np.array(off) < 2.0)) > 0.75


# Middle values of recorded plucks and of speech, as in the tests of what speaks for a string.
STRING = Marks(30.0, 20.0, 0.0, 0.2, 30.0, 20.0, 2.0, 1.5, 20.0, 0.0, 3.0, 0.1)
VOICE = replace(
    STRING, quiet_db=-5.0, comb_db=8.0, rising=0.6, growth_db=2.0, slope=400.0, misfit=9.0, sharp=12.0
)
DROWNED = replace(STRING, comb_db=-3.0)


@pytest.fixture
def judge(monkeypatch):
    """Judges a sounding by its marks, fit after fit."""

    def run(*marks, old=Judgement(), doubt=0.0, agreed=2, pitch=440.0, early_db=0.0):  # noqa: B008 - frozen
        known = SimpleNamespace(octave_doubt=doubt, agreed=agreed)
        note = SimpleNamespace(
            frequency_hz=pitch,
            settled=SimpleNamespace(std_error=1.0, now_cents=0.0),
            base=SimpleNamespace(frequency_hz=pitch),
            onset=SimpleNamespace(plucked=True),
        )
        monkeypatch.setattr(acceptance, "leap_db", lambda *_: 30.0)
        monkeypatch.setattr(acceptance, "early_growth_db", lambda *_: early_db)
        for one in marks:
            monkeypatch.setattr(acceptance, "marks_of", lambda *_, one=one: one)
            old = judged(old, note, known, None, None)
        return old

    return run


def test_a_string_is_believed_at_its_second_fit_in_a_row(judge):
    assert not judge(STRING).believed
    assert not judge(STRING, VOICE, STRING).believed
    assert judge(STRING, STRING).told


def test_fits_that_say_little_must_say_it_together(judge):
    little = replace(STRING, quiet_db=6.0)
    assert 2.4 < odds(little) < 3.0
    assert not judge(little, little).believed
    assert judge(little, little, little).believed
    assert not judge(little, VOICE, little).believed


@pytest.mark.parametrize(
    "unsure",
    [
        {"doubt": 0.31},  # of the octave
        {"agreed": 0},  # look at all
        {"agreed": 1, "doubt": 0.02},  # look only, and not quite clear
        {"pitch": 109.0},  # fewer than eleven periods in the 0.1 s of these marks
    ],
)
def test_what_may_be_another_octave_is_not_told_of_yet(judge, unsure):
    assert not judge(STRING, STRING, STRING, **unsure).believed
    assert judge(STRING, STRING, STRING, doubt=0.29, agreed=2, pitch=111.0).believed
    assert judge(STRING, STRING, STRING, doubt=0.009, agreed=1, pitch=111.0).believed


def test_several_strings_at_once_are_not_one(judge):
    assert not judge(*[replace(STRING, misfit=13.0, quiet_db=60.0)] * 4).believed


def test_a_voice_that_was_taken_for_a_string_is_let_go_after_three_fits(judge):
    believed = judge(STRING, STRING)
    assert not drowns(judge(VOICE, VOICE, old=believed))
    assert drowns(judge(VOICE, VOICE, VOICE, old=believed))
    assert not drowns(judge(VOICE, VOICE, STRING, VOICE, old=believed))


def test_a_string_that_drowns_in_the_room_is_let_go_after_three_fits(judge):
    believed = judge(STRING, STRING)
    assert not drowns(judge(DROWNED, DROWNED, old=believed))
    assert drowns(judge(DROWNED, DROWNED, DROWNED, old=believed))
    assert not drowns(judge(DROWNED, DROWNED, STRING, DROWNED, old=believed))


def test_what_looked_like_a_string_only_for_the_silence_before_it_decides_nothing(judge):
    """A lesson acts on errors of a few cents; the first word after a silence may look like a string."""
    word = replace(STRING, slope=120.0, misfit=4.0, sharp=8.0)
    assert judge(word, word).least_error >= 5.0
    assert judge(STRING, STRING).least_error == 0.0


def test_a_pluck_that_swells_is_a_bow_and_must_hold_its_pitch_first(judge):
    swelling = replace(STRING, growth_db=3.0)
    bowed = judge(swelling, swelling)
    assert (bowed.bowed, bowed.told) == (True, False)
    assert not judge(replace(swelling, age_s=0.29), old=bowed).told
    assert judge(replace(swelling, age_s=0.31), old=bowed).told
    assert not judge(replace(swelling, age_s=0.31), old=bowed, pitch=440.0 * 2 ** (40 / 1200)).told
    assert not judge(replace(swelling, age_s=0.31, strength=5.0), old=bowed).told


@pytest.mark.parametrize(("age_s", "bowed"), [(0.45, True), (0.55, False)])
def test_only_in_its_first_half_second_does_a_sound_that_swells_look_like_a_bows(judge, age_s, bowed):
    """Later two swings of a plucked string beat, which swells as well (Weinreich 1977)."""
    assert judge(STRING, STRING, replace(STRING, growth_db=3.0, age_s=age_s)).bowed is bowed


def test_what_begins_as_softly_as_a_syllable_must_hold_its_pitch_first(judge):
    softly = judge(STRING, STRING, early_db=8.0)
    assert (softly.bowed, softly.told) == (True, False)
    assert judge(replace(STRING, age_s=0.29), replace(STRING, age_s=0.31), old=softly).told
    assert judge(STRING, STRING, early_db=6.0).told
    low = replace(STRING, age_s=0.25)
    assert judge(
        low, low, early_db=8.0, pitch=70.0
    ).told  # seven periods of an octave below, of which none tells


# Partials of a recorded pluck of a steel string (a guitar's C5, slowed down to an A4) and the resonances of
# the body under it, as measured in its first 40 ms: number or Hz, level in dB, fall in dB a second.
PARTIALS = ((1, 0, 12), (2, -2, 90), (3, -13, 90), (4, -15, 70), (5, -9, 60), (7, -18, 60), (8, -23, 70))
RESONANCES = ((333, -2, 140), (256, -8, 130), (660, -8, 130), (1091, -22, 110))


def over_a_loud_body(fundamental: float, seed: int):
    """Two of the resonances lie where a string an octave lower would have its third and fifth partials."""
    rng, time = np.random.default_rng(seed), np.arange(round(1.2 * RATE)) / RATE
    waves = [(fundamental * k * np.sqrt(1.0 + 8e-5 * k * k), db, fall) for k, db, fall in PARTIALS]
    sound = np.zeros(time.size)
    for hz, level_db, falls in (*waves, *RESONANCES):
        phase = rng.uniform(0.0, 2.0 * np.pi)
        sound += 0.1 * 10.0 ** ((level_db - falls * time) / 20.0) * np.sin(2.0 * np.pi * hz * time + phase)
    quiet = np.zeros(round(0.15 * RATE))
    return (np.concatenate([quiet, sound]) + 1e-5 * rng.standard_normal(quiet.size + time.size)).astype(
        np.float32
    )


@pytest.mark.parametrize("seed", range(6))
def test_a_body_that_sounds_like_the_octave_below_leaves_no_sure_reading_of_it(seed):
    """Early on it may be taken for that; once a longer look contradicts it, every reading says so."""
    readings = PitchTracker(RATE, Hz(82.0), Hz(1319.0)).feed(over_a_loud_body(436.0, seed))
    late = [reading for reading in readings if reading.since_pluck_s > 0.35]
    assert len(late) >= 10
    wrong = [r for r in late if abs(cents(r.frequency_hz, Hz(436.0))) > 100.0]
    assert all(r.octave_doubt > 0.3 for r in wrong)
