"""Settings: every field can be written in the file, with limits of the trade."""

import itertools
from dataclasses import fields

import pytest

from device.config.config_tables import parse_tables, read_table, table_text
from device.config.practice_settings import CountStep, ReadStep
from device.config.settings import Order, Settings, Tolerance, Tone
from device.config.settings_table import SETTINGS
from dsp import Hz, Instrument, OpenString, PitchTracker, Temperament
from tests.each import each


def test_every_field_has_a_key_with_the_same_default():
    assert [key.name for key in SETTINGS.keys] == [field.name for field in fields(Settings)]
    assert SETTINGS.build(**{key.name: key.default for key in SETTINGS.keys}) == Settings()


def test_each_default_is_a_value_its_key_accepts():
    for key in each(SETTINGS.keys):
        found, _ = parse_tables(key.written(key.default))
        assert key.value(found[key.name]) == key.default, key.name


def test_settings_written_read_back_the_same():
    strings = tuple(OpenString.named(name) for name in ("C3", "G3", "D4", "A4", "E5"))
    settings = Settings(
        instrument=Instrument.VIOLA,
        retuned=strings,
        reference_hz=Hz(442.5),
        temperament=Temperament.PURE,
        order=Order.A_FIRST,
        tone=Tone.FIFTH,
        tolerance=Tolerance.FINE,
        clock_ppm=-87.5,
        locked=True,
    )
    found, refusals = parse_tables(table_text(SETTINGS, settings))
    assert refusals == ()
    assert read_table(SETTINGS, found["settings"]) == (settings, ())


def test_a_reference_out_of_range_is_refused_as_the_design_says():
    settings, refusals = read_table(SETTINGS, {"reference_hz": 44})
    assert refusals == ("reference_hz = 44 is outside 380 to 480 Hz; did you mean 440?",)
    assert settings.reference_hz == 440.0


@pytest.mark.parametrize("hz", [380, 392, 415, 430, 440, 441.5, 442, 443, 466, 480])
def test_reference_pitches_in_use_are_accepted(hz):
    # design facts of the trade: 392 to 466 in use, 380 to 480 accepted
    settings, refusals = read_table(SETTINGS, {"reference_hz": hz})
    assert refusals == ()
    assert settings.targets["A4"] == hz


def test_a_tone_is_never_asked_for_above_minus_12_dbfs():
    settings, refusals = read_table(SETTINGS, {"tone_dbfs": -6})
    assert settings.tone_dbfs == -18.0
    assert refusals == ("tone_dbfs = -6 is outside -40 to -12 dBFS; -12 works",)


def test_five_strings_come_through_the_file():
    settings, refusals = read_table(SETTINGS, {"retuned": ["C3", "G3", "D4", "A4", "E5"]})
    assert refusals == ()
    assert list(settings.targets) == ["C3", "G3", "D4", "A4", "E5"]


NAMES = [f"{letter}{octave}" for octave in range(3) for letter in ("C", "D", "E", "F", "G", "A", "B")]


def test_no_retuned_string_is_so_low_that_nothing_could_be_heard():
    """B0 is the lowest of a five-string double bass (common practice); a lower one would end the box."""
    accepted = []
    for name, reference in itertools.product(NAMES, (380.0, 440.0, 480.0)):
        settings, refused = read_table(SETTINGS, {"retuned": [name, "E4", "A4"], "reference_hz": reference})
        if not refused:
            accepted.append(name)
            PitchTracker(48000.0, *settings.tracking_range)
    assert sorted(set(NAMES) - set(accepted)) == ["A0", "C0", "D0", "E0", "F0", "G0"]


def test_a_string_that_is_too_low_is_refused_in_a_sentence():
    _, refused = read_table(SETTINGS, {"retuned": ["F0", "C1", "G1"]})
    assert "begins with F0, and no string can be lower than B0; write 3 to 6 notes" in refused[0]


def test_how_near_is_right_is_what_the_file_says_of_it():
    assert {one.value: one.cents for one in Tolerance} == {"beginner": 8.0, "usual": 5.0, "fine": 2.0}


@pytest.mark.parametrize("steps", [ReadStep, CountStep])
def test_the_steps_of_a_practice_follow_each_other_and_the_last_stays(steps):
    names = [next(iter(steps))]
    while names[-1].next is not names[-1]:
        names.append(names[-1].next)
    assert names == list(steps)


@pytest.mark.parametrize(
    ("bpm", "works"), [(615, "160 works"), (6, "did you mean 60"), (0.61, "did you mean 61")]
)
def test_a_whole_number_is_never_guessed_to_have_a_fraction(bpm, works):
    _, refused = read_table(SETTINGS, {"tempo_bpm": bpm})
    assert works in refused[0]
    assert len(refused) == 1
