"""Simulated players: what they do with what the panel shows, and what their hands do."""

import random
from dataclasses import replace

import pytest
from device.coach import turning

from demo.actions import DEGREES, Leave, Pluck, PressNext, Turned, Wait, asked_turn
from demo.apply_turn import apply_turn
from demo.geometry import Spin
from demo.guides import BareNumber
from demo.instrument import errors
from demo.players import CHARACTERS, Player
from demo.workshop import Build, strung, targets
from device.config.settings import Pegs, Settings
from device.events import Heard
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.state import Coach, Phase, StringState
from dsp import Instrument, Seconds

NAMES = ("G3", "D4", "A4", "E5")
TIGHTEN_PEG = Advice(
    Say.TURN, TuningPart.PEG, "A4", Direction.TIGHTEN, Rotation.CLOCKWISE, True, Amount.A_LITTLE, push_in=True
)


NO_TURN = Advice()


def shown(advice=NO_TURN, phase=Phase.GUIDING, string="A4"):
    return Coach(phase, string, Seconds(0.0), tuple(map(StringState, NAMES)), advice=advice)


def player(name, seed=1):
    return Player(CHARACTERS[name], NAMES, random.Random(seed))


def turns(name, advice=TIGHTEN_PEG, count=300):
    """What many players of a kind do with the same advice."""
    return [player(name, seed).act(shown(advice)) for seed in range(count)]


def share(flags):
    flags = list(flags)
    return sum(flags) / len(flags)


def test_the_careful_player_turns_what_is_shown_about_as_far_as_shown():
    for turn in turns("careful"):
        assert isinstance(turn, Turned)
        assert (turn.string, turn.what, turn.spin, turn.push_in) == (
            "A4",
            TuningPart.PEG,
            Spin.CLOCKWISE,
            True,
        )
        assert 0.7 * 6.0 <= turn.degrees <= 1.3 * 6.0


def test_a_turn_is_as_long_as_the_arrow_where_it_says_its_length():
    assert asked_turn(replace(TIGHTEN_PEG, degrees=4.5), "A4").degrees == 4.5
    assert asked_turn(TIGHTEN_PEG, "D4") == Turned("D4", TuningPart.PEG, Spin.CLOCKWISE, 6.0, True)


def test_a_picture_without_a_turn_and_a_warning_ask_for_none():
    assert asked_turn(Advice(Say.PLUCK), "A4") is None
    assert asked_turn(replace(TIGHTEN_PEG, warning=Alarm.STOP), "A4") is None


def test_the_hand_and_the_coach_mean_the_same_by_an_amount():
    for (what, amount), degrees in DEGREES.items():
        assert turning.degrees_of(what, Settings(pegs=Pegs.WOODEN))[amount] == degrees


def test_after_a_turn_comes_a_pluck():
    one = player("careful")
    assert isinstance(one.act(shown(TIGHTEN_PEG)), Turned)
    assert one.act(shown(TIGHTEN_PEG)) == Pluck("A4")


def test_hasty_turns_twice_as_far():
    hasty = sum(turn.degrees for turn in turns("hasty"))
    assert hasty == pytest.approx(2.0 * sum(turn.degrees for turn in turns("careful")), rel=0.01)


@pytest.mark.parametrize(
    ("name", "mistaken", "probability"),
    [
        ("hesitant", lambda done: isinstance(done, Pluck), 0.5),
        ("wrong-way", lambda done: done.spin is Spin.COUNTER_CLOCKWISE, 0.2),
        ("wrong-peg", lambda done: done.string == "D4", 0.3),
        ("wrong-peg-and-string", lambda done: done.string == "D4", 0.3),
    ],
)
def test_each_makes_the_mistake_they_are_named_for(name, mistaken, probability):
    assert share(map(mistaken, turns(name))) == pytest.approx(probability, abs=0.07)
    assert share(map(mistaken, turns("careful"))) == 0.0


def test_wrong_string_plucks_the_neighbour_at_times():
    plucked = [player("wrong-string", seed).act(shown(phase=Phase.WAITING)) for seed in range(300)]
    assert share(done == Pluck("D4") for done in plucked) == pytest.approx(0.25, abs=0.07)
    assert {done.string for done in plucked} == {"A4", "D4"}


def test_a_warning_stops_everybody_but_the_one_who_ignores_it():
    stop = replace(TIGHTEN_PEG, say=Say.WAIT, warning=Alarm.STOP)
    for name in CHARACTERS:
        turned = share(isinstance(done, Turned) for done in turns(name, stop))
        assert (turned > 0.5) is (name == "ignores-warnings")
        assert turned == 0.0 or name == "ignores-warnings"


def test_left_for_a_grown_up_is_left_alone():
    assert isinstance(player("careful").act(shown(Advice(Say.GROWN_UP, string="A4"))), Wait)


def test_nobody_waits_for_ever():
    one = player("careful")
    done = [one.act(shown(Advice(Say.ASK_TEACHER))) for _ in range(20)]
    assert PressNext() in done
    assert done[-1] == Leave()


def test_the_end_picture_ends_it():
    assert player("careful").act(shown(Advice(Say.ALL_RIGHT), Phase.FINISHED)) == Leave()


def violin():
    return strung(Build(), targets(Instrument.VIOLIN))


def slips(push_in, count=400):
    turn = Turned("A4", TuningPart.PEG, Spin.CLOCKWISE, 6.0, push_in)
    return share(apply_turn(violin(), turn, random.Random(seed)).slipped for seed in range(count))


def test_a_wooden_peg_holds_when_it_is_pushed_in():
    assert slips(push_in=True) < 0.06
    assert slips(push_in=False) > 0.3


def test_a_slip_lets_the_string_down():
    turn = Turned("A4", TuningPart.PEG, Spin.CLOCKWISE, 6.0, push_in=False)
    ended = [apply_turn(violin(), turn, random.Random(seed)) for seed in range(40)]
    pitches = {done.slipped: errors(done.instrument, targets(Instrument.VIOLIN))["A4"] for done in ended}
    assert pitches[True] < pitches[False]


def heard(pluck, hz):
    return Heard(Seconds(pluck), pluck, hz, 0.1, 0.0, 0.0, -20.0, Seconds(0.5))


def test_a_bare_number_that_grew_makes_the_player_turn_the_other_way():
    guide = BareNumber(Settings(pegs_by_grown_up=False), random.Random(1))
    guide.take(heard(1, 600.0))
    guide.look()
    first = guide.shown.advice.rotation
    assert guide.shown.advice.turn is TuningPart.PEG
    guide.take(heard(2, 560.0))
    guide.look()
    assert guide.shown.advice.rotation is not first
    guide.take(heard(3, 600.0))
    guide.look()
    assert guide.shown.advice.rotation is not first


def test_a_small_number_goes_on_to_the_next_string():
    guide = BareNumber(Settings(), random.Random(1))
    guide.take(heard(1, 659.0))
    guide.look()
    assert guide.shown.string == "A4"


def test_with_pegs_barred_a_large_number_is_left_to_a_grown_up():
    guide = BareNumber(Settings(pegs_by_grown_up=True), random.Random(1))
    guide.take(heard(1, 500.0))
    guide.look()
    assert guide.shown.string == "A4"
    assert guide.shown.strings[-1].mark.value == "grown-up"
