"""A grown-up vouches for what is plucked, and plucks a wrong string once in ten: every bound still holds."""

import random
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from device.config.settings import Settings
from device.instrument.roll_call import told_apart
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.safety.monitor import passed
from device.safety.string_bounds import Watch, after_hearing, vouched, watching
from dsp import Cents, Hz, Seconds, shifted
from tests.coaching import read_as, turn_advice
from tests.test_whatever_is_plucked import CHOSEN, SLACK, Played, game

UNKNOWN = Settings(pegs_by_grown_up=False)
STRUNG = strung(UNKNOWN)
ONE_IN = 10  # soundings


class Erring(Played):
    """In each ten soundings one, wherever it falls, is another string's than the one asked for."""

    wrong = 0

    def heard(self, place: int, touched: int, **changes: object) -> None:
        if self.pluck % ONE_IN == 0:
            self.wrong = self.pluck + self.rng.randrange(ONE_IN)
        if self.pluck == self.wrong:
            touched = self.rng.choice([other for other in range(4) if other != place])
            self.met["wrong"] += 1
        super().heard(place, touched, **changes)


MET: Counter[str] = Counter()


@given(CHOSEN, st.lists(SLACK, min_size=4, max_size=4), st.integers(0, 1 << 30))
def test_every_bound_holds_though_a_grown_up_plucks_one_wrong_string_in_ten(chosen, offs, seed):
    played = game(chosen, offs, 0.0, seed, grown_up=True, player=Erring)
    MET.update(played.met)
    MET["games"] += 1
    assert played.low == []


def test_the_property_above_met_turns_wrong_plucks_and_soundings_that_lowered_a_bound():
    assert MET["games"] >= 90
    assert MET["turns"] >= 8 * MET["games"]
    assert MET["wrong"] >= 10 * MET["games"]
    assert MET["lowered"] >= 20 * MET["games"]


def played(watch: Watch, *plucks: tuple[str, str, float]) -> Watch:
    """String asked for, string that sounds, and how many cents that one is off."""
    for asked, sounds, away in plucks:
        hz = shifted(STRUNG.of(sounds).target_hz, Cents(away))
        pluck = watch.pluck + 1
        watch = after_hearing(watch, STRUNG, read_as(hz, float(pluck), pluck, 0.3), asked)
    return watch


def slack(**offs: float) -> Watch:
    """A slack set that a grown-up called, and a turn of the A's peg since."""
    called = [(name, name, offs.get(name, -1200.0)) for name in (*STRUNG.names, "E5")]
    watch = played(vouched(watching(STRUNG.names), Seconds(0.0)), *called)
    asked = turn_advice("A4", TuningPart.PEG, Direction.TIGHTEN, Amount.A_LITTLE, UNKNOWN)
    shown, watch = passed(watch, STRUNG, asked)
    assert shown == asked
    return watch


A_IS_UP = ("A4", "A4", -900.0)


def test_a_grown_ups_one_sounding_lowers_no_bound_where_it_may_be_another_strings_and_two_alike_do():
    once = played(slack(), A_IS_UP)
    assert not once.of("A4").fresh
    assert played(once, A_IS_UP).of("A4").fresh


def test_what_a_neighbour_sounded_like_when_it_was_heard_is_not_believed_to_be_the_string_asked_for():
    """The D, plucked for the A, twice even; a fourth under the A it is within reach of a peg that slipped."""
    wrong = ("A4", "D4", -700.0)
    watch = slack(D4=-700.0)
    assert watch.of("A4").may_sound(shifted(STRUNG.of("D4").target_hz, Cents(-700.0)), STRUNG.of("A4"))
    assert played(watch, wrong, wrong).of("A4") == watch.of("A4")


def test_a_roll_call_that_rises_through_all_four_is_believed():
    called = [(name, name, -1200.0) for name in STRUNG.names]
    called[2] = A_IS_UP
    assert all(bound.fresh for bound in played(slack(), *called).bounds)


def test_one_string_misread_once_and_then_read_right_lowers_no_other_strings_bound():
    """The G, asked for twice: what it is misread as may be the A's, what it is read as may not."""
    wrong, right = Hz(340.0), Hz(170.0)

    def found(*asked: str | None) -> list[str]:
        roll = tuple(
            (n, name, hz, hz) for n, (name, hz) in enumerate(zip(asked, (wrong, right), strict=True))
        )
        heights = told_apart(
            roll,
            ["G3", "A4"],
            lambda name, hz, _, __: 0.0 if name == "G3" or hz == wrong else None,
            lambda _: 0.0,
            lambda _, __: True,
        )
        return sorted(heights)

    assert found("G3", "G3") == ["G3"]
    assert found("A4", "G3") == found(None, None) == ["A4", "G3"]


def test_the_wrong_plucks_of_the_property_fall_anywhere_in_ten():
    erring = Erring(UNKNOWN, [0.0] * 4, 0.0, random.Random(1))
    places = set()
    for _ in range(1000):
        before = erring.met["wrong"]
        erring.heard(0, 0)
        if erring.met["wrong"] > before:
            places.add((erring.pluck - 1) % ONE_IN)
    assert places == set(range(ONE_IN))
    assert erring.met["wrong"] == 100
