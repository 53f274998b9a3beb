"""The safety monitor's edges: what is one sounding, and how long it remembers."""

import math
from dataclasses import replace

import pytest

from device.config.settings import Cores, Settings, Size
from device.instrument.pitch_bounds import Bound
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.safety.monitor import in_danger, passed
from device.safety.string_bounds import Watch, after_hearing, literal, watching
from dsp import Cents, Hz, shifted
from tests.coaching import read_as, turn_advice
from tests.each import each

VIOLIN = Settings(size=Size.FULL, cores=Cores.SYNTHETIC, pegs_by_grown_up=False)
STRUNG = strung(VIOLIN)
A4 = STRUNG.of("A4").target_hz
HEARD_BEFORE_A_TURN = 16  # soundings that a roll call needs at the most, four strings four times


def heard(watch: Watch, hz: Hz, pluck: int, at: float) -> Watch:
    return after_hearing(watch, STRUNG, read_as(hz, at, pluck, 0.3, std_error_cents=Cents(0.0)), "A4")


@pytest.mark.parametrize(("jump", "one_string"), [(59.5, True), (60.5, False), (-59.5, True), (-60.5, False)])
def test_a_pitch_that_jumps_by_60_cents_within_one_sounding_is_not_one_strings(jump, one_string):
    first = heard(watching(STRUNG.names), A4, 1, 1.0)
    assert [hz for *_, hz in first.roll] == [A4]
    moved = shifted(A4, Cents(jump))
    second = heard(first, moved, 1, 1.2)
    assert [hz for *_, hz in second.roll] == ([moved] if one_string else [])
    third = heard(second, A4, 1, 1.4)  # nothing more of that sounding is believed
    assert len(third.roll) == one_string


def test_sixteen_soundings_since_the_last_turn_are_remembered_and_the_oldest_go_first():
    watch = watching(STRUNG.names)
    for number in each(range(1, HEARD_BEFORE_A_TURN + 3)):
        watch = heard(watch, A4, number, float(number))
        assert [entry[0] for entry in watch.roll][-1] == number
    assert [entry[0] for entry in watch.roll] == list(range(3, HEARD_BEFORE_A_TURN + 3))


def standing(**off: float) -> Watch:
    """All strings heard in sounding 7, at their notes or so many cents off."""
    bounds = []
    for string in STRUNG.strings:
        hz = shifted(string.target_hz, Cents(off.get(string.name, 0.0)))
        bounds.append(Bound(string.name, hz, shifted(hz, Cents(-350.0)), pluck=7))
    return Watch(tuple(bounds), pluck=7)


@pytest.mark.parametrize(("sharp", "held"), [(209.5, False), (210.5, True)])
def test_two_hundred_and_ten_cents_above_its_place_is_too_sharp_for_any_tightening(sharp, held):
    hair = turn_advice("G3", TuningPart.FINE_TUNER, Direction.TIGHTEN, Amount.A_HAIR, VIOLIN)
    assert (in_danger(standing(D4=sharp), STRUNG, hair) == ("D4",)) is held


@pytest.mark.parametrize("say", [Say.PLUCK, Say.RIGHT, Say.GROWN_UP, Say.WAIT])
def test_a_picture_without_a_turn_counts_for_nothing(say):
    asks_nothing, watch = Advice(say, string="A4"), standing()
    assert literal(asks_nothing, STRUNG) == (0.0, 0.0)
    assert passed(watch, STRUNG, asks_nothing) == (asks_nothing, watch)


def near_breaking(name: str) -> Cents:
    """So far off that a string carries nine tenths of its least breaking load, which goes with the square."""
    string = STRUNG.of(name)
    return Cents(600.0 * math.log2(0.9 / string.load_at(string.target_hz)))


def test_stop_is_shown_once_for_each_string_however_many_others_had_theirs():
    """After it the string is let down, which a second STOP would keep from being shown."""
    watch = standing(A4=near_breaking("A4"), E5=near_breaking("E5"))
    shown = []
    for number, name in each([(8, "A4"), (9, "E5"), (10, "A4"), (11, "E5")]):
        heard_now = replace(watch.of(name), pluck=number)
        watch = replace(watch.knowing(heard_now), pluck=number)
        advice, watch = passed(watch, STRUNG, Advice(Say.PLUCK, string=name))
        shown.append((advice.string, advice.warning))
    assert shown == [("A4", Alarm.STOP), ("E5", Alarm.STOP), ("A4", None), ("E5", None)]
