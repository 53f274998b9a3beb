"""The safety monitor's figures, each from both sides: what still counts and what no longer does."""

from dataclasses import replace

import pytest

from device.config.settings import Cores, Settings, Size
from device.instrument.pitch_bounds import Bound
from device.instrument.roll_call import surveyed
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.safety.monitor import in_danger, passed
from device.safety.string_bounds import Watch, after_hearing, watching
from dsp import Cents, Hz, shifted
from tests.coaching import read_as, turn_advice

VIOLIN = Settings(size=Size.FULL, cores=Cores.SYNTHETIC, pegs_by_grown_up=False)
STRUNG = strung(VIOLIN)
A4 = STRUNG.of("A4")


def loaded(name: str, share: float) -> Hz:
    """The pitch at which a string carries a share of its least breaking load: load goes with its square."""
    string = STRUNG.of(name)
    return Hz(string.target_hz * (share / string.load_at(string.target_hz)) ** 0.5)


def watch_of(**heard: Hz) -> Watch:
    """All strings heard in sounding 7, at their notes or at the pitches given."""
    bounds = []
    for string in STRUNG.strings:
        hz = heard.get(string.name, string.target_hz)
        bounds.append(Bound(string.name, hz, shifted(hz, Cents(-350.0)), pluck=7))
    return Watch(tuple(bounds), pluck=7)


def peg(name: str, degrees: float):
    advice = turn_advice(name, TuningPart.PEG, Direction.TIGHTEN, Amount.A_LITTLE, VIOLIN)
    return replace(advice, degrees=degrees)


@pytest.mark.parametrize(("share", "warning"), [(0.79, None), (0.81, Alarm.STOP)])
def test_from_four_fifths_of_the_least_breaking_load_on_it_says_stop(share, warning):
    watch = watch_of(A4=loaded("A4", share))
    assert A4.load_at(watch.of("A4").high_hz) == pytest.approx(share)
    shown, _ = passed(watch, STRUNG, replace(peg("E5", 1.0), turn=TuningPart.NONE, degrees=0.0))
    assert shown.warning is warning


def test_the_string_that_is_named_is_the_one_nearest_to_breaking():
    watch = replace(watch_of(D4=loaded("D4", 0.785), A4=loaded("A4", 0.798), G3=loaded("G3", 0.79)), pluck=8)
    advice = peg("E5", 6.0)
    loads = {b.name: b.load(STRUNG.of(b.name), 12.0) for b in watch.bounds}
    worst = max(loads, key=lambda name: loads[name])
    shown, _ = passed(watch, STRUNG, advice)
    assert (shown.say, shown.string) == (Say.PLUCK_OTHERS, worst)
    assert in_danger(watch, STRUNG, advice)[0] == worst
    assert len(in_danger(watch, STRUNG, advice)) > 1


def test_every_degree_of_peg_and_of_screw_adds_to_a_strings_load():
    bound = Bound("A4", A4.target_hz, peg=2.0, screw=90.0)
    rest = A4.load_at(A4.target_hz)
    assert bound.load(A4) == pytest.approx(rest + 2.0 * A4.peg_load + 90.0 * A4.screw_load)
    more = bound.load(A4, 3.0, 45.0)
    assert more == pytest.approx(rest + 5.0 * A4.peg_load + 135.0 * A4.screw_load)
    assert A4.screw_load > 0.0


@pytest.mark.parametrize(
    ("off", "may"), [(29.0, True), (31.0, False), (0.0, True), (-349.0, True), (-351.0, False)]
)
def test_a_string_is_where_it_was_heard_or_30_cents_over_or_350_under(off, may):
    bound = Bound("A4", A4.target_hz, shifted(A4.target_hz, Cents(-350.0)))
    assert bound.may_sound(shifted(A4.target_hz, Cents(off)), A4) is may
    heard = Bound("A4").heard(A4.target_hz, A4.target_hz, 3)
    assert heard.may_sound(shifted(A4.target_hz, Cents(off)), A4) is may


@pytest.mark.parametrize(
    ("let_down_at", "higher", "rose"),
    [(0.0, 29.0, False), (0.0, 31.0, True), (500.0, 11.0, False), (500.0, 13.0, True)],
)
def test_a_string_that_is_let_down_and_heard_30_cents_higher_rose_near_breaking_12(let_down_at, higher, rose):
    eased = shifted(A4.target_hz, Cents(let_down_at))
    assert Bound("A4", shifted(eased, Cents(higher)), eased_hz=eased).rose(A4) is rose


@pytest.mark.parametrize("drift", [-8.5, -7.5, 0.0, 7.5, 8.5])
def test_while_a_string_is_turned_what_was_asked_for_still_counts(drift):
    """Eight cents a second and more is a hand; a string that settles moves by less."""
    asked = watch_of()
    asked = asked.knowing(replace(asked.of("A4"), peg=4.0))
    event = replace(read_as(A4.target_hz, 8.0, 8, 0.3), drift_cents_per_s=drift)
    after = after_hearing(asked, STRUNG, event, "A4")
    assert after.of("A4").peg == (4.0 if abs(drift) > 8.0 else 0.0)
    assert after.of("D4").peg == 0.0


@pytest.mark.parametrize(("doubt", "believed"), [(0.09, True), (0.11, False)])
def test_a_reading_whose_octave_is_in_doubt_says_nothing(doubt, believed):
    event = replace(read_as(A4.target_hz, 8.0, 8, 0.3), octave_doubt=doubt)
    after = after_hearing(watch_of(), STRUNG, event, "A4")
    assert (after.of("A4").pluck == 8) is believed


@pytest.mark.parametrize(("above", "warning"), [(399.5, Alarm.STOP), (400.5, None)])
def test_one_reading_more_than_a_third_above_its_bound_may_be_misread_and_is_asked_for_again(above, warning):
    """Four hundred cents: no turn of a screw and no slip explains more (chosen)."""
    heard = read_as(shifted(STRUNG.of("E5").target_hz, Cents(above)), 8.0, 8, 0.3, std_error_cents=Cents(0.0))
    shown, _ = passed(after_hearing(watch_of(), STRUNG, heard, "E5"), STRUNG, Advice(Say.PLUCK, string="E5"))
    assert shown.warning is warning


def test_the_very_first_sounding_is_heard_as_what_was_asked_for():
    """Soundings are counted from 1."""
    after = after_hearing(watching(STRUNG.names), STRUNG, read_as(A4.target_hz, 1.0, 1, 0.3), "A4")
    assert after.asked == "A4"
    assert [entry[:2] for entry in after.roll] == [(1, "A4")]
    assert Bound("A4").pluck < 0  # no sounding that could be


def rolled(*plucks: tuple[str, float]):
    """What sounded, one after the other: the string asked for and how far off it was, in cents."""
    roll = tuple(
        (number, name, *(2 * (shifted(STRUNG.of(name).target_hz, Cents(off)),)))
        for number, (name, off) in enumerate(plucks, 1)
    )
    return surveyed(roll, STRUNG, list(STRUNG.names))


IN_PLACE = (("E5", 10.0), ("D4", -20.0), ("G3", 0.0))


def test_a_string_far_from_its_note_is_known_once_two_plucks_of_it_agree_and_the_others_are_in_place():
    found = rolled(*IN_PLACE, ("A4", -400.0), ("A4", -405.0))
    assert found is not None
    assert found["A4"] == (shifted(A4.target_hz, Cents(-405.0)), 5)
    assert found["E5"][1] == 1
    assert set(found) == set(STRUNG.names)


@pytest.mark.parametrize(("off", "known"), [(-150.5, False), (-149.5, True), (249.5, True), (250.5, False)])
def test_a_string_is_in_its_place_from_150_cents_under_to_250_over_its_note(off, known):
    """Strings stand 700 cents apart, and may be sharp by less than flat: pegs slip. Chosen."""
    assert (rolled(*IN_PLACE, ("A4", off)) is not None) is known


@pytest.mark.parametrize(("over_the_d", "known"), [(34.5, False), (35.5, True)])
def test_strings_plucked_from_the_lowest_up_are_known_where_each_stands_35_cents_over_the_last(
    over_the_d, known
):
    """Two plucks of one string differ by less: by up to 20 cents (chosen)."""
    found = rolled(("G3", 0.0), ("D4", 0.0), ("A4", over_the_d - 700.0), ("E5", 0.0))
    assert (found is not None) is known


@pytest.mark.parametrize(
    "plucks",
    [
        (*IN_PLACE, ("A4", -400.0)),  # heard once
        (*IN_PLACE, ("A4", -400.0), ("A4", -425.0)),  # two plucks that differ
        (("E5", 10.0), ("D4", -20.0), ("A4", -400.0), ("A4", -400.0)),  # two are missing
        (*IN_PLACE, ("A4", -720.0), ("A4", -725.0)),  # what sounds is as high as the D that was heard
    ],
)
def test_in_any_other_case_nothing_is_taken_to_be_known(plucks):
    assert rolled(*plucks) is None


@pytest.mark.parametrize("size", Size)
def test_whatever_size_is_told_a_plain_e_is_reckoned_to_bear_no_more_than_a_full_size_one(size):
    """A box may be told the wrong size: music wire breaks at a pitch that goes with one over its length."""
    full, told = (strung(replace(VIOLIN, size=s)).of("E5") for s in (Size.FULL, size))
    assert told.limit_hz == pytest.approx(full.limit_hz)
    for peg in (0.0, 8.0, 24.0):
        assert told.carried(full.target_hz, peg, 0.0) >= full.carried(full.target_hz, peg, 0.0) - 1e-9


def test_a_string_that_only_the_highest_can_be_gets_stop_though_another_was_asked_for():
    """An E a fourth too high, plucked twice where the G was asked for: no other string reaches that pitch."""
    high = shifted(STRUNG.of("E5").target_hz, Cents(480.0))
    watch = watch_of()
    once = after_hearing(watch, STRUNG, read_as(high, 8.0, 8, 0.3), "G3")
    assert passed(once, STRUNG, peg("G3", 2.0))[0].warning is None
    twice = after_hearing(once, STRUNG, read_as(high, 9.0, 9, 0.3), "G3")
    shown = passed(twice, STRUNG, peg("G3", 2.0))[0]
    assert (shown.warning, shown.string) == (Alarm.STOP, "E5")


def test_two_pitches_in_one_sounding_are_two_strings_and_neither_is_heard():
    asked = watch_of()
    asked = asked.knowing(replace(asked.of("A4"), peg=4.0))
    once = after_hearing(asked, STRUNG, read_as(STRUNG.of("D4").target_hz, 8.0, 8, 0.3), "A4")
    later = after_hearing(once, STRUNG, read_as(A4.target_hz, 8.0, 8, 0.6), "A4")
    assert later.of("A4").peg == 4.0
    assert later.roll == ()


@pytest.mark.parametrize(("sharp", "held"), [(205.0, False), (215.0, True)])
def test_nothing_is_tightened_while_a_string_stands_more_than_a_tone_above_its_place(sharp, held):
    """It was wound up by mistake; what its own rope bears may be less than the least that was looked up."""
    watch = replace(watch_of(D4=shifted(STRUNG.of("D4").target_hz, Cents(sharp))), pluck=8)
    for part in (TuningPart.PEG, TuningPart.FINE_TUNER):
        hair = replace(turn_advice("G3", part, Direction.TIGHTEN, Amount.A_HAIR, VIOLIN), degrees=2.0)
        assert (in_danger(watch, STRUNG, hair) == ("D4",)) is held
        down = replace(turn_advice("D4", part, Direction.LOOSEN, Amount.A_HAIR, VIOLIN), degrees=2.0)
        assert in_danger(watch, STRUNG, down) == ()
