"""The lesson's figures, each from both sides: what it still does, and what it no longer does.

Limits that we chose are written here again by hand, so that moving one is a decision and no accident.
"""

import math
from dataclasses import replace

import pytest

from device.config.settings import Settings, StringSet
from device.events import Plucked, Tick
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.advice import Say
from device.lesson.monitored import advance
from device.lesson.state import Phase
from dsp import Cents, Hz, Seconds
from tests.coaching import off, read_as
from tests.test_lesson import CHILD, GROWN_UP, HIGH_TO_LOW, PEG, SCREW, Played
from tests.test_lesson_endings import silent
from tests.test_lesson_promises import turn_of, way_home
from tests.test_lesson_times import ticked
from tests.test_safety_monitor import NEAR_BREAKING, STRUNG

SURELY = {"std_error_cents": Cents(0.01)}


def surveyed(chosen, **offs: float) -> Played:
    """All strings heard, and very surely."""
    lesson = Played(chosen, **offs)
    for _ in chosen.strings:
        lesson.pluck(**SURELY)
    return lesson


def begun(lesson: Played, at: float = 50.0, pluck: int = 900):
    """The coach when another string is just plucked."""
    return advance(lesson.coach, Plucked(Seconds(at), pluck, -20.0), lesson.chosen)


def test_two_unsure_plucks_count_together_each_with_the_weight_of_its_certainty():
    """The mean weighted by 1 / error^2, and 1 / sqrt of the weights' sum for its error (any handbook of
    errors, such as the GUM's weighted mean): -8 +- 4.5 and -3 +- 3 cents make -4.54 +- 2.50."""
    lesson = Played(CHILD, A4=-8.0)
    for name in HIGH_TO_LOW:
        lesson.pluck(name, std_error_cents=Cents(4.5 if name == "A4" else 0.3))
    assert lesson.advice.say is Say.PLUCK_AGAIN
    lesson.pluck("A4", -3.0, std_error_cents=Cents(3.0))
    weights = (1.0 / 4.5**2, 1.0 / 3.0**2)
    mean = (-8.0 * weights[0] - 3.0 * weights[1]) / sum(weights)
    assert lesson.coach.cents == pytest.approx(mean, abs=0.01)
    assert lesson.coach.std_error_cents == pytest.approx(1.0 / math.sqrt(sum(weights)), rel=0.001)


@pytest.mark.parametrize(("fell", "say"), [(14.5, Say.PLUCK_OTHERS), (15.5, Say.TURN_ON)])
def test_a_string_that_fell_by_more_than_15_cents_was_turned_the_wrong_way(fell, say):
    """Another string that is wound up pulls by 4 % at the most: 15 cents are those of 375 (chosen)."""
    lesson = surveyed(CHILD, A4=-12.0)
    assert lesson.advice.turn is SCREW
    lesson.offs["A4"] -= fell
    assert lesson.pluck(**SURELY).advice.say is say


@pytest.mark.parametrize(
    "changes",
    [
        {"frequency_hz": Hz(math.nan)},
        {"frequency_hz": Hz(math.inf)},
        {"std_error_cents": Cents(math.nan)},
        {"std_error_cents": Cents(-1.0)},
        {"octave_doubt": math.nan},
        {"drift_cents_per_s": math.inf},
    ],
)
def test_a_reading_that_is_no_number_is_no_reading(changes):
    coach = begun(surveyed(CHILD, A4=-20.0))
    sane = read_as(off(CHILD, "A4", 0.0), 50.0, 900, 1.1)
    assert advance(coach, sane, CHILD).phase is Phase.RIGHT
    after = advance(coach, replace(sane, **changes), CHILD)
    assert (after.phase, after.advice, after.cents) == (Phase.LISTENING, coach.advice, None)


def test_three_plucks_in_a_row_without_a_pitch_get_their_picture_and_a_clear_one_between_begins_anew():
    lesson = Played(CHILD, A4=-20.0).survey()
    assert silent(lesson, 2) == [Say.PLUCK_AGAIN] * 2
    lesson.coach, lesson.at = begun(lesson, lesson.at + 3.0), lesson.at + 4.0
    clear = read_as(off(CHILD, "A4", -20.0), lesson.at - 1.0, 900, 0.7)
    lesson.coach = advance(lesson.coach, clear, CHILD)
    assert lesson.coach.phase is Phase.GUIDING
    assert silent(lesson, 3) == [Say.PLUCK_AGAIN, Say.PLUCK_AGAIN, Say.NO_PITCH]


@pytest.mark.parametrize(("late", "stays"), [(-8.4, True), (-9.5, False)])
def test_right_stays_within_a_sounding_unless_it_is_surely_off(late, stays):
    """A beginner's tolerance is eight cents; two errors of 0.3 cents more are not surely outside."""
    coach = begun(surveyed(CHILD, A4=-20.0))
    coach = advance(coach, read_as(off(CHILD, "A4", 0.0), 50.0, 900, 1.05), CHILD)
    assert coach.phase is Phase.RIGHT
    coach = advance(coach, read_as(off(CHILD, "A4", late), 50.0, 900, 1.3), CHILD)
    assert (coach.phase is Phase.RIGHT) is stays


@pytest.mark.parametrize(("after_s", "goes_on"), [(3.9, False), (4.1, True)])
def test_a_grown_up_has_four_seconds_to_look_at_the_bridge(after_s, goes_on):
    lesson = Played(GROWN_UP, A4=-400.0)
    for _ in range(40):
        if lesson.advice.turn is PEG and lesson.advice.string == "A4":
            lesson.offs["A4"] = min(lesson.offs["A4"] + 60.0, -5.0)
        lesson.pluck()
        if lesson.advice.say is Say.CHECK_BRIDGE:
            break
    assert lesson.advice.say is Say.CHECK_BRIDGE
    after = ticked(lesson.coach, lesson.coach.since + after_s, GROWN_UP)
    assert (after.advice.say is not Say.CHECK_BRIDGE) is goes_on


@pytest.mark.parametrize(
    ("learned", "flat", "part"),
    [(1.5, 1.45, SCREW), (1.5, 1.55, PEG), (3.0, 1.95, SCREW), (3.0, 2.05, PEG)],
)
def test_a_screw_that_was_felt_to_be_steep_takes_its_string_further_but_twice_as_far_at_most(
    learned, flat, part
):
    """How far a screw takes a string goes with how steep it is; `flat` is in reaches of a usual one.

    A fine tuner is for the last 50 cents (common practice), and ten more are asked of one that was felt to
    act.
    """
    turn, _, _ = turn_of("A4", GROWN_UP, learned, A4=-60.0 * flat)
    assert (turn.say, turn.turn) == (Say.TURN, part)


def test_three_soundings_that_nothing_explains_call_all_strings_while_others_are_heard_too():
    lesson = Played(GROWN_UP, E5=-20.0).survey()
    for _ in range(6):
        if lesson.advice.say is Say.PLUCK_OTHERS:
            break
        lesson.pluck()
    assert (lesson.advice.say, lesson.coach.string) == (Say.PLUCK_OTHERS, "E5")
    said = [lesson.pluck(cents=-450.0).advice.say for _ in range(3)]
    assert said == [Say.PLUCK_OTHERS, Say.PLUCK_OTHERS, Say.PLUCK_ALL]
    assert lesson.advice.turn is TuningPart.NONE


def test_a_very_sure_reading_that_is_off_is_answered_by_a_turn_and_not_by_another_pluck():
    lesson = surveyed(CHILD, A4=-12.0)
    lesson.offs["A4"] = -9.0
    assert lesson.pluck(**SURELY).advice.turn is SCREW


@pytest.mark.parametrize(("moved", "in_vain"), [(2.5, 1), (3.5, 0)])
def test_a_turn_that_moved_a_string_by_less_than_three_cents_was_in_vain(moved, in_vain):
    """Fifteen hundredths of the 20 cents or more that were expected (chosen): a reading or a pull errs so
    far."""
    lesson = surveyed(CHILD, A4=-30.0)
    lesson.offs["A4"] += moved
    assert lesson.pluck(**SURELY).coach.memory.lesson.of("A4").tries == in_vain


def test_a_string_that_nothing_moves_is_left_after_two_turns_of_its_screw_and_five_of_its_peg():
    lesson, turns = Played(GROWN_UP, E5=-20.0).survey(), []
    for _ in range(30):
        if lesson.advice.say is Say.GROWN_UP:
            break
        if lesson.advice.turn is not TuningPart.NONE:
            turns.append(lesson.advice.turn)
        lesson.pluck()
    assert lesson.advice.say is Say.GROWN_UP
    assert turns == [SCREW] * 2 + [PEG] * 5


def test_the_number_shown_stands_still_within_a_sounding_unless_it_is_another_or_much_surer():
    """Less than three quarters of a cent is no news, unless the error has halved (both chosen)."""
    coach = begun(surveyed(CHILD, A4=-20.0))
    shown = []
    for since, cents, error in ((1.0, -1.0, 0.3), (1.1, -1.4, 0.29), (1.2, -1.4, 0.1), (1.3, -2.3, 0.1)):
        hz = off(CHILD, "A4", cents)
        coach = advance(coach, read_as(hz, 50.0, 900, since, std_error_cents=Cents(error)), CHILD)
        shown.append(coach.cents)
    assert coach.phase is Phase.RIGHT
    assert shown == pytest.approx([-1.0, -1.0, -1.4, -2.3], abs=1e-6)


@pytest.mark.parametrize(("began", "counts"), [(-0.5, False), (0.3, True)])
def test_what_began_to_sound_before_a_string_was_asked_for_says_nothing_of_it(began, counts):
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey().moved("A4", 20.0)
    lesson.event(Tick, 0.5).event(Tick, 2.0)
    assert lesson.coach.string == "D4"
    still = read_as(off(CHILD, "A4", 0.0), lesson.at + began, 901, 0.7)
    after = advance(lesson.coach, still, CHILD)
    assert (after.memory != lesson.coach.memory) is counts


def grown(room_left: float) -> Played:
    """An E that rose by 18 cents when it was to be let down, to so many degrees of peg from its margin."""
    e5 = STRUNG.of("E5")
    share = NEAR_BREAKING - room_left * e5.peg_load
    away = 600.0 * math.log2(share / e5.load_at(e5.target_hz))  # load goes with the square of the pitch
    lesson = Played(GROWN_UP, E5=away - 18.0).until_turn(12)
    assert (lesson.advice.string, lesson.advice.direction) == ("E5", Direction.LOOSEN)
    return lesson.moved("E5", 18.0)


@pytest.mark.parametrize(("room_left", "say"), [(4.3, Say.TURN_ON), (3.7, Say.GROWN_UP)])
def test_a_string_that_rose_when_let_down_is_tried_again_only_if_it_bears_a_hair_the_wrong_way(
    room_left, say
):
    """A hair is two degrees, and a hand may turn twice as far as asked."""
    assert grown(room_left).advice.say is say


def gut_at(reference_hz: float) -> Settings:
    """A violin with a plain gut E, tuned to this A by a grown-up."""
    return replace(GROWN_UP, string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(reference_hz))


@pytest.mark.parametrize("away", [-60.0, -30.0, -12.0])
def test_a_string_whose_own_note_lies_near_breaking_is_tightened_by_nobody(away):
    """Plain gut breaks at 245 Hz m (a string maker's tests): at an A of 460 Hz the E is at (0.328 x 689.2 /
    245)^2, 0.85 of that load. Hearing other strings would change nothing, so nobody is asked to pluck them.
    """
    assert NEAR_BREAKING < (0.328 * 659.255 * 460.0 / 440.0 / 245.0) ** 2
    turn, _, _ = turn_of("E5", gut_at(460.0), E5=away)
    assert (turn.say, turn.turn) == (Say.GROWN_UP, TuningPart.NONE)


def test_where_only_a_part_of_a_turn_is_safe_it_is_made_as_much_smaller_as_it_must_be():
    """A whole turn of the screw is wished for, and a hand may turn it twice as far: a third is safe, half
    is not."""
    turn, e5, hz = turn_of("E5", gut_at(444.0), E5=-19.0)
    assert (turn.turn, turn.direction) == (SCREW, Direction.TIGHTEN)
    assert e5.carried(hz, 0.0, 2.0 * turn.degrees) < NEAR_BREAKING
    assert e5.carried(hz, 0.0, 2.0 * 180.0) > NEAR_BREAKING
    assert 0.25 * 360.0 < turn.degrees < 180.0


@pytest.mark.parametrize("steep", [0.5, 1.0, 3.0])
def test_what_a_plain_e_taught_says_nothing_of_a_wound_string(steep):
    """Its stretch is a wire's own, and the cores of the others are of another material."""
    assert way_home(E5=steep) == way_home()
