"""Every lesson ends: in tune, or handed over, whatever the player does."""

from itertools import pairwise

from device.config.settings import Order, Settings, Size
from device.events import Plucked, TeacherHere, Tick
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.monitored import advance
from device.lesson.state import Mark, Phase
from dsp import Cents, Hz, Seconds, cents
from tests.each import each
from tests.test_lesson import CHILD, GROWN_UP, HIGH_TO_LOW, PEG, SCREW, Played

MOST = 25  # plucks a string


def silent(lesson: Played, times: int) -> list[Say]:
    """What is said after so many plucks without a pitch."""
    said = []
    for _ in range(times):
        lesson.at, lesson.count = lesson.at + 3.0, lesson.count + 1
        lesson.coach = advance(
            lesson.coach, Plucked(Seconds(lesson.at), 5000 + lesson.count, -20.0), lesson.chosen
        )
        lesson.event(Tick, 1.3)
        said.append(lesson.advice.say)
    return said


def test_a_string_that_stays_silent_is_left_after_six_plucks_and_the_rest_goes_on():
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey()
    assert lesson.advice.string == "A4"
    assert silent(lesson, 6)[2:] == [Say.NO_PITCH] * 3 + [Say.GROWN_UP]
    assert lesson.mark("A4") is Mark.GROWN_UP
    lesson.event(Tick, 3.0)
    assert lesson.coach.phase is not Phase.FINISHED
    assert lesson.asked != "A4"


def test_six_silent_plucks_before_all_were_heard_end_the_lesson():
    lesson = Played(CHILD).pluck().pluck()
    silent(lesson, 6)
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)


def dead(lesson: Played, most: int = MOST) -> int:
    """How many plucks a dead string takes that are too fast for any answer, and no faster than is borne."""
    asked = lesson.asked
    for number in range(1, most + 1):
        lesson.at, lesson.count = lesson.at + 0.7, lesson.count + 1
        lesson.coach = advance(
            lesson.coach, Plucked(Seconds(lesson.at), 7000 + lesson.count, -20.0), lesson.chosen
        )
        if lesson.mark(asked) is Mark.GROWN_UP:
            return number
    return 0


def test_a_dead_string_that_is_plucked_without_a_pause_is_left_and_a_grown_up_may_try_it():
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey()
    assert (dead(lesson), lesson.advice.say) == (MOST, Say.GROWN_UP)
    assert lesson.coach.phase is not Phase.FINISHED
    lesson.event(TeacherHere, 1.0)
    assert lesson.asked == "A4"
    assert (dead(lesson, MOST - 2), lesson.mark("A4")) == (0, Mark.TO_DO)


def test_a_dead_string_that_is_plucked_without_a_pause_before_all_were_heard_ends_the_lesson():
    lesson = Played(CHILD).pluck().pluck()
    assert dead(lesson) == MOST
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)


def test_a_string_in_the_way_that_stays_silent_is_left_with_the_one_that_waits_for_it():
    lesson = Played(GROWN_UP, G3=-180.0).survey()
    for _ in range(6):
        lesson.pluck()
        if lesson.advice.say is Say.PLUCK_OTHERS:
            break
    waited_for = lesson.asked
    assert (lesson.advice.say, lesson.coach.string) == (Say.PLUCK_OTHERS, "G3")
    silent(lesson, 6)
    assert {lesson.mark("G3"), lesson.mark(waited_for)} == {Mark.GROWN_UP}


def test_a_string_plucked_again_and_again_without_a_sure_answer_is_left():
    lesson = Played(CHILD, A4=-20.0).survey()
    for _ in range(11):
        lesson.pluck("A4", octave_doubt=0.5)
        if lesson.mark("A4") is Mark.GROWN_UP:
            break
    assert (lesson.count, lesson.mark("A4")) == (4 + 8, Mark.GROWN_UP)


def test_who_never_plucks_slower_is_handed_over_in_the_end():
    lesson = Played(CHILD)
    for count in range(1, MOST * 4):
        at = Seconds(5.0 + count / 4.0)
        lesson.coach = advance(lesson.coach, Plucked(at, 7000 + count, -20.0), CHILD)
        if lesson.coach.phase is Phase.FINISHED:
            break
    assert (count, lesson.advice.say) == (41, Say.STAYS_OFF)  # the first, and forty too soon after another


def test_a_missing_string_ends_the_lesson_of_who_chooses_the_order():
    chosen = Settings(size=Size.FULL, order=Order.WHICHEVER_IS_PLUCKED)
    lesson = Played(chosen)
    for count in range(1, 20):
        lesson.pluck(("G3", "D4", "E5")[count % 3])
        if lesson.coach.phase is Phase.FINISHED:
            break
    assert (count, lesson.advice.say) == (11, Say.STAYS_OFF)


def against(lesson: Played, most: int) -> int:
    """Turns made the wrong way round until the lesson is over, or `most`."""
    turns = 0
    for _ in range(most):
        name = lesson.advice.string
        if lesson.advice.turn is not TuningPart.NONE and name is not None:
            turns += 1
            up = lesson.advice.direction.value == "loosen"
            lesson.offs[name] += 25.0 if up else -25.0
        lesson.pluck()
        lesson.event(Tick, 5.0)
        if lesson.coach.phase is Phase.FINISHED:
            break
    return turns


def test_who_turns_everything_the_wrong_way_is_handed_over_after_two_strings():
    lesson = Played(GROWN_UP, **dict.fromkeys(HIGH_TO_LOW, -90.0)).survey()
    assert against(lesson, 60) == 8
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)


def test_the_end_is_not_hidden_by_a_string_that_was_heard_near_its_limit():
    lesson = Played(CHILD, **dict.fromkeys(HIGH_TO_LOW, 500.0))
    warned = False
    for _ in range(MOST * 4):
        lesson.pluck()
        warned = warned or lesson.advice.warning is Alarm.STOP
        lesson.event(Tick, 5.0)
        if lesson.coach.phase is Phase.FINISHED:
            break
    assert warned
    assert lesson.advice.say is Say.STAYS_OFF
    lesson.pluck("E5")
    assert (lesson.coach.phase, lesson.advice.warning) == (Phase.FINISHED, None)


def test_a_slack_set_comes_up_in_turns_so_that_each_string_still_sounds_higher_than_the_last():
    lesson = Played(GROWN_UP, **dict.fromkeys(HIGH_TO_LOW, -1200.0)).event(TeacherHere)
    heights, turned = [], set()
    for _ in range(60):
        name = lesson.advice.string
        if lesson.advice.turn is PEG and name is not None:
            lesson.offs[name] += 120.0
            turned.add(name)
        targets = lesson.chosen.targets
        heights.append([cents(targets[n], Hz(440.0)) + lesson.offs[n] for n in HIGH_TO_LOW])
        lesson.pluck()
        lesson.event(Tick, 5.0)
    assert turned == set(HIGH_TO_LOW)
    for high, low in each([(a, b) for h in heights for a, b in pairwise(h)]):
        assert high - low > 35.0


def test_a_tuner_at_its_end_offers_the_peg_to_who_may_turn_it_and_leaves_it_for_who_may_not():
    for chosen, ends_with in each([(GROWN_UP, PEG), (CHILD, TuningPart.NONE)]):
        lesson = Played(chosen, A4=-30.0).survey()
        assert lesson.advice.turn is SCREW
        for _ in range(MOST):
            lesson.pluck()
            if lesson.advice.turn is PEG or lesson.advice.say is Say.GROWN_UP:
                break
        assert lesson.advice.turn is ends_with


def test_a_string_that_rises_twice_when_it_is_to_be_let_down_is_left_for_a_grown_up():
    lesson = Played(CHILD, E5=30.0).survey().until_turn()
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "E5")
    lesson.moved("E5", 19.0).until_turn()
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "E5")
    lesson.moved("E5", 19.0)
    assert (lesson.advice.say, lesson.advice.warning) == (Say.GROWN_UP, None)
    assert lesson.mark("E5") is Mark.GROWN_UP


def in_a_burst(lesson: Played, plucks: int) -> None:
    """So many plucks a quarter of a second apart, none of which can be read."""
    for _ in range(plucks):
        lesson.at, lesson.count = lesson.at + 0.25, lesson.count + 1
        event = Plucked(Seconds(lesson.at), 7000 + lesson.count, -20.0)
        lesson.coach = advance(lesson.coach, event, lesson.chosen)


def test_bursts_of_plucks_end_the_lesson_though_a_good_one_lies_between():
    """A child who only wants to play: before this, each good pluck made the count begin anew."""
    lesson, plucks = Played(CHILD, A4=-20.0).survey(), 4
    while lesson.coach.phase is not Phase.FINISHED and plucks < MOST * 4:
        in_a_burst(lesson, 8)
        if lesson.coach.phase is not Phase.FINISHED:
            lesson.at += 3.0
            lesson.pluck()
        plucks += 9
    assert lesson.advice.say is Say.STAYS_OFF
    assert plucks <= 60


def test_one_burst_ends_nothing():
    lesson = Played(CHILD, A4=-20.0).survey()
    in_a_burst(lesson, 8)
    lesson.at += 3.0
    assert lesson.pluck().coach.phase is not Phase.FINISHED


UNSURE = {"std_error_cents": Cents(3.0)}  # two of them differ by up to 6 by chance, and by 9 hardly ever


def test_a_string_that_moved_by_a_third_of_a_turn_leaves_it_open_whether_another_was_turned():
    """The rest may have gone to its neighbour, and two readings differ by chance: all are heard again."""
    lesson = Played(CHILD, A4=-20.0).survey()
    plucked = set[str]()
    lesson.offs["A4"] += 7.0
    lesson.pluck(**UNSURE)
    while lesson.advice.turn is not SCREW:
        plucked.add(lesson.asked)
        lesson.pluck(**UNSURE)
    lesson.moved("A4", 13.0).event(Tick, 3.0)
    assert lesson.mark("A4") is Mark.RIGHT
    while lesson.coach.phase is not Phase.FINISHED:
        plucked.add(lesson.asked)
        lesson.pluck().event(Tick, 3.0)
    assert (lesson.advice.say, plucked) == (Say.ALL_RIGHT, {"E5", "D4", "G3"})
