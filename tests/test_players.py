"""Simulated players: what they make of a picture, and what their hands do."""

import math
import random
from dataclasses import replace

import numpy as np
import pytest

from demo.lessons.guides import BareNumber
from demo.mechanics.build import Build, cents_per_degree, string_up, targets
from demo.mechanics.geometry import Seat, Spin, pegs
from demo.mechanics.instrument import errors
from demo.players.actions import CallTeacher, HandTurn, Leave, Pluck, PressNext, Wait
from demo.players.characters import CHARACTERS, Hand
from demo.players.hand import apply_turn
from demo.players.picture import Asks, Picture, PicturedPart, PicturedTurn
from demo.players.player import Pegbox, Player
from device.config.settings import Settings
from device.events import Heard
from dsp import Instrument, Seconds, cents
from tests.each import each

NAMES = ("G3", "D4", "A4", "E5")
VIOLIN = targets(Instrument.VIOLIN)
PEGBOX = Pegbox(dict(zip(NAMES, pegs(4, left_handed=False), strict=True)), Seat.FRONT)
PEG_UP = PicturedTurn(PicturedPart.PEG, "A4", True, 6.0, Spin.CLOCKWISE, away=True, push_in=True)
SCREW_UP = PicturedTurn(PicturedPart.SCREW, "A4", True, 120.0, Spin.CLOCKWISE)


def picture(turn=PEG_UP, asks=Asks.TURN, **changes):
    return Picture(asks, "A4", turn if asks is Asks.TURN else None, **changes)


def player(name, seed=1):
    return Player(CHARACTERS[name], PEGBOX, random.Random(seed))


def turns(name, turn=PEG_UP, count=400):
    """What many players of a kind do with the same picture."""
    return [player(name, seed).act(picture(turn)) for seed in range(count)]


def share(flags):
    flags = list(flags)
    assert flags
    return sum(flags) / len(flags)


def violin(**peg):
    instrument = string_up(Build(), VIOLIN)
    strings = tuple(replace(s, peg=replace(s.peg, **peg)) for s in instrument.strings)
    return replace(instrument, strings=strings)


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [("careful", 0.75, 1.25), ("hasty", 1.6, 2.0), ("by-the-picture", 0.5, 2.0)],
)
def test_each_turns_so_many_times_as_far_as_the_picture_says(name, least, most):
    times = sorted(turn.degrees / 6.0 for turn in turns(name))
    assert len(times) == 400
    assert least <= times[0] < least * 1.05
    assert most * 0.95 < times[-1] <= most


def test_everybody_who_heeds_the_pictures_turns_between_half_and_twice_as_far():
    heeding = [name for name, character in CHARACTERS.items() if character.heeds]
    assert len(heeding) >= 19
    assert set(CHARACTERS) - set(heeding) == {"overshoots", "turns-again", "ignores-warnings"}
    counted = 0
    for name in heeding:
        one = player(name)
        for _ in range(60):
            done = one.act(picture(replace(PEG_UP, tightens=_ % 2 == 0, away=_ % 2 == 0)))
            if isinstance(done, HandTurn):
                assert 3.0 <= done.degrees <= 12.0
                counted += 1
    assert counted > 400


def test_the_careful_player_turns_what_is_shown_the_way_it_is_shown():
    for turn in each(turns("careful")):
        assert (turn.string, turn.part, turn.spin, turn.push_in) == (
            "A4",
            PicturedPart.PEG,
            Spin.CLOCKWISE,
            True,
        )


def test_a_straight_arrow_away_raises_any_peg_of_a_violin_in_the_lap():
    """By geometry: the string runs over the front of the shaft, so the upper edge goes away."""
    for name in NAMES:
        spin = PEGBOX.spin(PEG_UP, name)
        assert PEGBOX.shafts[name].winding(spin) == 1
    assert {PEGBOX.spin(PEG_UP, name) for name in NAMES} == set(Spin)


def test_a_seated_cellist_raises_by_turning_towards_themselves():
    """The player sits behind the pegbox; common practice, and by rotating the shaft's upper edge."""
    cello = Pegbox(PEGBOX.shafts, Seat.BEHIND)
    for name in each(NAMES):
        spin = cello.spin(replace(PEG_UP, away=False), name)
        assert cello.shafts[name].winding(spin) == 1
        angle = math.radians(5.0) * (1.0 if spin is Spin.COUNTER_CLOCKWISE else -1.0)
        upper = np.cross(cello.shafts[name].head, (0.0, 1.0, 0.0)) * angle
        assert upper[2] < 0.0  # to the back, where the player sits


def test_machine_heads_without_an_arrow_are_tightened_as_their_player_knows():
    for tightens in (True, False):
        bare = replace(PEG_UP, spin=None, away=None, tightens=tightens)
        for name in each(NAMES):
            assert PEGBOX.shafts[name].winding(PEGBOX.spin(bare, name)) == (1 if tightens else -1)


def test_after_a_turn_comes_a_pluck():
    one = player("careful")
    assert isinstance(one.act(picture()), HandTurn)
    assert isinstance(one.act(picture()), Pluck)


def test_turns_again_turns_three_times_before_plucking():
    one = player("turns-again")
    assert [type(one.act(picture())) for _ in range(4)] == [HandTurn, HandTurn, HandTurn, Pluck]


@pytest.mark.parametrize(
    ("name", "mistaken", "probability"),
    [
        ("hesitant", lambda done: isinstance(done, Pluck), 0.5),
        ("wrong-way", lambda done: done.spin is Spin.COUNTER_CLOCKWISE, 0.2),
        ("always-wrong-way", lambda done: done.spin is Spin.COUNTER_CLOCKWISE, 1.0),
        ("wrong-peg", lambda done: done.string == "D4", 0.3),
        ("neighbours-peg", lambda done: done.string == "D4", 0.4),
        ("any-peg", lambda done: done.string != "A4", 0.5),
        ("wrong-peg-and-string", lambda done: done.string == "D4", 0.3),
        ("overshoots", lambda done: done.beyond == 15.0, 1.0),
        ("perfect", lambda done: done.by_ear, 1.0),
    ],
)
def test_each_makes_the_mistake_they_are_named_for(name, mistaken, probability):
    done = turns(name)
    if name in {"neighbours-peg", "any-peg", "wrong-peg", "wrong-peg-and-string"}:
        wrong = [d for d in done if d.string != "A4"]
        assert {d.string for d in wrong} == ({"G3", "D4", "E5"} if name == "any-peg" else {"D4"})
    assert share(map(mistaken, done)) == pytest.approx(probability, abs=0.07)
    assert share(map(mistaken, turns("careful"))) == 0.0


@pytest.mark.parametrize(
    ("name", "mistaken", "probability"),
    [
        ("wrong-string", lambda done: done.string == "D4", 0.25),
        ("half-the-plucks-pitchless", lambda done: done.pitchless, 0.5),
        ("pitchless", lambda done: done.pitchless, 1.0),
        ("two-children", lambda done: done.other_child, 0.5),
        ("plucks-fast", lambda done: done.listens <= 0.25, 1.0),
        ("does-not-wait", lambda done: done.listens <= 0.3, 1.0),
    ],
)
def test_each_plucks_as_they_are_named_for(name, mistaken, probability):
    plucks = [player(n, s).act(picture(asks=Asks.PLUCK)) for n in (name, "careful") for s in range(400)]
    assert all(isinstance(pluck, Pluck) for pluck in plucks)
    assert share(map(mistaken, plucks[:400])) == pytest.approx(probability, abs=0.07)
    assert share(map(mistaken, plucks[400:])) == 0.0


def test_a_string_is_plucked_again_or_out_of_order_as_often_as_said():
    asks = picture(asks=Asks.PLUCK, pluck="A4")
    again = Player(replace(CHARACTERS["careful"], same_again=0.4), PEGBOX, random.Random(1), plucked="G3")
    strings = []
    for _ in range(300):
        again.plucked = "G3"
        strings.append(again._pluck("A4", asks).string)
    assert set(strings) == {"G3", "A4"}
    assert share(s == "G3" for s in strings) == pytest.approx(0.4, abs=0.1)
    anyhow = Player(replace(CHARACTERS["careful"], out_of_order=1.0), PEGBOX, random.Random(1))
    assert {anyhow._pluck("A4", asks).string for _ in range(60)} == set(NAMES)
    assert {anyhow._pluck("A4", picture(PEG_UP)).string for _ in range(60)} == {"A4"}  # a turn is asked for


def test_a_hand_that_strays_each_turn_is_put_right_by_no_picture():
    one, pegs_turned = player("any-peg"), []
    for _ in range(200):
        done = one.act(picture(corrects=True))
        pegs_turned += [done.string] if isinstance(done, HandTurn) else []
    assert len(pegs_turned) > 90
    assert share(string != "A4" for string in pegs_turned) == pytest.approx(0.5, abs=0.12)
    assert CHARACTERS["any-peg"].hand is Hand.ANY


def test_turning_while_plucking_is_of_the_screw_and_within_one_sounding():
    done = turns("turns-while-plucking", SCREW_UP)
    assert all(isinstance(d, Pluck) and d.turning.part is PicturedPart.SCREW for d in done)
    assert all(isinstance(d, HandTurn) for d in turns("turns-while-plucking", PEG_UP))


def test_the_teacher_plucks_in_their_own_order():
    one = player("teacher")
    assert [one.act(picture(asks=Asks.PLUCK)).string for _ in range(4)] == ["E5", "A4", "D4", "G3"]


def test_stop_stops_everybody_but_the_one_who_ignores_it():
    counted = 0
    for name in CHARACTERS:
        done = [player(name, seed).act(picture(asks=Asks.STOP)) for seed in range(60)]
        turned = share(isinstance(d, HandTurn) for d in done)
        assert (turned > 0.5) is (name == "ignores-warnings")
        assert turned == 0.0 or name == "ignores-warnings"
        counted += 1
    assert counted == len(CHARACTERS)


def test_nobody_waits_for_ever():
    one = player("careful")
    done = [one.act(picture(asks=Asks.GROWN_UP)) for _ in range(20)]
    assert isinstance(done[0], Wait)
    assert PressNext() in done
    assert done[-1] == Leave()


def test_a_grown_up_who_is_there_comes_when_asked_and_once_for_each_string():
    for wanted in (picture(asks=Asks.GROWN_UP), picture(asks=Asks.PLUCK, helps=True)):
        one = player("with-a-grown-up")
        done = [one.act(wanted) for _ in range(6)]
        assert done.count(CallTeacher()) == 1
        assert CallTeacher() not in [player("careful", n).act(wanted) for n in range(20)]


def test_the_grown_up_who_came_takes_no_wrong_string_though_the_child_always_did():
    errs = replace(
        CHARACTERS["with-a-grown-up"],
        mixes_up=1.0,
        strays=1.0,
        each_turn=True,
        wrong_string=1.0,
        wrong_way=1.0,
    )
    one = Player(errs, PEGBOX, random.Random(1))
    before = one.act(picture(PEG_UP))
    assert one.act(picture(asks=Asks.PLUCK, pluck="A4")).string == "D4"
    assert isinstance(one.act(picture(asks=Asks.GROWN_UP)), CallTeacher)
    after = one.act(picture(PEG_UP))
    assert (before.string, after.string) == ("D4", "A4")
    assert after.spin is Spin.COUNTER_CLOCKWISE  # they may still take an arrow for its opposite
    assert one.act(picture(asks=Asks.PLUCK, pluck="A4")).string == "A4"


def test_the_end_picture_ends_it():
    assert player("careful").act(picture(asks=Asks.END, all_right=True)) == Leave()


def slips(push_in, count=400):
    turn = HandTurn("A4", PicturedPart.PEG, Spin.CLOCKWISE, 6.0, push_in)
    instrument = violin(slips_pushed=0.03, slips_unpushed=0.4)
    return [apply_turn(instrument, turn, VIOLIN, random.Random(seed)) for seed in range(count)]


def test_a_wooden_peg_holds_when_it_is_pushed_in_and_a_slip_lets_the_string_down():
    assert share(done.slipped for done in slips(push_in=True)) == pytest.approx(0.03, abs=0.025)
    loose = slips(push_in=False)
    assert share(done.slipped for done in loose) == pytest.approx(0.4, abs=0.07)
    pitch = {done.slipped: errors(done.instrument, VIOLIN)["A4"] for done in loose}
    assert pitch[True] < pitch[False] - 3.0


def test_a_peg_that_sticks_moves_by_jumps_and_on_average_as_far_as_asked():
    instrument = violin(sticks_degrees=4.0)
    turn = HandTurn("A4", PicturedPart.PEG, Spin.CLOCKWISE, 3.0)
    steps = [
        errors(apply_turn(instrument, turn, VIOLIN, random.Random(seed)).instrument, VIOLIN)["A4"]
        for seed in range(600)
    ]
    worth = cents_per_degree(instrument, "A4")
    still = share(step < 0.01 for step in steps)
    assert still == pytest.approx(0.25, abs=0.06)  # 3 of 4 degrees: one turn in four does not move it
    assert sum(steps) / 600 == pytest.approx(3.0 * worth, rel=0.08)
    assert max(steps) > 1.3 * 4.0 * worth * 0.95


def test_a_perfect_hand_stops_where_the_string_is_right_and_never_turns_it_away():
    goal = string_up(Build(), VIOLIN | {"A4": VIOLIN["A4"] * 0.985})
    up = HandTurn("A4", PicturedPart.PEG, Spin.CLOCKWISE, 6.0, by_ear=True)
    done = apply_turn(goal, up, VIOLIN, random.Random(1)).instrument
    assert cents(done.pitch("A4"), VIOLIN["A4"]) == pytest.approx(0.0, abs=0.1)
    down = apply_turn(goal, replace(up, spin=Spin.COUNTER_CLOCKWISE), VIOLIN, random.Random(1)).instrument
    assert done.pitch("A4") > goal.pitch("A4") > down.pitch("A4")


def test_overshooting_goes_on_by_fifteen_cents():
    flat = string_up(Build(), VIOLIN)
    for part in each(PicturedPart):
        plain = HandTurn("A4", part, Spin.CLOCKWISE, 5.0)
        ends = [
            errors(apply_turn(flat, turn, VIOLIN, random.Random(1)).instrument, VIOLIN)["A4"]
            for turn in (plain, replace(plain, beyond=15.0))
        ]
        assert ends[1] - ends[0] == pytest.approx(15.0, rel=0.1)


def heard(pluck, hz):
    return Heard(Seconds(pluck), pluck, hz, 0.1, 0.0, 0.0, -20.0, Seconds(0.5))


def test_a_bare_number_that_grew_makes_the_player_turn_the_other_way():
    guide = BareNumber(Settings(pegs_by_grown_up=False), random.Random(1))
    spins = []
    for pluck, hz in ((1, 600.0), (2, 560.0), (3, 600.0)):
        guide.take(heard(pluck, hz))
        guide.look()
        assert guide.shown.turn.part is PicturedPart.PEG
        spins.append(guide.shown.turn.spin)
    assert spins[0] is not spins[1]
    assert spins[1] is spins[2]


def test_a_small_number_goes_on_to_the_next_string_and_a_large_one_is_left_with_pegs_barred():
    guide = BareNumber(Settings(), random.Random(1))
    guide.take(heard(1, 659.0))
    guide.look()
    assert (guide.shown.string, guide.shown.left) == ("A4", frozenset())
    guide.take(heard(2, 400.0))
    guide.look()
    assert (guide.shown.string, guide.shown.left) == ("D4", frozenset({"A4"}))
