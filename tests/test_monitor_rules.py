"""What the safety monitor keeps of a sounding, by the rule."""

from dataclasses import replace

import pytest

from device.safety.string_bounds import Watch, after_hearing, asked_twice, vouched
from dsp import Cents, Hz, Seconds, cents, shifted
from tests.coaching import read_as
from tests.test_monitor_figures import A4, STRUNG, watch_of

ERROR = 2.0 * 0.3  # cents: twice what the readings state


def at(name: str, away: float) -> Hz:
    return shifted(STRUNG.of(name).target_hz, Cents(away))


def test_a_string_that_is_heard_while_it_is_turned_up_is_as_high_as_it_was_heard():
    """Only one string can be there: its bound goes up with it, and no other's."""
    event = read_as(at("A4", 25.0), 8.0, 8, 0.3, drift_cents_per_s=20.0)
    after = after_hearing(watch_of(), STRUNG, event, "A4")
    assert cents(after.of("A4").high_hz, A4.target_hz) == pytest.approx(25.0 + ERROR)
    assert (after.of("A4").peg, after.of("A4").screw) == (0.0, 0.0)  # none was asked for
    assert after.of("D4") == watch_of().of("D4")
    assert after.of("E5") == watch_of().of("E5")


def test_a_string_that_a_grown_up_vouches_for_is_where_it_sounded_last():
    """A slack A near the D, which may have been wound up there: known by two plucks, the second counts."""
    turned = watch_of(A4=at("A4", -650.0))
    bounds = tuple(replace(bound, peg=60.0) for bound in turned.bounds)
    watch = vouched(replace(turned, bounds=bounds), Seconds(8.0))
    plucks = (("D4", at("D4", 0.0)), ("A4", at("A4", -640.0)), ("A4", at("A4", -630.0)))
    for number, (asked, hz) in enumerate(plucks, start=8):
        watch = after_hearing(watch, STRUNG, read_as(hz, 3.0 * number, number, 0.5), asked)
    bound = watch.of("A4")
    assert (bound.pluck, bound.peg) == (10, 0.0)
    assert cents(bound.high_hz, A4.target_hz) == pytest.approx(-630.0 + ERROR)
    assert cents(bound.low_hz, A4.target_hz) == pytest.approx(-630.0 - ERROR - 350.0)


@pytest.mark.parametrize(("string", "away", "counts"), [("E5", -100.0, True), ("D4", 0.0, False)])
def test_what_sounds_twice_above_the_places_of_all_others_is_the_highest_asked_for_or_not(
    string, away, counts
):
    hz = at(string, away)
    watch = Watch(watch_of().bounds, roll=tuple((n, "A4", hz, at(string, away - 1.0)) for n in (8, 9)))
    assert asked_twice(watch, STRUNG, "E5", hz) is counts
    assert asked_twice(watch, STRUNG, "G3", hz) is False
    assert asked_twice(watch, STRUNG, "A4", hz) is True


@pytest.mark.parametrize("doubt", [0.01, 0.5])
def test_a_sounding_is_held_against_its_own_readings_and_not_against_another_string_before_it(doubt):
    """A first reading whose octave is in doubt says nothing; the next one is then the first that counts."""
    watch = after_hearing(watch_of(), STRUNG, read_as(at("G3", 0.0), 6.0, 8, 0.5), "G3")
    for since, unsure in ((0.1, doubt), (0.3, 0.01)):
        watch = after_hearing(watch, STRUNG, read_as(A4.target_hz, 9.0, 9, since, octave_doubt=unsure), "A4")
    assert (watch.of("A4").pluck, watch.jumped) == (9, -1)
