"""Rules of the lesson, one or two tests each: what a child meets, pluck by pluck."""

from dataclasses import replace

import pytest

from device.config.settings import Cores, FineTuners, Order, Settings, Size, Tolerance
from device.events import NextString, Plucked, TeacherHere, Tick
from device.instrument.tuning_parts import Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.monitored import advance, start
from device.lesson.state import Mark, Phase
from dsp import Cents, Hz, Instrument, Seconds, cents, shifted
from tests.coaching import off, read_as, sounded

CHILD = Settings(size=Size.FULL, cores=Cores.SYNTHETIC)
GROWN_UP = Settings(size=Size.FULL, cores=Cores.SYNTHETIC, pegs_by_grown_up=False)
HIGH_TO_LOW = ("E5", "A4", "D4", "G3")
PEG, SCREW, NONE = TuningPart.PEG, TuningPart.FINE_TUNER, TuningPart.NONE


class Played:
    """A lesson plucked by hand, three seconds from pluck to pluck."""

    def __init__(self, chosen: Settings, **offs: float) -> None:
        self.chosen, self.at, self.count = chosen, 0.0, 0
        self.offs = {s.name: offs.get(s.name, 0.0) for s in chosen.strings}
        self.coach = start(chosen, Seconds(0.0))

    def pluck(self, name: str | None = None, cents: float | None = None, **changes: object) -> "Played":
        name = name or self.asked
        self.at, self.count = self.at + 3.0, self.count + 1
        hz = off(self.chosen, name, self.offs[name] if cents is None else cents)
        self.coach = sounded(self.coach, self.chosen, hz, self.at, self.count, **changes)
        return self

    def survey(self) -> "Played":
        for _ in self.chosen.strings:
            self.pluck()
        return self

    def moved(self, name: str, cents: float) -> "Played":
        self.offs[name] += cents
        return self.pluck(name)

    def until_turn(self, most: int = 8) -> "Played":
        """Pluck whatever is asked for until something is to be turned, or left."""
        for _ in range(most):
            if self.advice.turn is not NONE or self.advice.say is Say.GROWN_UP:
                break
            self.pluck()
        return self

    def event(self, kind: type, after: float = 0.0) -> "Played":
        self.at += after
        self.coach = advance(self.coach, kind(Seconds(self.at)), self.chosen)
        return self

    @property
    def asked(self) -> str:
        return self.coach.advice.string or self.coach.string

    @property
    def advice(self):
        return self.coach.advice

    def mark(self, name: str) -> Mark:
        return next(s.mark for s in self.coach.strings if s.name == name)


def test_every_string_is_heard_before_anything_is_turned_and_four_plucks_do_for_a_tuned_one():
    lesson = Played(CHILD)
    for name in HIGH_TO_LOW:
        assert (lesson.asked, lesson.advice.turn) == (name, NONE)
        lesson.pluck()
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.ALL_RIGHT)


def test_a_flat_string_gets_its_fine_tuner_and_is_right_when_heard_right():
    lesson = Played(CHILD, A4=-20.0).survey()
    assert (lesson.advice.turn, lesson.advice.string, lesson.advice.direction) == (
        SCREW,
        "A4",
        Direction.TIGHTEN,
    )
    lesson.moved("A4", 19.0)
    assert (lesson.coach.phase, lesson.mark("A4")) == (Phase.RIGHT, Mark.RIGHT)
    lesson.event(Tick, 3.0)
    assert lesson.advice.say is Say.ALL_RIGHT


def test_strings_that_an_unheard_turn_may_have_moved_are_heard_again():
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.event(NextString)
    assert lesson.mark("E5") is not Mark.RIGHT
    assert lesson.advice.say is not Say.ALL_RIGHT
    assert (lesson.coach.phase, lesson.advice.turn) == (Phase.WAITING, NONE)


def test_pulled_by_a_big_turn_a_string_near_the_edge_is_checked():
    lesson = Played(GROWN_UP, A4=-140.0, D4=-6.5).survey().until_turn()
    lesson.moved("A4", 139.0)
    for _ in range(4):
        lesson.event(Tick, 5.0)
    assert (lesson.advice.say, lesson.asked) == (Say.CHECK, "D4")


def test_a_peg_is_left_to_a_grown_up_with_the_way_it_goes_and_asked_for_when_they_came():
    lesson = Played(CHILD, A4=-90.0).survey()
    assert (lesson.advice.say, lesson.advice.turn) == (Say.GROWN_UP, NONE)
    assert lesson.advice.direction is Direction.TIGHTEN
    assert lesson.advice.rotation is not None
    lesson.event(TeacherHere)
    assert (lesson.advice.turn, lesson.advice.string, lesson.advice.push_in) == (PEG, "A4", True)


def test_several_strings_far_down_come_up_from_the_lowest_the_highest_last():
    lesson = Played(GROWN_UP, G3=-200.0, D4=-200.0, A4=-200.0, E5=-200.0)
    for _ in range(9):
        lesson.pluck()
        if lesson.advice.turn is not NONE:
            break
    assert (lesson.advice.turn, lesson.advice.string) == (PEG, "G3")


def test_what_needs_a_peg_comes_before_anything_is_tuned_finely():
    lesson = Played(GROWN_UP, G3=-200.0, D4=-200.0).until_turn(12)
    while lesson.advice.string == "G3":
        lesson.offs["G3"] = min(lesson.offs["G3"] + 60.0, -30.0)
        lesson.pluck().until_turn()
    assert lesson.offs["G3"] == -30.0
    assert (lesson.advice.turn, lesson.advice.string) == (PEG, "D4")


def test_what_was_right_before_is_checked_last():
    lesson = Played(CHILD, A4=-45.0, D4=-20.0, E5=-6.6).survey()
    lesson.moved("A4", 45.0).event(Tick, 3.0)
    lesson.until_turn()
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "D4")
    lesson.moved("D4", 20.0).event(Tick, 3.0)
    assert (lesson.advice.say, lesson.asked) == (Say.CHECK, "E5")


@pytest.mark.parametrize(
    ("e_off", "then"), [(-6.6, (Say.CHECK, "E5")), (6.6, (Say.ALL_RIGHT, "G3"))], ids=["flat", "sharp"]
)
def test_a_string_that_rises_lets_the_others_down_never_up(e_off, then):
    """By 1 to 4 % of the change: what is flat may leave its place, what is sharp comes nearer to it.

    `test_a_change_takes_one_to_four_percent_off_the_others` has the same from the pull on a bridge.
    """
    lesson = Played(CHILD, D4=-45.0, E5=e_off).survey().until_turn()
    lesson.moved("D4", 45.0).event(Tick, 3.0)
    assert (lesson.advice.say, lesson.asked) == then
    now = lesson.coach.memory.lesson.of("E5")
    low, high = (cents(now.hz, lesson.chosen.targets["E5"]) + side * now.pulled for side in (-1.0, 1.0))
    assert low == pytest.approx(e_off - 0.04 * 45.0, abs=0.1)
    assert high == pytest.approx(e_off - 0.01 * 45.0, abs=0.1)


@pytest.mark.parametrize("all_down", [-200.0, -1200.0])
def test_a_whole_set_down_is_ordinary_work_after_a_call_from_the_lowest_up(all_down):
    offs = dict.fromkeys(HIGH_TO_LOW, all_down)
    lesson = Played(GROWN_UP, **offs).event(TeacherHere)
    for _ in range(10):
        lesson.pluck()
        if lesson.advice.turn is not NONE:
            break
    assert (lesson.advice.turn, lesson.advice.direction) == (PEG, Direction.TIGHTEN)


def test_a_string_that_sounds_like_another_is_brought_up_only_with_a_grown_up_there():
    """Who always takes the slack D for the G, plucking and turning, gives the readings of who does not."""
    lesson = Played(GROWN_UP, D4=-650.0)
    for _ in range(16):
        if lesson.advice.turn is PEG and lesson.advice.string == "D4":
            lesson.offs["D4"] += 30.0
        lesson.pluck()
        if lesson.advice.say is Say.GROWN_UP:
            break
    assert (lesson.advice.say, lesson.advice.string) == (Say.GROWN_UP, "D4")
    lesson.event(TeacherHere, 1.0)
    for _ in range(8):
        lesson.pluck()
        if lesson.advice.turn is PEG:
            break
    assert (lesson.advice.turn, lesson.advice.string) == (PEG, "D4")


def test_another_string_than_asked_for_is_named_and_nothing_is_turned():
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.pluck("D4")
    assert (lesson.advice.say, lesson.advice.turn) == (Say.OTHER_STRING, NONE)
    assert lesson.coach.string == "A4"


def test_a_doubtful_octave_asks_for_another_pluck():
    lesson = Played(CHILD, A4=-20.0).survey()
    lesson.pluck("A4", octave_doubt=0.5)
    assert (lesson.advice.say, lesson.advice.turn) == (Say.PLUCK_AGAIN, NONE)


def test_an_arrow_comes_down_with_a_pluck_that_gives_no_pitch_and_three_get_their_own_picture():
    lesson = Played(CHILD, A4=-20.0).survey()
    assert lesson.advice.turn is SCREW
    for number in range(3):
        lesson.at += 3.0
        lesson.coach = advance(lesson.coach, Plucked(Seconds(lesson.at), 100 + number, -20.0), CHILD)
        assert lesson.advice.turn is NONE
        lesson.event(Tick, 1.3)
        assert lesson.advice.say is (Say.NO_PITCH if number == 2 else Say.PLUCK_AGAIN)


def test_a_silent_string_is_struck_off_by_the_teacher_and_the_rest_goes_on():
    lesson = Played(CHILD)
    for number in range(3):
        lesson.at += 3.0
        lesson.coach = advance(lesson.coach, Plucked(Seconds(lesson.at), 100 + number, -20.0), CHILD)
        lesson.event(Tick, 1.3)
    lesson.event(TeacherHere)
    assert lesson.mark("E5") is Mark.GROWN_UP
    for _ in range(3):
        lesson.pluck()
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)
    assert [lesson.mark(n) for n in ("A4", "D4", "G3")] == [Mark.RIGHT] * 3


def test_a_string_that_sounded_in_its_place_is_never_struck_off_and_one_that_does_comes_back():
    lesson = Played(CHILD).pluck("E5").pluck("A4")
    lesson.event(NextString)
    for number in range(3):
        lesson.at += 3.0
        lesson.coach = advance(lesson.coach, Plucked(Seconds(lesson.at), 100 + number, -20.0), CHILD)
        lesson.event(Tick, 1.3)
    silent = lesson.coach.string
    lesson.event(TeacherHere)
    assert lesson.mark(silent) is Mark.GROWN_UP
    assert silent not in {b.name for b in lesson.coach.watch.bounds}
    lesson.count = 200
    lesson.pluck(silent)
    assert lesson.mark(silent) is not Mark.GROWN_UP
    assert silent in {b.name for b in lesson.coach.watch.bounds}


def test_four_plucks_a_second_are_told_that_they_are_too_fast():
    lesson = Played(CHILD)
    for number in range(6):
        lesson.coach = advance(lesson.coach, Plucked(Seconds(5.0 + number / 4.0), 100 + number, -20.0), CHILD)
    assert lesson.advice.say is Say.TOO_FAST


def test_a_turn_in_vain_is_shown_again_then_the_others_are_heard_then_the_peg_is_offered():
    lesson = Played(GROWN_UP, E5=-20.0).survey()
    said = []
    for _ in range(12):
        lesson.pluck()
        said.append((lesson.advice.say, lesson.advice.turn))
        if lesson.advice.turn is PEG:
            break
    assert said[0] == (Say.TURN, SCREW)
    assert (Say.PLUCK_OTHERS, NONE) in said
    assert said[-1] == (Say.TURN, PEG)


def test_the_wrong_part_is_loosened_back_when_another_string_rose():
    lesson = Played(GROWN_UP, E5=-40.0).survey()
    lesson.pluck("E5")
    lesson.pluck("E5")
    assert lesson.advice.say is Say.PLUCK_OTHERS
    lesson.offs["D4"] = 25.0
    for _ in range(3):
        lesson.pluck()
        if lesson.advice.say is Say.LOOSEN_BACK:
            break
    assert (lesson.advice.say, lesson.advice.string) == (Say.LOOSEN_BACK, "D4")
    assert lesson.advice.direction is Direction.LOOSEN


def test_far_the_wrong_way_the_same_arrow_is_pointed_at_and_a_slipping_peg_pushed_in():
    lesson = Played(CHILD, E5=-20.0).survey()
    lesson.moved("E5", -25.0)
    assert (lesson.advice.say, lesson.advice.direction) == (Say.TURN_ON, Direction.TIGHTEN)
    slips = Played(replace(GROWN_UP, fine_tuners=FineTuners.NONE), A4=-15.0).survey()
    slips.moved("A4", -60.0).until_turn()
    assert (slips.advice.say, slips.advice.direction) == (Say.PUSH_IN, Direction.TIGHTEN)


def test_a_string_let_down_a_little_by_its_neighbours_peg_is_no_wrong_way():
    lesson = Played(GROWN_UP, A4=-90.0).survey()
    lesson.moved("A4", -6.5)
    assert (lesson.advice.say, lesson.advice.turn) == (Say.PLUCK_OTHERS, NONE)


def test_always_the_wrong_way_ends_with_a_grown_up():
    lesson = Played(GROWN_UP, A4=-80.0).survey()
    for _ in range(12):
        lesson.until_turn()
        lesson.moved("A4", -25.0)
        if lesson.advice.say is Say.GROWN_UP:
            break
    assert lesson.advice.say is Say.GROWN_UP


def test_what_a_turn_did_is_learned_so_that_the_next_one_fits_better():
    lesson = Played(CHILD, A4=-14.0).survey()
    first = lesson.advice.degrees
    lesson.moved("A4", 3.0)
    lesson.until_turn()
    assert lesson.advice.turn is SCREW
    assert lesson.advice.degrees != first
    assert lesson.coach.memory.lesson.of("A4").screw < 0.5


def test_a_sharp_string_goes_under_and_comes_up():
    lesson = Played(CHILD, A4=25.0).survey()
    assert lesson.advice.direction is Direction.LOOSEN
    lesson.moved("A4", -40.0).until_turn()
    assert (lesson.advice.say, lesson.advice.direction) == (Say.COME_UP, Direction.TIGHTEN)


def test_no_second_string_is_let_down_while_one_is_slack():
    lesson = Played(GROWN_UP, G3=-400.0, A4=120.0).until_turn(14)
    assert lesson.advice.direction is Direction.TIGHTEN


def test_stop_and_then_a_grown_up_lets_it_down():
    lesson = Played(GROWN_UP, E5=350.0)
    warned = False
    for _ in range(10):
        lesson.pluck()
        warned = warned or lesson.advice.warning is Alarm.STOP
        if lesson.advice.turn is not NONE:
            break
    assert warned
    assert (lesson.advice.turn, lesson.advice.string, lesson.advice.direction) == (
        PEG,
        "E5",
        Direction.LOOSEN,
    )


def test_a_viola_at_a_box_for_violins_is_asked_which_instrument():
    lesson = Played(CHILD)
    c3 = Hz(130.81)
    for number in range(3):
        lesson.coach = sounded(lesson.coach, CHILD, c3, 5.0 + 3.0 * number, 200 + number)
        if lesson.advice.warning is Alarm.ANOTHER_INSTRUMENT:
            break
    assert lesson.advice.warning is Alarm.ANOTHER_INSTRUMENT


def test_which_reference_only_when_all_are_off_by_as_much_as_one_in_use():
    lesson = Played(CHILD, **dict.fromkeys(HIGH_TO_LOW, -101.0)).survey()
    assert lesson.advice.warning is Alarm.ANOTHER_REFERENCE
    for fallen in (-32.0, -75.0):
        slack = Played(CHILD, **dict.fromkeys(HIGH_TO_LOW, fallen)).survey()
        assert slack.advice.warning is None


def test_after_the_question_of_the_reference_the_string_that_comes_next_is_the_one_asked_for():
    lesson = Played(replace(CHILD, order=Order.LOW_TO_HIGH), **dict.fromkeys(HIGH_TO_LOW, -101.0)).survey()
    assert (lesson.advice.warning, lesson.coach.string) == (Alarm.ANOTHER_REFERENCE, "G3")
    lesson.pluck("G3")
    assert lesson.advice.say is not Say.OTHER_STRING


def test_a_turn_that_a_pluck_overtook_was_never_asked_for():
    lesson = Played(CHILD, A4=-20.0, D4=-20.0).survey()
    lesson.moved("A4", 20.0)
    assert lesson.coach.phase is Phase.RIGHT
    lesson.coach = advance(lesson.coach, Plucked(Seconds(lesson.at + 2.0), 500, -20.0), CHILD)
    assert (lesson.coach.string, lesson.coach.memory.lesson.pending) == ("D4", None)
    assert lesson.mark("A4") is Mark.RIGHT


def test_an_unsure_reading_waits_and_a_clear_one_speaks_at_once():
    lesson = Played(CHILD, A4=-40.0).survey()
    hz = off(CHILD, "A4", -38.0)
    lesson.coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), CHILD)
    unsure = advance(lesson.coach, read_as(hz, 50.0, 900, 0.1, std_error_cents=Cents(20.0)), CHILD)
    assert unsure.phase is Phase.LISTENING
    clear = advance(lesson.coach, read_as(hz, 50.0, 900, 0.1, std_error_cents=Cents(3.0)), CHILD)
    assert clear.phase is Phase.GUIDING


def test_once_said_it_stands_still_within_a_sounding():
    lesson = Played(CHILD, A4=-40.0).survey()
    hz = off(CHILD, "A4", -38.0)
    coach = advance(lesson.coach, Plucked(Seconds(50.0), 900, -20.0), CHILD)
    said = set()
    for i in range(1, 12):
        wobble = shifted(hz, Cents((-1) ** i * 4.0))
        coach = advance(coach, read_as(wobble, 50.0, 900, 0.1 * i, std_error_cents=Cents(3.0)), CHILD)
        said.add(coach.advice)
    assert len(said) == 1


def test_two_unsure_plucks_of_one_string_count_together():
    lesson = Played(Settings(size=Size.FULL, tolerance=Tolerance.USUAL)).survey()
    assert lesson.advice.say is Say.ALL_RIGHT
    unsure = Played(Settings(size=Size.FULL, tolerance=Tolerance.USUAL))
    for _ in range(8):
        unsure.pluck(std_error_cents=Cents(2.9))
    assert unsure.advice.turn is NONE
    assert unsure.coach.watch.counted is None
    assert Mark.RIGHT in {s.mark for s in unsure.coach.strings}


def test_the_player_chooses_where_whichever_is_plucked_is_set():
    chosen = Settings(size=Size.FULL, order=Order.WHICHEVER_IS_PLUCKED)
    lesson = Played(chosen, D4=-20.0, A4=-20.0)
    for name in ("G3", "A4", "E5", "D4"):
        lesson.pluck(name)
    lesson.pluck("D4")
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "D4")
    lesson.pluck("A4")
    assert (lesson.advice.turn, lesson.advice.string) == (SCREW, "A4")


def test_who_chooses_the_order_is_called_from_the_lowest_up_when_strings_are_far_down():
    chosen = replace(GROWN_UP, order=Order.WHICHEVER_IS_PLUCKED)
    lesson = Played(chosen, G3=-200.0, D4=-200.0, A4=-200.0, E5=-200.0).until_turn(10)
    assert (lesson.advice.turn, lesson.advice.string) == (PEG, "G3")


def test_after_a_big_turn_of_a_peg_the_bridge_is_looked_at():
    lesson = Played(GROWN_UP, A4=-400.0)
    said = set()
    for _ in range(40):
        if lesson.advice.turn is PEG and lesson.advice.string == "A4":
            lesson.offs["A4"] = min(lesson.offs["A4"] + 60.0, -5.0)
        lesson.pluck()
        said.add(lesson.advice.say)
    assert Say.CHECK_BRIDGE in said


def test_every_lesson_ends_within_25_plucks_a_string_even_if_nothing_ever_moves():
    lesson = Played(GROWN_UP, A4=-20.0, D4=-300.0, G3=15.0)
    for _ in range(100):
        lesson.pluck()
        lesson.event(Tick, 2.0)
        if lesson.coach.phase is Phase.FINISHED:
            break
    assert (lesson.coach.phase, lesson.advice.say) == (Phase.FINISHED, Say.STAYS_OFF)


def test_a_double_bass_has_machine_heads_and_no_rotation():
    bass = Settings(instrument=Instrument.DOUBLE_BASS)
    lesson = Played(bass, A1=-20.0).survey()
    assert (lesson.advice.turn, lesson.advice.string) == (PEG, "A1")
    assert (lesson.advice.rotation, lesson.advice.away) == (None, None)
