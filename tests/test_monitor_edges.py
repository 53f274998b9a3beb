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
from device.safety.string_bounds import Watch, after_hearing, literal, to_be_heard, watching
from dsp import Cents, Hz, shifted
from tests.coaching import read_as, turn_advice
from tests.each import each

VIOLIN = Settings(size=Size.FULL, cores=Cores.SYNTHETIC, pegs_by_grown_up=False)
STRUNG = strung(VIOLIN)
A4 = STRUNG.of("A4").target_hz
TIGHTEN = Direction.TIGHTEN
HEARD_BEFORE_A_TURN = 16  # soundings that a roll call needs at the most, four strings four times


def heard(watch: Watch, hz: Hz, pluck: int, at: float) -> Watch:
    return after_hearing(watch, STRUNG, read_as(hz, at, pluck, 0.3, std_error_cents=Cents(0.0)), "A4")


@pytest.mark.parametrize(("jump", "one_string"), [(59.5, True), (60.5, False), (-59.5, True), (-60.5, False)])
def test_a_pitch_that_jumps_by_60_cents_within_one_sounding_is_not_one_strings(jump, one_string):
    first = heard(watching(STRUNG.names), A4, 1, 1.0)
    assert [hz for *_, hz, _ in first.roll] == [A4]
    moved = shifted(A4, Cents(jump))
    second = heard(first, moved, 1, 1.2)
    assert [hz for *_, hz, _ in second.roll] == ([moved] if one_string else [])
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


def test_an_unsure_reading_rules_out_no_string_that_it_may_be_of():
    """A steel G came up by 116 cents, as its turn may do, and was read as 124, give or take 10.

    Its bound ends between the two. A D turned down by what was asked may sound so: it was taken for it,
    500 cents too low.
    """
    violin = strung(Settings(size=Size.HALF, pegs_by_grown_up=False))
    height = {"G3": (-119.0, 4.0), "D4": (-208.0, 12.0), "A4": (-195.0, 12.0), "E5": (-195.0, 12.0)}
    bounds = [
        Bound(name, hz := shifted(violin.of(name).target_hz, Cents(o)), shifted(hz, Cents(-350.0)), peg=peg)
        for name, (o, peg) in height.items()
    ]
    event = read_as(Hz(196.7), 1.0, 9, 0.1, std_error_cents=Cents(10.4))
    after = after_hearing(Watch(tuple(bounds), pluck=8), violin, event, "G3")
    assert after.of("D4") == bounds[1]


def test_a_string_not_heard_since_its_turn_has_not_risen_if_that_turn_explains_it():
    turns = [
        turn_advice("D4", TuningPart.PEG, d, Amount.A_HAIR, VIOLIN) for d in Direction if d.value != "none"
    ]
    watch = standing(D4=-40.0)
    for number, turn in enumerate(turns, 8):
        shown, watch = passed(replace(watch, pluck=number), STRUNG, turn)
        assert shown.turn is TuningPart.PEG
    event = read_as(shifted(STRUNG.of("D4").target_hz, Cents(4.0)), 1.0, 10, 0.5)
    assert after_hearing(watch, STRUNG, event, "D4").of("D4").high_hz is not None
    assert not after_hearing(watch, STRUNG, event, "D4").of("D4").rose(STRUNG.of("D4"))


def test_what_may_have_sounded_for_the_string_asked_for_is_plucked_as_well():
    """Its size not told, an E turned down by what was asked of it sounds like the D that was asked for."""
    violin = strung(Settings(pegs_by_grown_up=False))
    height = {"G3": (28.0, 8.0), "D4": (-136.0, 16.0), "A4": (-183.0, 0.0), "E5": (-207.0, 8.0)}
    bounds = [
        Bound(name, hz := shifted(violin.of(name).target_hz, Cents(o)), shifted(hz, Cents(-350.0)), peg=peg)
        for name, (o, peg) in height.items()
    ]
    watch = Watch(tuple(bounds), pluck=20)
    assert to_be_heard(watch, violin, ["D4"]) == ("D4",)
    after = after_hearing(watch, violin, read_as(Hz(289.4), 1.0, 21, 1.1), "D4")
    assert after.of("D4") == bounds[1]
    assert to_be_heard(after, violin, ["D4"]) == ("D4", "E5")


def test_two_plucks_of_one_string_are_not_two_strings_because_one_of_them_is_read_unsurely():
    """A D came up to 77 sharp, as its turn may do; an A turned down by as much would sound so, too."""
    violin = strung(Settings(size=Size.THREE_QUARTER, pegs_by_grown_up=False))
    height = {"G3": -28.0, "D4": -181.0, "A4": -199.0, "E5": -190.0}
    bounds = [
        Bound(name, hz := shifted(violin.of(name).target_hz, Cents(o)), shifted(hz, Cents(-350.0)), peg=16.0)
        for name, o in height.items()
    ]
    watch = Watch(tuple(bounds), pluck=23)
    for pluck, hz, error in ((24, 307.1, 2.1), (25, 311.3, 9.8)):
        event = read_as(Hz(hz), float(pluck), pluck, 0.5, std_error_cents=Cents(error))
        watch = after_hearing(watch, violin, event, "D4")
    assert watch.of("A4") == bounds[2]


def test_how_low_a_string_may_be_is_reckoned_from_the_lower_end_of_a_reading():
    """A start that is read 20 cents too high, and says so, does not rule the string out when it settles."""
    _, watch = passed(standing(), STRUNG, turn_advice("A4", TuningPart.PEG, TIGHTEN, Amount.A_HAIR, VIOLIN))
    for since, cents_off, error in ((0.1, 20.0, 10.0), (0.9, -15.0, 4.0)):
        hz = shifted(A4, Cents(cents_off))
        watch = after_hearing(watch, STRUNG, read_as(hz, 8.0, 8, since, std_error_cents=Cents(error)), "A4")
        known = watch.of("A4")
        assert known.low_hz == pytest.approx(shifted(hz, Cents(-2.0 * error - 350.0)))
        assert known.high_hz == pytest.approx(shifted(hz, Cents(2.0 * error)))
