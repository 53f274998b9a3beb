"""The settings on the box: every page can be reached and left, and nobody gets lost in them."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from device.config.settings import Cores, FineTuners, Settings, StringSet
from device.config.settings_table import SETTINGS
from device.controls.menu import (
    FROM_FILE,
    PRACTISE,
    Rules,
    act_in_menu,
    is_left_alone,
    menu_view,
    open_menu,
)
from device.controls.menu_pages import LESSON_PAGES, PAGES, TEACHER_PAGES
from device.events import Button, ChordHeld, Held, Pressed
from dsp import Hz, Instrument, Seconds
from tests.each import each

USUAL = Settings()
SMALL_FONT = 21  # characters of 6 pixels across 128
BIG_FONT = 10  # the same font doubled
NEXT, PREVIOUS, THIRD = Button


def harmless(_settings):
    return ()


RULES = Rules(USUAL, harmless)


def press(button):
    return Pressed(Seconds(1.0), button)


def hold(button):
    return Held(Seconds(1.0), button)


CHORD = ChordHeld(Seconds(1.0))


def after(*presses, settings=USUAL, rules=RULES, menu=None):
    menu = menu or open_menu(settings, Seconds(0.0))
    for one in presses:
        assert menu is not None, "it had left already"
        menu, settings = act_in_menu(menu, one, settings, rules)
    return menu, settings


def at_page(key, settings=USUAL, **others):
    return replace(open_menu(settings, Seconds(0.0)), page=key, **others)


def test_every_key_that_is_not_for_the_file_alone_has_a_page():
    assert sorted(page.key for page in PAGES) == sorted(
        key.name for key in SETTINGS.keys if not key.file_only
    )


def test_every_value_of_every_page_is_one_the_file_accepts():
    for page in each(PAGES):
        for value in each(page.values):
            written = SETTINGS.key(page.key).kind.written(value)
            assert SETTINGS.key(page.key).typed(written.strip('"')) == value, (page.key, value)


@pytest.mark.parametrize("instrument", Instrument)
def test_turning_pages_visits_each_once_and_comes_round_both_ways(instrument):
    settings = Settings(instrument=instrument)
    for button in (NEXT, PREVIOUS):
        for teacher, pages in ((False, LESSON_PAGES), (True, TEACHER_PAGES)):
            menu, seen = open_menu(settings, Seconds(0.0)), []
            menu, _ = after(CHORD, menu=menu, settings=settings) if teacher else (menu, settings)
            while menu.page not in seen:
                seen.append(menu.page)
                menu, _ = after(press(button), menu=menu, settings=settings)
            expected = {page.key for page in pages if page.applies(settings)} | (
                {FROM_FILE} if teacher else set(PRACTISE)
            )
            assert menu.page == seen[0]
            assert set(seen) == expected
            assert len(seen) == menu_view(menu, settings, RULES).count


def test_a_double_bass_has_no_page_of_fine_tuners_and_only_a_violin_one_of_its_e():
    keys = {i: {p.key for p in PAGES if p.applies(Settings(instrument=i))} for i in Instrument}
    assert "fine_tuners" not in keys[Instrument.DOUBLE_BASS]
    assert [i for i in Instrument if "string_set" in keys[i]] == [Instrument.VIOLIN]


@pytest.mark.parametrize("page", [page.key for page in PAGES] + [FROM_FILE])
@pytest.mark.parametrize("changing", [False, True])
@pytest.mark.parametrize("teacher", [False, True])
def test_every_page_can_be_left_by_holding_the_third_button_or_by_waiting(page, changing, teacher):
    menu = at_page(page, changing=changing, teacher=teacher)
    assert act_in_menu(menu, hold(THIRD), USUAL, RULES) == (None, USUAL)
    assert not is_left_alone(menu, Seconds(19.9))
    assert is_left_alone(menu, Seconds(20.0))


@pytest.mark.parametrize("page", PAGES, ids=[page.key for page in PAGES])
def test_a_teacher_reaches_every_value_of_every_page(page):
    settings = replace(USUAL, **{page.key: page.values[0]})
    reached = {page.values[0]}
    menu = at_page(page.key, settings, changing=True, teacher=True, shut=False)
    for _ in range(len(page.values) - 1):
        menu, settings = act_in_menu(menu, press(NEXT), settings, RULES)
        reached.add(getattr(settings, page.key))
    assert reached == set(page.values)
    for _ in range(len(page.values) - 1):
        menu, settings = act_in_menu(menu, press(PREVIOUS), settings, RULES)
    assert getattr(settings, page.key) == page.values[0]


def reachable(keys):
    """The keys of the pages among `keys` that can be turned to from home, without the chord and with it."""
    found = []
    for opening in ((), (CHORD,)):
        menu, seen = open_menu(USUAL, Seconds(0.0)), set()
        menu, _ = after(*opening, menu=menu) if opening else (menu, USUAL)
        while menu.page not in seen:
            seen.add(menu.page)
            menu, _ = after(press(NEXT), menu=menu)
        found.append(seen & keys)
    return found


def test_every_page_is_reached_by_the_buttons_and_what_is_a_teachers_only_after_the_chord():
    """Who may turn pegs, what the strings are made of, a lock: for nobody who does not hold both."""
    everybody, teacher = reachable({page.key for page in PAGES})
    assert everybody | teacher == {page.key for page in PAGES}
    assert not everybody & teacher
    assert {"pegs_by_grown_up", "cores", "by_ear", "locked", "order"} <= teacher


def test_the_chord_lets_the_teacher_choose_for_this_visit_only():
    menu, settings = after(CHORD, press(THIRD), press(NEXT), menu=open_menu(USUAL, Seconds(0.0)))
    assert settings.pegs_by_grown_up is False
    assert menu.teacher
    assert not open_menu(settings, Seconds(9.0)).teacher


@pytest.mark.parametrize("cores", list(Cores)[1:])
def test_a_teacher_tells_the_cores_at_the_wall_in_few_presses(cores):
    """Counted after the teacher's hold: to the page, to the value, and through the values."""
    assert presses_to("cores", cores, teacher=True) <= 4
    steel = Settings(cores=Cores.STEEL, pegs_by_grown_up=False)
    assert presses_to("cores", cores, steel, teacher=True) <= 4


def presses_to(key, value, start=USUAL, last=None, teacher=False):
    """The fewest presses of the real menu, from home, until a value is set; holds count as one each."""
    opened = open_menu(start, Seconds(0.0), last or LESSON_PAGES[0].key)
    if teacher:
        opened, _ = act_in_menu(opened, CHORD, start, RULES)
    seen, edge = {(opened, start)}, [(opened, start)]
    for count in range(0 if teacher else 1, 30):
        if any(getattr(settings, key) == value for _, settings in edge):
            return count
        following = []
        for menu, settings in edge:
            for one in (press(NEXT), press(PREVIOUS), press(THIRD)):
                reached = act_in_menu(menu, one, settings, RULES)
                if reached[0] is not None and reached not in seen:
                    seen.add(reached)
                    following.append(reached)
        edge = following
    raise AssertionError(f"{key} = {value} is out of reach")


def test_what_is_changed_from_pupil_to_pupil_takes_few_presses():
    """Counted on the real menu; opening the settings is one press, the teacher's hold is not counted."""
    assert presses_to("instrument", Instrument.VIOLA) <= 3
    assert presses_to("reference_hz", 442.0) <= 5
    assert presses_to("reference_hz", 442.0, last="reference_hz") <= 4
    assert presses_to("pegs_by_grown_up", False, teacher=True) <= 5
    assert presses_to("by_ear", True, teacher=True) <= 5
    assert (
        presses_to("instrument", Instrument.VIOLIN, Settings(instrument=Instrument.CELLO), teacher=True) <= 3
    )


def test_a_locked_box_opens_to_the_chord_alone():
    locked = Settings(locked=True)
    assert menu_view(open_menu(locked, Seconds(0.0)), locked, RULES).title == "Locked"
    for button in Button:
        for one in (press(button), hold(button)):
            assert after(one, settings=locked) == (None, locked)
    menu, _ = after(CHORD, settings=locked)
    assert not menu.shut
    assert menu.teacher
    assert not is_left_alone(open_menu(locked, Seconds(0.0)), Seconds(3.9))
    assert is_left_alone(open_menu(locked, Seconds(0.0)), Seconds(4.0))


def test_the_reference_goes_in_steps_of_1_hz_and_a_held_button_leaps_to_pitches_in_use():
    menu = at_page("reference_hz", changing=True)
    assert after(press(NEXT), press(NEXT), menu=menu)[1].reference_hz == 442.0
    assert after(hold(PREVIOUS), menu=menu)[1].reference_hz == 430.0
    assert after(hold(PREVIOUS), hold(PREVIOUS), menu=menu)[1].reference_hz == 415.0
    file = Settings(reference_hz=Hz(441.5))
    assert after(press(NEXT), menu=menu, settings=file)[1].reference_hz == 442.0
    assert after(press(PREVIOUS), menu=menu, settings=file)[1].reference_hz == 441.0


def test_numbers_stop_at_their_ends_and_say_so():
    top = Settings(reference_hz=Hz(480.0))
    menu = at_page("reference_hz", top, changing=True)
    assert after(press(NEXT), menu=menu, settings=top)[1] == top
    assert menu_view(menu, top, RULES).hints == ("less", "done", "end")


def test_a_value_that_would_break_a_string_is_not_offered():
    def refuse(settings):
        tight = settings.string_set is StringSet.PLAIN_GUT_E and settings.reference_hz > 443.0
        return ("a plain gut E is too tight there",) if tight else ()

    rules = Rules(USUAL, refuse)
    gut = Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(443.0))
    menu = at_page("reference_hz", gut, changing=True)
    assert after(press(NEXT), menu=menu, settings=gut, rules=rules)[1] == gut
    assert menu_view(menu, gut, rules).hints == ("less", "done", "limit")


def test_back_to_the_file_takes_every_change_back():
    file = Settings(instrument=Instrument.VIOLA, fine_tuners=FineTuners.NONE)
    rules = Rules(file, harmless)
    changed = replace(file, reference_hz=Hz(415.0), left_handed=True)
    menu = at_page(FROM_FILE, changed, teacher=True)
    assert menu_view(menu, changed, rules).value == "changed"
    assert after(press(NEXT), menu=menu, settings=changed, rules=rules)[1] == changed  # only a page turned
    menu, settings = after(press(THIRD), press(NEXT), menu=menu, settings=changed, rules=rules)
    assert settings == file
    assert menu_view(menu, settings, rules).value == "as it is"


def test_a_page_fits_the_panel_in_all_its_values():
    for page in each(PAGES):
        for value in each(page.values):
            settings = replace(USUAL, **{page.key: value})
            for menu in (at_page(page.key), at_page(page.key, changing=True, teacher=True)):
                shown = menu_view(menu, settings, RULES)
                assert 0 < len(shown.title) <= SMALL_FONT - len(" 16/16")
                assert 0 < len(shown.value) <= SMALL_FONT
                assert all(0 < len(hint) <= 7 for hint in shown.hints)


def test_what_most_players_change_is_shown_in_big_letters():
    for key in ("instrument", "size", "reference_hz", "temperament", "left_handed"):
        page = next(page for page in PAGES if page.key == key)
        assert all(
            len(page.words(value)) <= BIG_FONT + (value is Instrument.DOUBLE_BASS) for value in page.values
        )


some_press = st.one_of(
    st.builds(press, st.sampled_from(Button)), st.builds(hold, st.sampled_from(Button)), st.just(CHORD)
)


@given(st.lists(some_press, max_size=60), st.booleans())
def test_whatever_is_pressed_one_held_button_leads_home_and_the_settings_stay_sound(presses, locked):
    settings = Settings(locked=locked)
    menu = open_menu(settings, Seconds(0.0))
    for one in presses:
        menu, settings = act_in_menu(menu, one, settings, RULES)
        if menu is None:
            menu = open_menu(settings, Seconds(0.0))
        assert menu_view(menu, settings, RULES).position < menu_view(menu, settings, RULES).count
    assert act_in_menu(menu, hold(THIRD), settings, RULES)[0] is None
    for key in SETTINGS.keys:
        value = getattr(settings, key.name)
        assert key.kind.written(value)
