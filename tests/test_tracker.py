"""The tracker as the wall uses it: what it reads, and what it does not."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    PitchTracker,
    Reading,
    Samples,
    Seconds,
    cents,
    shifted,
    string_frequencies,
    tracking_range,
)
from dsp.synthesis import (
    PIZZICATO,
    Bowing,
    Manner,
    Swings,
    Turning,
    bowed,
    drawn_manner,
    outside_stretch,
    pink_noise,
    pluck,
    white_noise,
    with_noise,
)

RATE = 48000
LEAD = Seconds(0.2)
VIOLIN = Instrument.VIOLIN
STRINGS = [(instrument, string.name) for instrument in Instrument for string in OPEN_STRINGS[instrument]]


def limits(instrument: Instrument = VIOLIN) -> tuple[Hz, Hz]:
    return tracking_range(string_frequencies(OPEN_STRINGS[instrument], Hz(440.0)))


def open_hz(name: str, instrument: Instrument = VIOLIN) -> Hz:
    strings = OPEN_STRINGS[instrument]
    return string_frequencies(strings, Hz(440.0))[[s.name for s in strings].index(name)]


def read(
    sound: Samples, instrument: Instrument = VIOLIN, block: int = 480, rate: float = RATE
) -> list[Reading]:
    tracker = PitchTracker(rate, *limits(instrument))
    return [r for i in range(0, sound.size, block) for r in tracker.feed(sound[i : i + block])]


def note(
    name: str, manner: Manner, instrument: Instrument = VIOLIN, snr_db: float = 20.0, seed: int = 1
) -> tuple[Samples, Hz]:
    """A pluck after a lead of room noise, up to 50 cents out of tune, and its pitch."""
    detuned = Cents(float(np.random.default_rng(seed).uniform(-50.0, 50.0)))
    frequency = shifted(open_hz(name, instrument), detuned)
    manner = replace(manner, lead_s=LEAD)
    harmonics = PIZZICATO[instrument][name]
    clean = pluck(frequency, Seconds(0.8), RATE, harmonics=harmonics, manner=manner, seed=seed)
    return with_noise(clean, white_noise(clean.size, seed), snr_db, RATE, start_s=LEAD), frequency


# -- octaves and cents

# per instrument: seconds after the pluck from which a reading is due, and limits in cents from then on: of
# every reading beyond twice its stated error, and of the last one beyond its stated error, outside the
# stretch of the two swings.
# Two looks and seven periods of the octave below are waited for: 14 / 41 s on the lowest string of the bass.
DUE = {
    VIOLIN: (0.1, 14.0, 0.5),
    Instrument.VIOLA: (0.14, 14.0, 0.5),
    Instrument.CELLO: (0.24, 14.0, 0.7),
    Instrument.DOUBLE_BASS: (0.38, 12.0, 0.7),
}


@pytest.mark.parametrize(("instrument", "name"), STRINGS, ids=lambda v: getattr(v, "value", v))
def test_a_plucked_open_string_is_read_in_its_octave_soon_and_ever_better(instrument, name):
    due, rough, fine = DUE[instrument]
    for seed in range(60, 63):
        manner = drawn_manner(seed)
        sound, frequency = note(name, manner, instrument, seed=seed)
        readings = read(sound, instrument)
        assert readings[0].time_s - LEAD <= due
        off = [abs(outside_stretch(r.frequency_hz, frequency, manner)) for r in readings]
        assert max(o - 2.0 * r.std_error_cents for o, r in zip(off, readings, strict=True)) < rough
        assert off[-1] < fine + readings[-1].std_error_cents
        assert {r.pluck for r in readings} == {1}
        assert max(r.octave_doubt for r in readings) < 0.2
        assert 18 <= len(readings) / (readings[-1].time_s - readings[0].time_s) <= 60


def octave_errors(name: str, count: int, snr_db: float) -> int:
    wrong = 0
    for seed in range(count):
        sound, frequency = note(name, drawn_manner(seed), snr_db=snr_db, seed=seed)
        readings = read(sound[: round(0.55 * RATE)])
        wrong += not readings or any(abs(cents(r.frequency_hz, frequency)) > 60.0 for r in readings)
    return wrong


@pytest.mark.parametrize("name", ["G3", "D4", "A4", "E5"])
def test_no_pluck_of_a_violin_string_is_read_in_another_octave(name):
    assert octave_errors(name, 12, 20.0) == 0


@pytest.mark.heavy
@pytest.mark.parametrize("snr_db", [10.0, 20.0])
@pytest.mark.parametrize("name", ["G3", "D4", "A4", "E5"])
def test_no_pluck_in_a_thousand_is_read_in_another_octave(name, snr_db):
    assert octave_errors(name, 1000, snr_db) == 0


@pytest.mark.parametrize("point", [0.1, 0.33, 0.5])
@pytest.mark.parametrize(("decay", "inharmonicity"), [(1.0, 5.7e-5), (4.0, 5.7e-5), (1.0, 5.7e-4)])
def test_pluck_point_dullness_and_small_sizes_move_no_octave(point, decay, inharmonicity):
    manner = replace(drawn_manner(71), point=point, decay_factor=decay, inharmonicity=inharmonicity)
    for name in ("G3", "E5"):
        sound, frequency = note(name, manner, seed=71)
        readings = [r for r in read(sound) if r.since_pluck_s > 0.15]
        assert readings
        off = [abs(outside_stretch(r.frequency_hz, frequency, manner)) for r in readings]
        # a dull string drowns in the room's noise by half a second, and its readings own to that
        assert max(o - r.std_error_cents for o, r in zip(off, readings, strict=True)) < 0.5
        assert max(off) < 10.0


@pytest.mark.parametrize("interval", [-1200.0, -702.0, 300.0])
def test_a_string_far_from_its_note_is_read_where_it_is(interval):
    frequency = shifted(open_hz("D4"), Cents(interval))
    sound = pluck(frequency, Seconds(0.6), RATE, harmonics=PIZZICATO[VIOLIN]["D4"])
    readings = read(sound)
    assert readings
    assert max(abs(cents(r.frequency_hz, frequency)) for r in readings) < 15.0


@pytest.mark.parametrize("frequency", [41.2, 65.4, 80.0, 1350.0, 1760.0, 2637.0])
def test_a_pitch_outside_the_range_gets_no_reading(frequency):
    sound = pluck(Hz(frequency), Seconds(0.6), RATE, harmonics=PIZZICATO[VIOLIN]["A4"])
    assert read(sound) == []


@pytest.mark.parametrize("rate", [8000, 11025, 22050, 44100, 96000, 192000])
def test_every_sample_rate_gives_the_same_pitch(rate):
    sound = pluck(
        Hz(196.0), Seconds(0.5), rate, manner=Manner(swings=Swings.SIDEWAYS, glide_cents=Cents(0.0))
    )
    readings = read(sound, rate=rate, block=rate // 100)
    assert readings
    assert abs(cents(readings[-1].frequency_hz, Hz(196.0))) < 0.05
    assert readings[-1].time_s <= 0.5


# -- honesty


def test_the_error_it_states_is_the_error_it_makes():
    """A normal error lies within one standard error in 68 % of cases, within two in 95 % (tables)."""
    sure = []
    for seed in range(30):
        for name in ("G3", "E5"):
            sound, frequency = note(name, drawn_manner(seed, swings=Swings.SIDEWAYS), seed=seed)
            last = read(sound[: round(0.65 * RATE)])[-1]
            sure.append(abs(cents(last.frequency_hz, frequency)) / last.std_error_cents)
    assert float(np.mean(np.array(sure) < 1.0)) > 0.5  # a start that may sink for a second is allowed for
    assert float(np.mean(np.array(sure) < 2.0)) > 0.85


# -- a string that is being turned


@pytest.mark.parametrize("slope", [-200.0, -50.0, 50.0, 200.0])
def test_a_string_being_turned_is_followed(slope):
    turning = Turning(slope, Seconds(0.4))
    frequency = open_hz("A4")
    sound = pluck(frequency, Seconds(0.9), RATE, manner=Manner(turning=turning))
    late = [r for r in read(sound) if r.since_pluck_s > 0.6]
    assert late
    for r in late:
        assert r.drift_cents_per_s == pytest.approx(slope, rel=0.3)
        assert abs(cents(r.frequency_hz, frequency) - slope * (r.since_pluck_s - 0.4)) < 0.05 * abs(slope)


def test_nothing_is_said_to_turn_where_nobody_turns():
    for name in ("G3", "E5"):
        sound, _ = note(name, drawn_manner(5))
        assert {r.drift_cents_per_s for r in read(sound)} == {0.0}


def test_a_wobble_is_not_a_turn():
    sound, _ = note("A4", Manner(wobble_cents=Cents(3.0), wobble_hz=5.0))
    drifts = [abs(r.drift_cents_per_s) for r in read(sound) if r.since_pluck_s > 0.4]
    assert sum(d > 20.0 for d in drifts) <= 0.1 * len(drifts)


# -- soundings


def test_plucks_are_counted():
    one = pluck(open_hz("A4"), Seconds(0.7), RATE, seed=1)
    two = pluck(open_hz("D4"), Seconds(0.7), RATE, seed=2)
    readings = read(np.concatenate([one, two, one]))
    assert [r.pluck for r in readings] == sorted(r.pluck for r in readings)
    assert {r.pluck for r in readings} == {1, 2, 3}
    heard = {r.pluck: r.frequency_hz for r in readings}
    assert abs(cents(heard[2], open_hz("D4"))) < 5.0


def test_the_same_string_plucked_again_is_a_new_sounding():
    once = pluck(open_hz("A4"), Seconds(1.6), RATE)
    again = np.concatenate([np.zeros(round(0.8 * RATE), np.float32), once])[: once.size]
    readings = read(once + again)
    assert {r.pluck for r in readings} == {1, 2}
    assert min(r.time_s for r in readings if r.pluck == 2) < 0.9


def test_strokes_of_the_bow_are_read_and_counted():
    bowing = Bowing(changes_s=(1.2,), lead_s=LEAD, sway_cents=Cents(1.0))
    readings = read(bowed(open_hz("D4"), Seconds(2.0), RATE, bowing=bowing))
    assert {r.pluck for r in readings} == {1, 2}
    assert max(abs(cents(r.frequency_hz, open_hz("D4"))) for r in readings) < 8.0


def test_a_neighbour_who_plucks_the_same_string_softly_is_not_taken_for_ours():
    ours = pluck(open_hz("A4"), Seconds(4.0), RATE)
    soft = Manner(lead_s=Seconds(2.5), level_dbfs=-32.0)
    theirs = pluck(shifted(open_hz("A4"), Cents(35.0)), Seconds(4.0), RATE, manner=soft)
    readings = read(ours + theirs + 1e-4 * white_noise(ours.size, 1))
    assert {r.pluck for r in readings} == {1}
    assert max(abs(cents(r.frequency_hz, open_hz("A4"))) for r in readings) < 12.0


def test_readings_end_when_the_string_is_stopped():
    sound = pluck(open_hz("A4"), Seconds(1.5), RATE, manner=Manner(damped_at_s=Seconds(0.5)))
    assert read(sound + 1e-3 * white_noise(sound.size, 1))[-1].time_s < 0.9


# -- what is no string


def hum(mains_hz: float, size: int) -> Samples:
    time = np.arange(size) / RATE
    return np.asarray(
        sum(0.05 / k * np.sin(2 * np.pi * k * mains_hz * time + k) for k in range(1, 12)), np.float32
    )


QUIET = {
    "silence": np.zeros(2 * RATE, np.float32),
    "a constant": np.full(2 * RATE, 0.5, np.float32),
    "full scale": np.ones(2 * RATE, np.float32),
    "not a number": np.full(2 * RATE, np.nan, np.float32),
    "infinity": np.full(2 * RATE, np.inf, np.float32),
    "white noise": np.float32(0.1) * white_noise(6 * RATE, 81),
    "loud white noise, clipped": np.clip(white_noise(4 * RATE, 82), -1.0, 1.0),
    "pink noise": np.float32(0.1) * pink_noise(6 * RATE, 83),
    "50 Hz hum": hum(50.0, 4 * RATE),
    "60 Hz hum": hum(60.0, 4 * RATE),
    "100 Hz hum of a rectifier": hum(100.0, 4 * RATE),
}


@pytest.mark.parametrize("instrument", [VIOLIN, Instrument.DOUBLE_BASS], ids=lambda i: i.value)
@pytest.mark.parametrize("sound", QUIET.values(), ids=QUIET)
def test_what_is_no_string_gets_no_reading(sound, instrument):
    assert read(sound, instrument) == []


def test_knocks_get_no_reading():
    rng = np.random.default_rng(84)
    sound = 1e-4 * white_noise(8 * RATE, 84)
    for start in range(RATE // 2, 7 * RATE, RATE // 2):
        time = np.arange(RATE // 4) / RATE
        body = rng.standard_normal(time.size) * np.exp(-time / 0.01)
        for _ in range(3):
            body += np.exp(-time / rng.uniform(0.005, 0.02)) * np.sin(
                2 * np.pi * rng.uniform(100, 900) * time
            )
        sound[start : start + time.size] += np.float32(0.1) * body.astype(np.float32)
    assert read(sound) == []


def test_a_pitch_that_runs_like_a_voice_gets_no_sure_reading():
    """A voice: harmonics under a vowel, swelling, gliding half an octave in half a second."""
    time = np.arange(RATE // 2) / RATE
    cycles = np.cumsum(160.0 * np.exp2(time)) / RATE
    swell = np.sin(np.pi * time / 0.5)
    voice = sum(
        np.exp(-0.5 * ((160 * k - 700) / 500) ** 2) * np.sin(2 * np.pi * k * cycles) for k in range(1, 20)
    )
    sound = np.concatenate([np.zeros(RATE // 4), 0.1 * swell * voice] * 4).astype(np.float32)
    assert [r for r in read(sound) if r.std_error_cents < 5.0 and r.octave_doubt < 0.5] == []


# -- the stream


def test_every_block_length_gives_the_same_readings():
    sound, _ = note("G3", Manner())
    assert read(sound, block=1 << 20) == read(sound, block=64) == read(sound, block=1001) != []


def test_what_it_is_fed_is_left_alone():
    sound, _ = note("G3", Manner())
    sound[100] = np.nan
    kept = sound.copy()
    sound.setflags(write=False)
    read(sound)
    assert np.array_equal(sound, kept, equal_nan=True)


def test_a_gap_of_numbers_that_are_none_counts_as_silence():
    sound, frequency = note("A4", Manner())
    sound[RATE // 2 : RATE // 2 + 48] = np.nan
    sound[RATE // 2 + 2000] = np.inf
    readings = read(sound)
    assert all(math.isfinite(r.frequency_hz) for r in readings)
    assert abs(cents(readings[-1].frequency_hz, frequency)) < 3.0


def test_clipping_moves_no_pitch():
    sound, frequency = note("A4", Manner())
    readings = read(np.clip(4.0 * sound, -0.2, 0.2))
    assert abs(cents(readings[-1].frequency_hz, frequency)) < 1.5


def test_nothing_fed_is_nothing_read():
    assert PitchTracker(RATE, *limits()).feed(np.zeros(0, np.float32)) == []


def test_more_than_one_channel_is_refused():
    with pytest.raises(ValueError, match="feed one channel"):
        PitchTracker(RATE, *limits()).feed(np.zeros((480, 2), np.float32))


@pytest.mark.parametrize(
    ("rate", "lowest", "highest", "words"),
    [
        (4000, 82.0, 1319.0, "sample rate"),
        (384000, 82.0, 1319.0, "sample rate"),
        (math.nan, 82.0, 1319.0, "sample rate"),
        (48000, 5.0, 1319.0, "pitch range"),
        (48000, 500.0, 400.0, "pitch range"),
        (48000, 82.0, math.inf, "pitch range"),
        (8000, 82.0, 2637.0, "quarter of the sample rate"),
    ],
)
def test_a_rate_or_range_it_cannot_use_is_refused_in_a_sentence(rate, lowest, highest, words):
    with pytest.raises(ValueError, match=words):
        PitchTracker(rate, lowest, highest)
