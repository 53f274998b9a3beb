"""Every piece of advice has one plain sentence, and a lone reading the lesson's rules."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from device.config.settings import FineTuners, Settings
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.single import advise
from device.lesson.words import sentence
from dsp import Cents, Instrument, cents
from tests.coaching import SETTINGS, turn_advice

NO_SCREWS = Settings(fine_tuners=FineTuners.NONE, pegs_by_grown_up=False)


@pytest.mark.parametrize(("say", "warning"), list(product(Say, [None, *Alarm])))
def test_every_advice_is_one_sentence_and_two_or_three_words(say, warning):
    advice = Advice(say, string="A4", heard="D4", warning=warning)
    words = sentence(advice, Settings())
    assert words[0].isupper()
    assert words.endswith(".")


@pytest.mark.parametrize("instrument", Instrument)
def test_a_turn_says_what_which_way_and_how_far(instrument):
    chosen = Settings(instrument=instrument)
    name = chosen.strings[0].name
    words = sentence(turn_advice(name, TuningPart.PEG, Direction.TIGHTEN, Amount.A_HAIR, chosen), chosen)
    expected = {
        Instrument.VIOLIN: "counter-clockwise, away from you",
        Instrument.VIOLA: "counter-clockwise, away from you",
        Instrument.CELLO: "counter-clockwise, towards you",
        Instrument.DOUBLE_BASS: "machine head",
    }[instrument]
    assert words.startswith("Tighten the")
    assert expected in words
    assert "by a hair" in words
    assert ("clockwise" in words) is (instrument is not Instrument.DOUBLE_BASS)


def test_a_fine_tuner_is_turned_while_the_string_is_plucked_and_a_peg_before():
    """Common practice: a screw is followed by ear; a peg takes a hand, is turned a little, and then
    plucked."""
    chosen = Settings()
    screw, peg = (
        sentence(turn_advice("A4", part, Direction.TIGHTEN, Amount.A_HAIR, chosen), chosen)
        for part in (TuningPart.FINE_TUNER, TuningPart.PEG)
    )
    assert screw.endswith(" while you pluck.")
    assert peg.endswith(", then pluck.")


def test_the_string_that_was_heard_is_named():
    assert "the D" in sentence(Advice(Say.OTHER_STRING, string="A4", heard="D4"), Settings())
    assert "another string" in sentence(Advice(Say.OTHER_STRING, string="A4"), Settings())


def test_without_fine_tuners_a_lone_reading_asks_for_the_peg():
    advice = advise("A4", Cents(-11.0), Cents(0.1), 0.01, NO_SCREWS)
    assert (advice.turn, advice.direction, advice.rotation, advice.away, advice.push_in) == (
        TuningPart.PEG,
        Direction.TIGHTEN,
        Rotation.CLOCKWISE,
        True,
        True,
    )


def test_where_only_a_grown_up_may_turn_the_peg_the_sentence_says_how():
    advice = advise("A4", Cents(-70.0), Cents(0.1), 0.01, Settings())
    assert (advice.say, advice.turn) == (Say.GROWN_UP, TuningPart.NONE)
    words = sentence(advice, Settings())
    assert "grown-up" in words
    assert "tighten the peg of the A string (clockwise, away from you)" in words


def test_a_double_bass_gets_its_machine_head_and_no_rotation():
    bass = Settings(instrument=Instrument.DOUBLE_BASS)
    advice = advise("G2", Cents(-11.0), Cents(0.1), 0.01, bass)
    assert (advice.turn, advice.rotation, advice.away) == (TuningPart.PEG, None, None)


@pytest.mark.parametrize(
    ("off", "say", "heard"),
    [
        (-700.0, Say.OTHER_STRING, "D4"),  # a fifth under the A is the D
        (-460.0, Say.OTHER_STRING, "D4"),  # 240 over the D
        (700.0, Say.OTHER_STRING, "E5"),
        (-860.0, Say.ASK_TEACHER, None),  # 160 under the D, and far from the A
        (520.0, Say.ASK_TEACHER, None),  # 180 under the E
    ],
)
def test_a_lone_reading_in_the_place_of_another_string_is_taken_for_that_one(off, say, heard):
    advice = advise("A4", Cents(off), Cents(0.3), 0.0, Settings())
    assert (advice.say, advice.heard, advice.turn) == (say, heard, TuningPart.NONE)


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), -float("inf"), 1e300])
def test_a_lone_reading_that_is_no_number_asks_to_pluck_again(wrong):
    assert advise("A4", Cents(wrong), Cents(0.1), 0.0, Settings()).say is Say.PLUCK_AGAIN
    assert advise("A4", Cents(0.0), Cents(abs(wrong)), 0.0, Settings()).turn is TuningPart.NONE


@settings(max_examples=200, deadline=None)
@given(SETTINGS, st.integers(0, 3), st.floats(-1400.0, 1400.0), st.floats(0.0, 20.0), st.floats(0.0, 1.0))
def test_a_lone_reading_is_turned_only_where_one_reading_is_enough(chosen, place, off, error, doubt):
    name = chosen.strings[place].name
    advice = advise(name, Cents(off), Cents(error), doubt, chosen)
    if advice.turn is TuningPart.NONE:
        return
    assert -100.0 <= off <= 250.0
    assert abs(off) > 2.0 * error
    assert doubt <= 0.1
    assert advice.string == name
    assert (advice.direction is Direction.TIGHTEN) is (off < 0)
    assert (
        advice.turn is TuningPart.FINE_TUNER
        or not chosen.pegs_by_grown_up
        or (chosen.instrument is Instrument.DOUBLE_BASS and abs(off) <= 50.0)
    )
    string = strung(chosen).of(name)
    at_limit = cents(string.limit_hz, string.target_hz)
    assert off < at_limit or off > cents(string.highest_hz, string.target_hz)
