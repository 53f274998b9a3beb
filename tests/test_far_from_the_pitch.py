"""Strings far from their places: a tone flat, misread by a fifth, or one of them far too high."""

import math
from dataclasses import replace

import pytest

from device.config.settings import Cores, Settings, Size
from device.events import TeacherHere
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.memory import HearingOthers
from device.safety.monitor import passed
from device.safety.string_bounds import Watch, after_hearing, vouched, watching
from dsp import Seconds, cents, shifted
from tests.coaching import off, read_as, turn_advice
from tests.test_lesson import GROWN_UP, PEG, Played

UNKNOWN = Settings(pegs_by_grown_up=False)
STRUNG = strung(UNKNOWN)
FLAT = {"G3": -190.0, "D4": -215.0, "A4": -205.0, "E5": -195.0}
FIFTH = 702.0  # cents; an octave or a fifth is what a reading may be wrong by


def test_strings_a_tone_flat_are_each_known_at_sight():
    lesson = Played(UNKNOWN, **FLAT)
    for name in ("E5", "A4", "D4", "G3"):
        assert (lesson.asked, lesson.advice.say) == (name, Say.PLUCK)
        lesson.pluck()
    assert (lesson.asked, lesson.advice.say) == ("E5", Say.PLUCK_AGAIN)  # misread, it might be far too high
    lesson.pluck()
    assert lesson.advice.turn is PEG


def test_before_the_next_turn_each_string_is_plucked_once_with_cores_unknown():
    """The string that was turned sounded already; it is known by what the others sound like."""
    lesson = Played(UNKNOWN, **FLAT).survey().until_turn()
    for _ in range(3):
        turned = lesson.advice.string
        assert turned is not None
        lesson.moved(turned, 6.0 * (lesson.advice.degrees or 0.0))
        plucked = [turned]
        while lesson.advice.turn is not PEG:
            assert isinstance(lesson.coach.memory.lesson.task, HearingOthers)
            plucked.append(lesson.asked)
            lesson.pluck()
        assert len(plucked) == len(set(plucked))
    assert len(plucked) == 4


def heard(watch: Watch, *plucks: tuple[str, float]) -> Watch:
    """These strings plucked in turn, each heard so many cents off its place."""
    first = max(watch.pluck, 0) + 1
    for pluck, (name, away) in enumerate(plucks, start=first):
        hz = off(UNKNOWN, name, away)
        watch = after_hearing(watch, STRUNG, read_as(hz, float(pluck), pluck, 0.3), name)
        watch = after_hearing(watch, STRUNG, read_as(hz, float(pluck), pluck, 0.5), name)
    return watch


def height(watch: Watch, name: str) -> float:
    bound = watch.of(name)
    assert bound.high_hz is not None
    return STRUNG.off(bound.high_hz, name)


FLAT_E, HIGH_E = ("E5", FLAT["E5"]), ("E5", FLAT["E5"] + FIFTH)


def turned() -> Watch:
    """All a tone flat; then a peg was turned, and the three lower strings were heard again."""
    watch = heard(watching(STRUNG.names), *FLAT.items(), FLAT_E)
    asked = turn_advice("G3", PEG, Direction.TIGHTEN, Amount.MORE, UNKNOWN)
    shown, watch = passed(watch, STRUNG, asked)
    assert shown == asked
    return heard(watch, ("G3", -140.0), ("D4", FLAT["D4"]), ("A4", FLAT["A4"]))


def test_a_string_misread_a_fifth_too_high_is_known_again_by_two_like_plucks():
    high = heard(turned(), HIGH_E)
    assert height(high, "E5") > 450.0
    once = heard(high, FLAT_E)
    assert height(once, "E5") > 450.0
    assert height(heard(once, FLAT_E), "E5") == pytest.approx(FLAT["E5"], abs=2.0)


def test_a_string_heard_twice_a_fifth_up_is_not_lowered_by_two_lower_readings():
    """No two soundings are misread alike: what was heard so twice is there."""
    assert height(heard(turned(), HIGH_E, HIGH_E, FLAT_E, FLAT_E), "E5") > 450.0


@pytest.mark.parametrize("name", ["D4", "A4", "E5"])
def test_a_misread_string_puts_no_other_off_for_good(name):
    lesson = Played(UNKNOWN, **FLAT).survey().until_turn()
    lesson.moved("G3", 12.0)
    while lesson.asked != name or lesson.advice.say is not Say.PLUCK_OTHERS:
        if lesson.advice.turn is PEG:
            lesson.moved(lesson.advice.string or "", 40.0)
        else:
            lesson.pluck()
    lesson.pluck(name, FLAT[name] + FIFTH)
    for _ in range(10):
        if lesson.advice.turn is PEG:
            break
        lesson.pluck(name if lesson.advice.warning is Alarm.STOP else None)
    assert lesson.advice.turn is PEG
    assert not [k.name for k in lesson.coach.memory.lesson.known if k.left]


def test_a_string_far_too_high_is_let_down_before_another_is_tightened():
    lesson = Played(GROWN_UP, E5=0.0, A4=-12.0, D4=240.0, G3=-12.0).survey().until_turn()
    assert (lesson.advice.string, lesson.advice.turn) == ("D4", PEG)
    assert lesson.advice.tightens is False


SLACK_SET = {"G3": -1190.0, "D4": -1215.0, "A4": -1205.0, "E5": -1195.0}


def until_called_for(lesson: Played) -> int:
    """Pluck as asked until a grown-up is asked for; how many plucks that took."""
    while lesson.advice.say is not Say.GROWN_UP:
        lesson.pluck()
        assert lesson.count < 20
    return lesson.count


def test_a_slack_set_asks_for_a_grown_up_when_all_were_called_once():
    lesson = Played(UNKNOWN, **SLACK_SET)
    assert until_called_for(lesson) <= 7
    lesson.event(TeacherHere)
    assert (lesson.advice.say, lesson.asked) == (Say.PLUCK_ALL, "G3")
    for name in (*lesson.chosen.targets, "E5"):
        assert (lesson.asked, lesson.advice.turn) == (name, TuningPart.NONE)
        lesson.pluck()
    assert lesson.advice.turn is PEG


def test_without_a_grown_up_no_string_of_a_slack_set_is_turned():
    lesson = Played(UNKNOWN, **SLACK_SET)
    until_called_for(lesson)
    turns = 0
    for _ in range(20):
        lesson.pluck()
        turns += lesson.advice.turn is not TuningPart.NONE
    assert turns == 0


def test_a_grown_up_does_not_vouch_for_what_was_plucked_before_they_came():
    plucks = tuple(SLACK_SET.items())
    late = vouched(heard(watching(STRUNG.names), *plucks[:3]), Seconds(3.5))
    assert not [b.name for b in heard(late, plucks[3]).bounds if b.high_hz is not None]
    early = heard(vouched(watching(STRUNG.names), Seconds(0.5)), *plucks, plucks[3])
    assert [b.name for b in early.bounds if b.high_hz is not None] == list(SLACK_SET)


@pytest.mark.parametrize(
    ("name", "away"), [("A4", -900.0), ("D4", -533.0), ("D4", -700.0), ("G3", -478.0), ("G3", -692.0)]
)
def test_a_slack_string_beside_others_in_their_places_is_no_other_instrument(name, away):
    lesson = Played(UNKNOWN, **{name: away})
    for _ in range(12):
        lesson.pluck()
        assert lesson.advice.warning is not Alarm.ANOTHER_INSTRUMENT


THREE_MARKS = STRUNG.peg_degrees[Amount.MORE]


def used_up(chosen: Settings) -> list[str]:
    """The strings that, a tone flat, bear three marks of a peg turned twice as far, but not two such."""
    found = []
    for string in strung(chosen).strings:
        hz = off(chosen, string.name, -200.0)
        once, twice = (string.carried(hz, turns * 2.0 * THREE_MARKS, 0.0) for turns in (1, 2))
        assert once < 0.8
        found += [string.name] * (twice >= 0.8)
    return found


def test_with_cores_unknown_all_four_strings_are_to_be_heard_between_two_turns():
    """So a tone takes more than sixty plucks where strings are soft, whoever plans the turns.

    That a string is soft cannot be concluded from how little it rose: a hand that turned by less, or a
    peg that slipped back, looks the same.
    """
    soft = strung(GROWN_UP).of("D4")
    wound = soft.degrees_between(off(GROWN_UP, "D4", -200.0), off(GROWN_UP, "D4", -50.0), soft.peg.usual)
    three_strings_to_their_fine_tuners = 3 * len(STRUNG.names) * math.ceil(wound / THREE_MARKS)
    assert three_strings_to_their_fine_tuners == 60
    assert used_up(UNKNOWN) == ["G3", "D4", "A4", "E5"]
    assert used_up(GROWN_UP) == ["E5"]


def test_a_stiff_string_whose_peg_slips_back_reads_like_a_soft_one():
    """Why a string's rise gives no upper bound of its slope, only a lower one."""
    stiff, soft = (strung(replace(UNKNOWN, cores=c)).of("D4") for c in (Cores.STEEL, Cores.SYNTHETIC))
    start = off(UNKNOWN, "D4", -200.0)
    rose = cents(soft.turned(start, THREE_MARKS, soft.peg.usual), start)
    kept = stiff.degrees_between(start, shifted(start, rose), stiff.peg.usual)
    assert 0.0 < kept < 0.5 * THREE_MARKS  # what is left of the turn when it slipped back by more than half
    assert stiff.peg_load > 3.0 * soft.peg_load


def test_strings_far_down_come_up_from_the_lowest_even_where_a_fine_tuner_reaches_so_far():
    """The reverse of the order that they are tuned finely in: the highest stands nearest to breaking."""
    steel = Settings(pegs_by_grown_up=False, cores=Cores.STEEL, size=Size.FULL)
    assert strung(steel).of("G3").screw_reach > 80.0
    lesson = Played(steel, G3=-80.0, D4=-80.0, A4=-80.0, E5=-80.0).survey().until_turn()
    assert lesson.advice.string == "G3"
    lesson = Played(steel, G3=-30.0, D4=-30.0, A4=-30.0, E5=-30.0).survey().until_turn()
    assert lesson.advice.string == "E5"


def test_a_grown_ups_pluck_where_the_turn_should_have_taken_the_string_is_believed_at_once():
    """The A comes to sound like the D: the lesson goes on, the monitor reckons with the turn."""
    lesson = Played(GROWN_UP, A4=-820.0).event(TeacherHere).until_turn(12)
    assert (lesson.advice.turn, lesson.advice.string) == (TuningPart.PEG, "A4")
    before = lesson.coach.watch.of("A4")
    lesson.moved("A4", 90.0)
    assert lesson.advice.say is not Say.PLUCK_AGAIN
    assert lesson.coach.watch.of("A4") == before
    assert (lesson.coach.strings[2].last_cents, before.peg > 0.0) == (pytest.approx(-730.0), True)
