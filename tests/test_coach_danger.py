"""Never towards a broken string: each rule as a property over states, settings and readings.

A lesson is played with random plucks, turns that were or were not made, buttons and silences; after
every event what is shown is held against the rules, reckoned again here from what the coach heard.
"""

from dataclasses import replace

import pytest
from device.coach.limits import NEAR, PACE, highest_hz, limit_hz, load_share, made
from device.coach.makes import sizes
from device.coach.memory import Known
from device.coach.table import TABLE, advance, start
from device.coach.turning import degrees_of, slope, tension
from hypothesis import given, settings
from hypothesis import strategies as st

from device.config.settings import FineTuners, Order, Settings, Size, StringSet
from device.events import Heard, NextString, Plucked, PreviousString, StartOver, TeacherHere, Tick
from device.instrument.rotation import away_of, has_fine_tuner, push_in_needed, rotation_of
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Alarm, Say
from device.lesson.state import Coach, Phase
from dsp import Cents, Hz, Instrument, Seconds, cents, shifted
from tests.coaching import SETTINGS, off, plucked_in_turn, read_as, sounded

GROWN_UPS = Settings(pegs_by_grown_up=False, size=Size.FULL)
MOST = settings(max_examples=25, deadline=None)


BUTTONS = {
    "next": NextString,
    "previous": PreviousString,
    "over": StartOver,
    "teacher": TeacherHere,
    "tick": Tick,
}


@st.composite
def happenings(draw):
    """What may happen next: (kind, place of a string, cents off, seconds until then, doubt)."""
    kind = draw(
        st.sampled_from(["pluck"] * 12 + ["same"] * 4 + ["next", "previous", "over", "teacher", "tick"])
    )
    spread = draw(st.sampled_from([12.0, 60.0, 300.0, 1300.0]))
    return (
        kind,
        draw(st.integers(0, 3)),
        draw(st.floats(-spread, spread)),
        draw(st.floats(1.2, 8.0)),
        draw(st.sampled_from([0.0, 0.05, 0.5])),
    )


def played(chosen: Settings, script):
    """Each state of a lesson with the one before and the reading between them, if there was one."""
    coach, at, hz = start(chosen, Seconds(0.0)), 0.0, None
    for number, (kind, place, cents_off, gap, doubt) in enumerate(script):
        at += gap
        if kind in BUTTONS:
            before, coach = coach, advance(coach, BUTTONS[kind](Seconds(at)), chosen)
            yield before, None, coach
            continue
        if kind == "pluck" or hz is None:
            hz = off(chosen, chosen.strings[place].name, cents_off)
        coach = advance(coach, Plucked(Seconds(at), number, -20.0), chosen)
        before = coach
        for since in (0.2, 0.4, 0.9):
            reading = read_as(hz, at, number, since, octave_doubt=doubt)
            coach = advance(coach, reading, chosen)
        yield before, reading, coach
        at += 1.0


def advised(script, chosen):
    """Every state with a turn in it: (lesson before the pluck, reading, coach)."""
    for before, reading, coach in played(chosen, script):
        if reading is not None and coach.advice.turn is not TuningPart.NONE:
            yield before.memory.before, reading, coach


LESSONS = st.lists(happenings(), min_size=4, max_size=24)


def share_after_twice(known: Known, hz: Hz, chosen: Settings) -> float:
    """The load on a string if all that was asked since it was heard were turned twice over, on it."""
    worst, name = 0.0, known.name
    for size in sizes(chosen):
        peg = slope(name, TuningPart.PEG, size, chosen).most * known.unheard_peg
        screw = slope(name, TuningPart.FINE_TUNER, size, chosen).most * known.unheard_screw
        worst = max(worst, made(name, size, chosen).share * (tension(name, hz, chosen) + 2 * (peg + screw)))
    return worst


@MOST
@given(SETTINGS, LESSONS)
def test_a_tighten_done_twice_on_any_string_in_the_hand_stays_below_its_limit(chosen, script):
    for _, _, coach in advised(script, chosen):
        advice = coach.advice
        if advice.direction is not Direction.TIGHTEN:
            continue
        for string in chosen.strings:
            if advice.turn is TuningPart.FINE_TUNER and not has_fine_tuner(string.name, chosen):
                continue
            known = coach.memory.lesson.of(string.name)  # this turn is among its unheard ones by now
            hz = known.hz or shifted(chosen.targets[string.name], Cents(200.0))
            assert share_after_twice(known, hz, chosen) < NEAR


@MOST
@given(SETTINGS, LESSONS)
def test_every_turn_is_whole_and_goes_the_way_of_the_trade(chosen, script):
    for _, _, coach in advised(script, chosen):
        advice = coach.advice
        assert advice.warning is None
        assert advice.string in chosen.targets
        assert advice.rotation is rotation_of(advice.string, advice.turn, advice.direction, chosen)
        assert advice.away is away_of(advice.turn, advice.direction, chosen)
        assert advice.push_in is push_in_needed(advice.turn, chosen)
        assert 0.0 < advice.degrees <= degrees_of(advice.turn, chosen)[advice.amount]
        if advice.turn is TuningPart.FINE_TUNER:
            assert has_fine_tuner(advice.string, chosen)


@MOST
@given(SETTINGS, LESSONS)
def test_what_is_not_a_turn_has_nothing_to_turn(chosen, script):
    for _, _, coach in played(chosen, script):
        advice = coach.advice
        if advice.turn is TuningPart.NONE:
            assert advice.direction is Direction.NONE
            assert (advice.rotation, advice.away, advice.amount, advice.degrees) == (None, None, None, None)


def identified(string: str, reading: Heard, chosen: Settings) -> bool:
    """Nearest to its own place, at most 150 below and 250 above; reckoned again here."""
    distances = {n: abs(cents(reading.frequency_hz, t)) for n, t in chosen.targets.items()}
    own = cents(reading.frequency_hz, chosen.targets[string])
    return min(distances, key=distances.__getitem__) == string and -150.0 <= own <= 250.0


@MOST
@given(SETTINGS, LESSONS)
def test_no_turn_for_a_string_that_may_be_another(chosen, script):
    """Without a proof, and unless other strings are being heard, the reading is of that string."""
    for lesson, reading, coach in advised(script, chosen):
        if lesson.proof is None and lesson.roll is None and lesson.others is None:
            assert identified(coach.string, reading, chosen)
            assert coach.advice.string == coach.string


@MOST
@given(SETTINGS, LESSONS)
def test_no_turn_on_a_doubtful_octave(chosen, script):
    assert all(reading.octave_doubt <= 0.1 for _, reading, _ in advised(script, chosen))


@MOST
@given(SETTINGS, LESSONS)
def test_a_hundred_cents_of_tighten_needs_two_like_plucks_or_a_proof(chosen, script):
    for lesson, reading, coach in advised(script, chosen):
        flat = cents(reading.frequency_hz, chosen.targets[coach.string])
        plain = lesson.proof is None and lesson.roll is None and lesson.others is None
        if coach.advice.direction is Direction.TIGHTEN and plain and flat < -100.0:
            assert abs(cents(reading.frequency_hz, lesson.like_hz)) <= 20.0


@MOST
@given(SETTINGS, LESSONS)
def test_a_peg_is_loosened_by_a_hair_and_never_beside_a_slack_string(chosen, script):
    for _, _, coach in advised(script, chosen):
        advice = coach.advice
        if advice.turn is not TuningPart.PEG or advice.direction is not Direction.LOOSEN:
            continue
        assert advice.amount is Amount.A_HAIR
        if advice.say is not Say.LOOSEN_BACK:
            known = [k for k in coach.memory.lesson.known if k.name != advice.string and k.hz is not None]
            assert all(cents(k.hz, chosen.targets[k.name]) >= -150.0 for k in known)


@MOST
@given(SETTINGS, LESSONS)
def test_a_violins_highest_string_is_turned_by_a_hair_at_its_peg(chosen, script):
    for _, _, coach in advised(script, chosen):
        advice = coach.advice
        top = chosen.instrument is Instrument.VIOLIN and advice.string == chosen.strings[-1].name
        if top and advice.turn is TuningPart.PEG:
            assert advice.amount is Amount.A_HAIR


@MOST
@given(SETTINGS, LESSONS)
def test_a_child_alone_is_never_sent_to_a_peg(chosen, script):
    """But to a double bass's machine head near its place: it has nothing finer."""
    chosen = replace(chosen, pegs_by_grown_up=True)
    alone = [h for h in script if h[0] != "teacher"]
    for _, _, coach in advised(alone, chosen):
        if coach.advice.turn is TuningPart.PEG:
            assert chosen.instrument is Instrument.DOUBLE_BASS
            assert abs(coach.cents) <= 50.0


@MOST
@given(SETTINGS, LESSONS)
def test_whichever_is_plucked_gives_no_peg_advice(chosen, script):
    chosen = replace(chosen, order=Order.WHICHEVER_IS_PLUCKED)
    for _, _, coach in advised(script, chosen):
        assert coach.advice.turn is not TuningPart.PEG or coach.advice.say is Say.LOOSEN_BACK


@MOST
@given(SETTINGS, LESSONS, st.floats(0.001, 0.999))
def test_near_its_limit_a_string_is_stopped_whatever_went_before(chosen, script, where):
    coach = start(chosen, Seconds(0.0))
    for _, _, coach in played(chosen, script):  # noqa: B007 - the last state is what counts
        pass
    if coach.phase is Phase.FINISHED:
        return
    name = coach.string
    low, high = limit_hz(name, chosen), highest_hz(name, chosen)
    hz = Hz(low * (high / low) ** where)
    if any(-150.0 <= cents(hz, t) <= 250.0 for n, t in chosen.targets.items() if n != name):
        return  # it might be that string
    after = sounded(coach, chosen, hz, 1000.0, -5)
    if chosen.order is not Order.WHICHEVER_IS_PLUCKED or after.string == name:
        assert (after.advice.warning, after.advice.turn) == (Alarm.STOP, TuningPart.NONE)


@MOST
@given(SETTINGS, st.floats(-40.0, 40.0))
def test_nothing_is_turned_on_while_a_turn_is_unanswered(chosen, cents_off):
    coach = start(chosen, Seconds(0.0))
    first = sounded(coach, chosen, off(chosen, coach.string, cents_off), 1.0, 1)
    if first.advice.turn is TuningPart.NONE:
        return
    again = sounded(first, chosen, off(chosen, coach.string, cents_off), 5.0, 2)
    fine = any(has_fine_tuner(s.name, chosen) for s in chosen.strings if s.name != coach.string)
    if first.advice.turn is TuningPart.PEG or fine:
        assert (again.advice.say, again.advice.turn) == (Say.PLUCK_OTHERS, TuningPart.NONE)
        assert again.advice.string != coach.string


@MOST
@given(SETTINGS, st.floats(-149.0, -20.0), st.floats(0.0, 240.0))
def test_a_rise_by_more_than_eight_percent_of_the_load_is_too_fast(chosen, low, high):
    coach = start(chosen, Seconds(0.0))
    name = coach.string
    coach = sounded(coach, chosen, off(chosen, name, low), 1.0, 1)
    known = coach.memory.lesson.of(name).hz
    coach = sounded(coach, chosen, off(chosen, name, high), 5.0, 2)
    step = load_share(name, off(chosen, name, high), chosen) - load_share(name, known or 1.0, chosen)
    if known is not None and step > PACE and coach.phase is not Phase.RIGHT:
        assert coach.advice.turn is TuningPart.NONE
        assert coach.advice.warning in {Alarm.SLOWLY, Alarm.STOP} or coach.advice.say is not Say.TURN


@MOST
@given(SETTINGS, LESSONS)
def test_a_button_ends_every_proof_and_every_open_turn(chosen, script):
    for _, reading, coach in played(chosen, script):
        if reading is None:
            continue
        for event in (NextString, PreviousString):
            lesson = advance(coach, event(Seconds(500.0)), chosen).memory.lesson
            assert (lesson.proof, lesson.turned, lesson.others, lesson.roll) == (None, None, None, None)


@MOST
@given(SETTINGS, LESSONS)
def test_a_new_pupil_inherits_nothing(chosen, script):
    for _, _, coach in played(chosen, script):
        at = Seconds(900.0)
        assert advance(coach, StartOver(at), chosen) == start(chosen, at)
        if coach.phase in {Phase.WAITING, Phase.GUIDING} and coach.advice.say is not Say.GROWN_UP:
            assert advance(coach, Tick(at), chosen) == start(chosen, at)


@MOST
@given(SETTINGS, LESSONS)
def test_every_event_leads_where_the_table_says(chosen, script):
    for before, reading, coach in played(chosen, script):
        kinds = (
            (Heard,) if reading is not None else (Tick, NextString, PreviousString, StartOver, TeacherHere)
        )
        assert any(coach.phase in TABLE[before.phase, kind].leads_to for kind in kinds)


WILD = st.floats(allow_nan=True, allow_infinity=True)


@MOST
@given(SETTINGS, LESSONS, st.lists(st.tuples(WILD, WILD, WILD, WILD, WILD, WILD), min_size=1, max_size=5))
def test_no_number_whatever_makes_the_coach_raise(chosen, script, wild):
    for _, _, coach in played(chosen, script[:6]):
        for hz, error, doubt, drift, level, since in wild:
            reading = Heard(Seconds(50.0), 77, Hz(hz), Cents(error), doubt, drift, level, Seconds(since))
            after = advance(advance(coach, Plucked(Seconds(49.0), 77, level), chosen), reading, chosen)
            assert isinstance(after, Coach)


def test_a_string_in_tune_plucked_for_another_asks_for_no_turn():
    coach = start(GROWN_UPS, Seconds(0.0))
    coach = advance(coach, NextString(Seconds(1.0)), GROWN_UPS)
    coach = plucked_in_turn(coach, GROWN_UPS, ("D4", 0.0))
    assert (coach.string, coach.advice.say, coach.advice.heard) == ("A4", Say.OTHER_STRING, "D4")


SLACK = ("E5", -330.0)
ROLL_CALL = [SLACK, SLACK, *[(n, 0.0) for n in ("G3", "G3", "D4", "D4", "A4", "A4")], SLACK, SLACK]


def test_four_pitches_apart_three_in_place_prove_the_fourth():
    coach = start(GROWN_UPS, Seconds(0.0))
    for number, pluck in enumerate(ROLL_CALL):
        if number >= 2:
            assert (coach.advice.say, coach.advice.string) == (Say.PLUCK_ALL, pluck[0])
        assert coach.advice.turn is TuningPart.NONE
        coach = plucked_in_turn(coach, GROWN_UPS, pluck)
    assert (coach.advice.turn, coach.advice.string) == (TuningPart.PEG, "E5")
    assert (coach.advice.direction, coach.advice.amount) == (Direction.TIGHTEN, Amount.A_HAIR)


def test_two_pitches_alike_may_be_one_string_and_prove_nothing():
    """An A slack by a fifth sounds like the D: a grown-up has to look."""
    coach = advance(start(GROWN_UPS, Seconds(0.0)), NextString(Seconds(0.5)), GROWN_UPS)
    like_d = ("A4", -700.0)
    for _ in range(40):
        string = coach.advice.string or coach.string
        coach = plucked_in_turn(coach, GROWN_UPS, like_d if string == "A4" else (string, 0.0))
        assert coach.advice.turn is TuningPart.NONE
        if coach.advice.say is Say.GROWN_UP:
            return
    pytest.fail("never handed over")


def test_thirty_seconds_of_silence_end_a_proof():
    coach = plucked_in_turn(start(GROWN_UPS, Seconds(0.0)), GROWN_UPS, *ROLL_CALL)
    assert coach.advice.turn is TuningPart.PEG
    late = sounded(coach, GROWN_UPS, off(GROWN_UPS, "E5", -300.0), coach.memory.sounded_at + 31.0, 7)
    assert late.advice.turn is TuningPart.NONE
    in_time = sounded(coach, GROWN_UPS, off(GROWN_UPS, "E5", -300.0), coach.memory.sounded_at + 29.0, 7)
    assert in_time.advice.turn is TuningPart.PEG


def test_the_wrong_fine_tuner_is_found_and_loosened_back():
    coach = plucked_in_turn(start(GROWN_UPS, Seconds(0.0)), GROWN_UPS, ("E5", 0.0), ("A4", 0.0), ("D4", 0.0))
    coach = plucked_in_turn(coach, GROWN_UPS, ("G3", -30.0))
    assert coach.advice.turn is TuningPart.FINE_TUNER
    coach = plucked_in_turn(coach, GROWN_UPS, ("G3", -30.2))
    assert coach.advice.say is Say.PLUCK_OTHERS
    while coach.advice.say is Say.PLUCK_OTHERS:
        rose = 25.0 if coach.advice.string == "D4" else 0.0
        coach = plucked_in_turn(coach, GROWN_UPS, (coach.advice.string, rose))
    assert (coach.advice.say, coach.advice.string) == (Say.LOOSEN_BACK, "D4")
    assert (coach.advice.turn, coach.advice.direction) == (TuningPart.FINE_TUNER, Direction.LOOSEN)


def test_a_plain_gut_e_tuned_past_its_limit_is_never_tightened():
    gut = Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(466.0), fine_tuners=FineTuners.ALL)
    coach = plucked_in_turn(start(gut, Seconds(0.0)), gut, ("E5", -20.0))
    assert coach.advice.warning is Alarm.STOP


@pytest.mark.parametrize("string", ["C3", "C2"])
def test_a_string_only_another_instrument_has_asks_which_instrument(string):
    violin = Settings(pegs_by_grown_up=False)
    low = {"C3": 130.8, "C2": 65.4}[string]
    coach = sounded(start(violin, Seconds(0.0)), violin, Hz(low), 1.0, 1)
    assert (coach.advice.warning, coach.advice.turn) == (Alarm.ANOTHER_INSTRUMENT, TuningPart.NONE)


def test_all_strings_flat_alike_ask_for_the_reference_pitch():
    """Tuned to A = 415 Hz, heard with the box at 440 Hz: 101 cents flat, every string."""
    coach = start(Settings(), Seconds(0.0))
    for string in ("E5", "A4", "D4"):
        while coach.string != string:
            coach = advance(coach, NextString(Seconds((coach.memory.sounded_at or 0.0) + 1.5)), Settings())
        coach = plucked_in_turn(coach, Settings(), (string, -101.0), (string, -101.0))
    assert coach.advice.warning is Alarm.ANOTHER_REFERENCE
