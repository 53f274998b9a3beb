"""Soundings: which reading of a recording counts, which string it means, and what is said."""

from dataclasses import replace

import pytest

from device.config.settings import Settings
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.advice import Say
from device.sounding_reports import last_sure, report_on, sounding_reports
from dsp import Cents, Hz, Reading, Seconds, shifted

A4 = Hz(440.0)


USUAL = Reading(Seconds(1.0), A4, Cents(0.3), 0.0, 0.0, -20.0, Seconds(0.5), 1)
FIELDS = {
    "error": "std_error_cents",
    "doubt": "octave_doubt",
    "drift": "drift_cents_per_s",
    "since": "since_pluck_s",
}


def heard(cents, at=1.0, target=A4, **others):
    named = {FIELDS.get(name, name): value for name, value in others.items()}
    return replace(USUAL, time_s=at, frequency_hz=shifted(target, Cents(cents)), **named)


def test_the_settled_reading_counts_not_the_sharp_start():
    readings = [heard(14.0, 0.1, since=0.1), heard(9.0, 0.2, since=0.2), heard(-8.0, 0.9, since=0.9)]
    assert last_sure(readings) is readings[2]


def test_an_unsettled_reading_counts_when_there_is_no_other():
    readings = [heard(14.0, 0.05, since=0.05), heard(12.0, 0.1, since=0.1)]
    assert last_sure(readings) is readings[1]


def test_a_fading_string_is_not_read_at_its_end():
    readings = [heard(-8.0, 1.0, error=0.2), heard(-8.1, 1.5, error=0.39), heard(-30.0, 2.0, error=9.0)]
    assert last_sure(readings) is readings[1]


def test_errors_that_grow_slowly_do_not_creep_away_from_the_least():
    readings = [heard(0.0, error=0.2 * 1.5**i) for i in range(10)]
    assert last_sure(readings) is readings[1]


def test_a_right_octave_counts_more_than_a_small_error():
    readings = [
        heard(-1200.0, error=0.01, doubt=0.9),
        heard(-8.0, error=0.5),
        heard(-1200.0, error=0.01, doubt=0.9),
    ]
    assert last_sure(readings) is readings[1]


def test_a_string_that_is_still_being_turned_is_read_where_it_stood_still():
    readings = [
        heard(-40.0, drift=30.0, error=0.1),
        heard(-8.0, error=0.5),
        heard(-3.0, drift=9.0, error=0.1),
    ]
    assert last_sure(readings) is readings[1]


def test_no_reading_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        last_sure([])


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


@pytest.mark.parametrize(("cents", "near"), [(-650.0, False), (-290.0, True), (290.0, True), (310.0, False)])
def test_what_is_near_no_open_string_is_meant_for_none(cents, near):
    outermost = "G3" if cents < 0 else "E5"
    sounding = report_on(heard(cents, target=Settings().targets[outermost]), Settings())
    assert sounding.heard == outermost
    assert sounding.string == (outermost if near else None)
    if not near:
        assert sounding.cents is None
        assert sounding.advice.turn is TuningPart.NONE
        assert sounding.sentence == (
            f"No open string is near: this lies {abs(cents):.0f} cents "
            f"{'above' if cents > 0 else 'below'} {outermost}."
        )


def test_the_d_heard_while_the_a_is_meant_asks_for_no_turn():
    sounding = report_on(heard(0.0, target=Settings().targets["D4"]), Settings(), fixed="A4")
    assert (sounding.string, sounding.heard) == ("A4", "D4")
    assert sounding.cents == pytest.approx(-700.0)
    assert (sounding.advice.say, sounding.advice.turn) == (Say.OTHER_STRING, TuningPart.NONE)


def test_a_fast_sound_card_is_corrected():
    settings = Settings(clock_ppm=100.0)
    assert report_on(heard(0.0), settings).cents == pytest.approx(0.173, abs=0.001)  # 1200 log2(1.0001)
