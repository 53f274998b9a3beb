"""Which settings hold when the file, the buttons and the limits of a string disagree."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.config.config_tables import parse_tables
from device.config.saved_settings import SavedSettings, changes_to_save, to_text
from device.config.settings import Settings, StringSet
from device.config.settings_layers import LayeredSettings, layer_settings, with_usual_strings
from dsp import Hz, Instrument


def tight(settings):
    """A stand-in for the limits: gut above 443 Hz."""
    too_high = settings.string_set is StringSet.PLAIN_GUT_E and settings.reference_hz > 443.0
    return ("E at 698 Hz is too tight.",) if too_high else ()


def file(text):
    return parse_tables(text)[0]


def test_without_a_word_the_usual_settings_hold():
    found = layer_settings({}, None, tight)
    assert found == LayeredSettings(Settings(), Settings(), SavedSettings(), ())


def test_the_buttons_win_over_the_file_and_the_file_over_the_usual():
    tables = file('[settings]\ninstrument = "viola"\nreference_hz = 442\n')
    changed = to_text(SavedSettings({"reference_hz": Hz(415.0)}))
    found = layer_settings(tables, changed, tight)
    assert found.settings == Settings(instrument=Instrument.VIOLA, reference_hz=Hz(415.0))
    assert found.from_file == Settings(instrument=Instrument.VIOLA, reference_hz=Hz(442.0))


def test_a_file_that_would_break_a_string_holds_in_all_but_what_strains_it():
    tables = file('[settings]\nstring_set = "plain-gut-e"\nreference_hz = 466\nleft_handed = true\n')
    found = layer_settings(tables, None, tight)
    assert found.settings == Settings(left_handed=True)
    assert found.refusals == ("E at 698 Hz is too tight.",)


def test_a_change_that_would_break_a_string_under_a_new_file_is_dropped():
    """The buttons chose 466 Hz; later somebody wrote gut strings into the file."""
    changed = to_text(changes_to_save(Settings(reference_hz=Hz(466.0)), Settings(), SavedSettings()))
    found = layer_settings(file('[settings]\nstring_set = "plain-gut-e"\n'), changed, tight)
    assert found.settings == Settings(string_set=StringSet.PLAIN_GUT_E)
    assert found.saved == SavedSettings()
    assert found.refusals == ("E at 698 Hz is too tight.",)


def test_every_mistake_is_told_once():
    tables = file("[settings]\nreference_hz = 44\nbrightnes_percent = 3\n")
    found = layer_settings(tables, "garbage", tight)
    assert found.settings == Settings()
    assert len(found.refusals) == 3


@pytest.mark.parametrize("settings", ["loud", 3, [], True])
def test_anything_in_place_of_the_table_is_refused(settings):
    found = layer_settings({"settings": settings}, None, tight)
    assert found.settings == Settings()
    assert "is not a table" in found.refusals[0]


def test_what_is_without_strain_is_never_refused():
    assert tight(with_usual_strings(Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(466.0)))) == ()


@given(st.text(), st.none() | st.text())
def test_no_text_keeps_the_box_from_starting(file_text, kept_text):
    found = layer_settings(file(file_text), kept_text, tight)
    assert tight(found.settings) == ()
