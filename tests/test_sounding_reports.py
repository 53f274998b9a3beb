"""Soundings: which reading of a recording counts, which string it means, and what is said."""

import math
from dataclasses import replace

import pytest

from device.config.settings import Settings
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.advice import Say
from device.sounding_reports import combined, report_on, sounding_reports
from dsp import Cents, Hz, Reading, Seconds, cents, shifted

A4 = Hz(440.0)


USUAL = Reading(Seconds(1.0), A4, Cents(0.3), 0.0, 0.0, -20.0, Seconds(0.5), 1)
FIELDS = {
    "error": "std_error_cents",
    "doubt": "octave_doubt",
    "drift": "drift_cents_per_s",
    "since": "since_pluck_s",
}


def heard(off, at=1.0, target=A4, **others):
    named = {FIELDS.get(name, name): value for name, value in others.items()}
    return replace(USUAL, time_s=at, frequency_hz=shifted(target, Cents(off)), **named)


def together(*readings):
    """Cents from A4, standard error and spread of what these say together."""
    found = combined(readings)
    off = cents(found.reading.frequency_hz, A4)
    return off, found.reading.std_error_cents, found.spread_cents


def test_the_settled_readings_count_not_the_sharp_start():
    off, _, _ = together(heard(14.0, since=0.1), heard(-9.0, since=0.2), heard(-8.0, since=0.9))
    assert off == pytest.approx(-8.5)


def test_the_last_unsettled_reading_counts_when_there_is_no_other():
    off, error, spread = together(heard(14.0, since=0.05), heard(12.0, since=0.1))
    assert (off, error, spread) == pytest.approx((12.0, 0.3, 0.0))


def test_readings_count_by_their_inverse_variance():
    off, error, _ = together(heard(0.0, error=1.0), heard(3.0, error=2.0))
    assert off == pytest.approx(0.6)  # (4 * 0 + 1 * 3) / 5
    assert error == pytest.approx(math.sqrt((4.0 * 1.0 + 1.0 * 4.0) / 5.0))


def test_many_readings_of_one_sound_are_no_surer_than_each_of_them():
    _, error, spread = together(*[heard(-8.0, error=0.4)] * 50)
    assert (error, spread) == pytest.approx((0.4, 0.0))


def test_readings_that_disagree_are_no_surer_than_they_agree():
    off, error, spread = together(heard(-2.0, error=0.1), heard(2.0, error=0.1))
    assert (off, error, spread) == pytest.approx((0.0, 2.0, 2.0))


def test_a_fading_string_is_hardly_read_at_its_end():
    off, _, _ = together(heard(-8.0, error=0.2), heard(-8.0, error=0.39), heard(-30.0, error=9.0))
    assert off == pytest.approx(-8.0, abs=0.05)


def test_a_right_octave_counts_more_than_a_small_error():
    octave = heard(-1200.0, error=0.01, doubt=0.9)
    assert together(octave, heard(-8.0, error=0.5), octave)[0] == pytest.approx(-8.0)


def test_a_string_that_is_still_being_turned_is_read_where_it_stood_still():
    turned = (heard(-40.0, drift=30.0, error=0.1), heard(-8.0, error=0.5), heard(-3.0, drift=9.0, error=0.1))
    assert together(*turned)[0] == pytest.approx(-8.0)


def test_a_string_that_was_turned_is_read_where_it_ended():
    before, turned = [heard(-40.0, error=0.1)] * 9, [heard(-20.0, drift=30.0)] * 3
    assert together(*before, *turned, heard(-8.0, error=0.5))[0] == pytest.approx(-8.0)


def test_what_was_read_before_a_turn_that_was_none_counts_as_well():
    before, seemed = [heard(-8.0, error=0.1)] * 9, [heard(-20.0, drift=30.0)] * 3
    off, error, _ = together(*before, *seemed, heard(-14.0, error=7.0))
    assert off == pytest.approx(-8.0, abs=0.01)
    assert error < 0.4


def test_a_string_that_never_stands_still_is_read_at_its_end():
    turned = [heard(-40.0 + 10.0 * i, drift=30.0, error=0.2) for i in range(4)]
    assert together(*turned) == pytest.approx((-10.0, 0.2, 0.0))


def test_a_reading_without_any_error_counts_as_the_surest():
    assert together(heard(1.0, error=0.0), heard(5.0, error=1.0))[0] == pytest.approx(1.0, abs=0.01)


def test_no_reading_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        combined([])


def test_each_sounding_is_said_once_with_the_time_of_its_start():
    readings = [
        heard(-8.0, 1.0, since=0.5),
        heard(-8.0, 1.2, since=0.7),
        heard(3.0, 4.0, since=0.25, pluck=2),
    ]
    found = list(sounding_reports(readings, Settings()))
    assert [(s.pluck, s.time_s) for s in found] == [(1, pytest.approx(0.5)), (2, pytest.approx(3.75))]


def test_a_flat_string_is_tightened_by_its_fine_tuner():
    sounding = report_on(heard(-20.0), Settings())
    assert (sounding.string, sounding.heard) == ("A4", "A4")
    assert sounding.cents == pytest.approx(-20.0)
    assert (sounding.advice.turn, sounding.advice.direction) == (TuningPart.FINE_TUNER, Direction.TIGHTEN)
    assert not sounding.in_tune


def test_a_string_inside_the_tolerance_is_in_tune():
    sounding = report_on(heard(1.0), Settings())
    assert sounding.in_tune
    assert sounding.advice.turn is TuningPart.NONE


@pytest.mark.parametrize(("off", "near"), [(-650.0, False), (-290.0, True), (290.0, True), (310.0, False)])
def test_what_is_near_no_open_string_is_meant_for_none(off, near):
    outermost = "G3" if off < 0 else "E5"
    sounding = report_on(heard(off, target=Settings().targets[outermost]), Settings())
    assert sounding.heard == outermost
    assert sounding.string == (outermost if near else None)
    if not near:
        assert sounding.cents is None
        assert sounding.advice.turn is TuningPart.NONE
        assert sounding.sentence == (
            f"No open string is near: this lies {abs(off):.0f} cents "
            f"{'above' if off > 0 else 'below'} {outermost}."
        )


def test_the_d_heard_while_the_a_is_meant_asks_for_no_turn():
    sounding = report_on(heard(0.0, target=Settings().targets["D4"]), Settings(), fixed="A4")
    assert (sounding.string, sounding.heard) == ("A4", "D4")
    assert sounding.cents == pytest.approx(-700.0)
    assert (sounding.advice.say, sounding.advice.turn) == (Say.OTHER_STRING, TuningPart.NONE)


def test_a_fast_sound_card_is_corrected():
    settings = Settings(clock_ppm=100.0)
    assert report_on(heard(0.0), settings).cents == pytest.approx(0.173, abs=0.001)  # 1200 log2(1.0001)
