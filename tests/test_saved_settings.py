"""What was changed with the buttons comes back after a power cut, or the file holds."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.config.saved_settings import SavedSettings, changes_to_save, from_text, to_text, with_changes
from device.config.settings import Order, Settings
from device.controls.menu_pages import PAGES
from dsp import Hz, Instrument, OpenString
from tests.each import each

FILE = Settings(reference_hz=Hz(442.0), rest_minutes=10)
CHANGED = Settings(
    instrument=Instrument.CELLO, reference_hz=Hz(415.0), rest_minutes=10, order=Order.A_FIRST, locked=True
)
UNREADABLE = ("what was changed with the buttons cannot be read again; the settings file holds",)


def test_what_was_changed_comes_back_and_wins_over_the_file():
    text = to_text(changes_to_save(CHANGED, FILE, SavedSettings()))
    found, refusals = from_text(text)
    assert refusals == ()
    assert with_changes(found, FILE) == CHANGED
    assert "rest_minutes" not in text  # as in the file: a later change of the file counts


def test_what_was_not_changed_follows_the_file():
    found, _ = from_text(to_text(changes_to_save(CHANGED, FILE, SavedSettings())))
    assert with_changes(found, Settings(rest_minutes=30)).rest_minutes == 30


def test_back_to_the_file_keeps_nothing():
    assert changes_to_save(FILE, FILE, SavedSettings({"rest_minutes": 3})) == SavedSettings()


def test_every_value_of_every_page_comes_back():
    for page in each(PAGES):
        for value in each(page.values):
            settings = Settings(**{page.key: value})
            found, refusals = from_text(to_text(changes_to_save(settings, Settings(), SavedSettings())))
            assert refusals == ()
            assert with_changes(found, Settings()) == settings, (page.key, value)


def test_a_text_cut_off_anywhere_is_whole_or_nothing():
    """A power cut while it is written; the part that writes it also replaces it whole or not at all."""
    text = to_text(changes_to_save(CHANGED, FILE, SavedSettings()))
    for length in range(len(text)):
        found, refusals = from_text(text[:length])
        if found != from_text(text)[0]:
            assert (found, refusals) == (SavedSettings(), UNREADABLE), length
    assert from_text(text[:-8])[0] == SavedSettings()


def test_a_newer_boxs_keys_are_kept_for_it_and_otherwise_ignored():
    newer = (
        'version = 7\nextra = "x"\n[changed]\nreference_hz = 415\nhumidity_percent = 40\n'
        'scales = ["G", "D"]\nodd = { a = 1 }\n"a b" = 1.5\n[end]\n'
    )
    found, refusals = from_text(newer)
    assert refusals == ()
    assert with_changes(found, Settings()) == Settings(reference_hz=Hz(415.0))
    again = tomllib.loads(to_text(changes_to_save(Settings(rest_minutes=3), Settings(), found)))
    assert again["changed"] == {"rest_minutes": 3, "humidity_percent": 40, "scales": ["G", "D"], "a b": 1.5}


def test_an_older_boxs_value_that_is_no_longer_known_is_left_out_with_a_sentence():
    older = 'version = 0\n[changed]\norder = "by-name"\nreference_hz = 500\ntone_dbfs = -20\n[end]\n'
    found, refusals = from_text(older)
    assert with_changes(found, Settings()) == Settings(tone_dbfs=-20.0)
    assert len(refusals) == 2
    assert refusals[0].startswith('changed with the buttons: order = "by-name" is not one of')
    assert "500 is outside 380 to 480 Hz" in refusals[1]


def test_retuned_strings_of_the_file_can_be_overruled_by_nothing_kept():
    five = tuple(OpenString.named(name) for name in ("C3", "G3", "D4", "A4", "E5"))
    file = Settings(retuned=five)
    assert (
        with_changes(from_text(to_text(changes_to_save(file, file, SavedSettings())))[0], file).retuned
        == five
    )


@pytest.mark.parametrize(
    "garbage", ["", "\x00" * 300, "changed = 3\n[end]", "[changed]\n[[end", "[end]\n", "\ufffd" * 99]
)
def test_garbage_is_one_sentence_and_the_file_holds(garbage):
    assert from_text(garbage) == (SavedSettings(), UNREADABLE)


@given(st.text())
def test_any_text_is_read_or_left(text):
    found, _ = from_text(text)
    assert isinstance(with_changes(found, FILE), Settings)


@given(st.integers(0, 400), st.characters())
def test_a_flipped_character_never_stops_the_box(place, character):
    text = to_text(changes_to_save(CHANGED, FILE, SavedSettings()))
    place %= len(text)
    found, _ = from_text(text[:place] + character + text[place + 1 :])
    assert isinstance(with_changes(found, FILE), Settings)
    assert from_text(to_text(found))[0] == found
