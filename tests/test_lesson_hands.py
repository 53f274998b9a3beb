"""What the lesson makes of hands: small turns counted together, and one that was on the wrong part."""

import math

import pytest

from device.config.settings import Order, Settings
from device.events import Tick
from device.lesson.advice import Say
from device.lesson.monitored import advance
from device.lesson.state import Mark, Phase
from dsp import Cents
from tests.coaching import off, read_as
from tests.test_lesson import CHILD, GROWN_UP, PEG, SCREW, Played

FIVE = {"std_error_cents": Cents(5.0 / math.sqrt(8.0))}
"""Two such readings differ by up to 5 cents by chance (two errors of their difference), by 7.5 at three."""


def test_a_turn_too_small_to_be_heard_is_none_in_vain_and_counts_with_the_next():
    """Of nine cents or so two were moved, which a reading may err by; then six of what was asked in all."""
    lesson = Played(CHILD, A4=-9.0).survey()
    first = lesson.coach.memory.lesson.pending
    assert first is not None
    lesson.offs["A4"] += 2.0
    lesson.pluck(**FIVE)
    both = lesson.coach.memory.lesson.pending
    assert both is not None
    assert both.from_hz == first.from_hz
    assert both.degrees > first.degrees + 5.0
    assert lesson.coach.memory.lesson.of("A4").tries == 0
    lesson.offs["A4"] += 7.0
    lesson.pluck(**FIVE)
    assert lesson.coach.memory.lesson.of("A4").screw is not None


def with_a_hand_on_the_wrong_part() -> Played:
    """The D's screw was turned for the A's, found out, and undone."""
    lesson = Played(CHILD, A4=-11.0).survey()
    lesson.offs["D4"] += 40.0
    for _ in range(6):
        lesson.pluck()
        if lesson.advice.say is Say.LOOSEN_BACK:
            break
    assert (lesson.advice.say, lesson.advice.string) == (Say.LOOSEN_BACK, "D4")
    lesson.offs["D4"] -= 40.0
    for _ in range(6):
        lesson.pluck().event(Tick, 2.0)
        if (lesson.advice.turn, lesson.advice.string) == (SCREW, "A4"):
            break
    return lesson


@pytest.mark.parametrize(("strayed", "heard_again"), [(False, set()), (True, {"E5", "D4", "G3"})])
def test_once_a_hand_was_on_the_wrong_part_a_turn_must_be_heard_surely_for_the_others_to_be_left_alone(
    strayed, heard_again
):
    """Of eleven cents eight and a half are over half, where two readings of 3 differ by 9 hardly ever."""
    lesson = with_a_hand_on_the_wrong_part() if strayed else Played(CHILD, A4=-11.0).survey()
    assert lesson.coach.memory.lesson.strayed is strayed
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "A4")
    lesson.offs["A4"] += 8.5
    lesson.pluck(std_error_cents=Cents(3.0)).event(Tick, 0.5)
    assert lesson.mark("A4") is Mark.RIGHT
    plucked = set[str]()
    for _ in range(8):
        lesson.event(Tick, 2.0)
        if lesson.coach.phase is Phase.FINISHED:
            break
        plucked.add(lesson.asked)
        lesson.pluck()
    assert (lesson.advice.say, plucked) == (Say.ALL_RIGHT, heard_again)


def test_a_string_that_is_asked_for_while_others_sound_is_left():
    """Three rounds of the others, of a player in an order of their own whose G does not sound."""
    own = Settings(order=Order.WHICHEVER_IS_PLUCKED)
    lesson = Played(own, G3=-20.0).survey()
    assert lesson.coach.string == "G3"
    plucks = 0
    while lesson.coach.phase is not Phase.FINISHED and plucks < 40:
        lesson.pluck(("E5", "A4", "D4")[plucks % 3]).event(Tick, 2.0)
        plucks += 1
    assert (lesson.advice.say, lesson.mark("G3")) == (Say.STAYS_OFF, Mark.GROWN_UP)
    assert plucks <= 18  # three until it is asked for, twelve that pass it by, and one each to notice


def test_what_was_read_to_move_at_the_end_does_not_count_as_right():
    """One late reading that states four cents a second: the string is heard again before the end."""
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.offs["A4"] += 20.0
    lesson.pluck(drift_cents_per_s=4.0).event(Tick, 0.5)
    assert (lesson.mark("A4"), lesson.coach.phase) == (Mark.TO_DO, Phase.GUIDING)
    assert (lesson.advice.say, lesson.asked) == (Say.PLUCK_AGAIN, "A4")


def test_the_look_at_the_bridge_stays_though_the_string_reads_a_little_flatter():
    """It is asked for within 50 cents of the place; a later reading of that pluck beyond changes nothing."""
    lesson = Played(GROWN_UP, A4=-400.0)
    for _ in range(40):
        if lesson.advice.turn is PEG and lesson.advice.string == "A4":
            lesson.offs["A4"] = min(lesson.offs["A4"] + 60.0, -45.0)
        lesson.pluck()
        if lesson.advice.say is Say.CHECK_BRIDGE:
            break
    assert lesson.advice.say is Say.CHECK_BRIDGE
    flatter = read_as(off(GROWN_UP, "A4", lesson.offs["A4"] - 8.0), lesson.at, lesson.count, 1.2)
    assert advance(lesson.coach, flatter, GROWN_UP).advice.say is Say.CHECK_BRIDGE


def test_what_was_told_right_stays_so_while_it_dies_away_and_its_readings_grow_unsure():
    lesson = Played(CHILD, A4=-20.0).survey().moved("A4", 19.0)
    assert lesson.advice.say is Say.RIGHT
    for since in (1.3, 1.4, 1.5):
        fading = read_as(off(CHILD, "A4", 3.0), lesson.at, lesson.count, since, std_error_cents=Cents(6.0))
        lesson.coach = advance(lesson.coach, fading, CHILD)
    lesson.event(Tick, 3.0)
    assert lesson.advice.say is Say.ALL_RIGHT


def test_what_was_told_right_is_heard_again_where_a_surer_reading_says_otherwise():
    lesson = Played(CHILD, A4=-20.0).survey().moved("A4", 19.0)
    for since in (1.3, 1.4, 1.5):
        surer = read_as(off(CHILD, "A4", 10.0), lesson.at, lesson.count, since, std_error_cents=Cents(0.1))
        lesson.coach = advance(lesson.coach, surer, CHILD)
    lesson.event(Tick, 3.0)
    assert lesson.advice.say is not Say.ALL_RIGHT


def test_a_small_turn_that_was_not_surely_heard_says_nothing_of_the_others():
    """A rise of 6.2 cents, read with an error of 3.2, is less than two errors, whatever was heard before."""
    lesson = Played(CHILD, A4=-24.3).survey()
    for step in (8.0, 8.0):
        lesson.until_turn().moved("A4", step)
    lesson.until_turn().offs["A4"] += 6.2
    lesson.pluck("A4", std_error_cents=Cents(3.2))
    assert (lesson.advice.say, lesson.mark("A4")) == (Say.RIGHT, Mark.RIGHT)
    assert lesson.mark("G3") is Mark.TO_DO


def test_what_is_heard_barely_teaches_less_of_how_steep_a_part_is():
    surely, barely = (
        Played(CHILD, A4=-45.0).survey().pluck("A4", -35.0, std_error_cents=Cents(error))
        for error in (0.3, 4.0)
    )
    learned = [played.coach.memory.lesson.of("A4").screw for played in (surely, barely)]
    assert 0.0 < learned[0] < learned[1] < 1.0


@pytest.mark.parametrize(("drift", "say"), [(0.0, Say.TURN), (-217.0, Say.PLUCK_AGAIN)])
def test_a_reading_of_a_string_that_seems_to_run_is_no_ground_for_a_turn(drift, say):
    """Fifteen cents down and read within 5: sure where it stands, and 11 cents less so where it runs."""
    lesson = Played(CHILD, A4=-15.0).survey()
    assert lesson.asked == "A4"
    lesson.pluck("A4", std_error_cents=Cents(5.0), drift_cents_per_s=drift)
    assert lesson.advice.say is say
