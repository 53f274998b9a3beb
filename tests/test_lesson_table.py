"""The table of the lesson covers everything, and does only what it says."""

from itertools import pairwise
from typing import get_args

from hypothesis import given
from hypothesis import strategies as st

from device.config.settings import Settings
from device.events import LessonEvent, NextString, Plucked, PreviousString, StartOver, TeacherHere, Tick
from device.lesson.advice import Say
from device.lesson.memory import Finished, Surveying, Task
from device.lesson.monitored import advance, start
from device.lesson.table import TABLE
from dsp import Cents, Seconds
from tests.coaching import SETTINGS, off, read_as

BUTTONS = {
    "next": NextString,
    "previous": PreviousString,
    "over": StartOver,
    "teacher": TeacherHere,
    "tick": Tick,
}
HAPPENINGS = st.lists(
    st.tuples(
        st.sampled_from(["pluck"] * 10 + ["asked"] * 10 + list(BUTTONS)),
        st.integers(0, 3),
        st.sampled_from([0.0, -30.0, 12.0, -250.0, -1200.0, 500.0]),
        st.floats(-6.0, 6.0),
        st.floats(1.2, 30.0),
        st.sampled_from([0.0, 0.0, 0.05, 0.5]),
    ),
    min_size=4,
    max_size=40,
)


def events(chosen, script, coach_at):
    """The events of a script; `coach_at` gives the lesson as it stands."""
    at = 0.0
    for number, (kind, place, away, near, gap, doubt) in enumerate(script):
        at += gap
        if kind in BUTTONS:
            yield BUTTONS[kind](Seconds(at))
            continue
        name = (
            chosen.strings[place].name if kind == "pluck" else coach_at().advice.string or coach_at().string
        )
        hz = off(chosen, name, Cents(away + near))
        yield Plucked(Seconds(at), number, -20.0)
        for since in (0.1, 0.3, 0.7):
            yield read_as(hz, at, number, since, octave_doubt=doubt)
        at += 1.0


def test_every_pair_of_task_and_event_is_in_the_table():
    pairs = {(task, event) for task in get_args(Task) for event in get_args(LessonEvent)}
    assert set(TABLE) == pairs
    assert len(pairs) == 8 * 7


SEEN: set[tuple[type, type]] = set()


@given(SETTINGS, HAPPENINGS)
def test_each_event_leads_where_the_table_says_and_never_raises(chosen, script):
    coach = start(chosen, Seconds(0.0))
    for event in events(chosen, script, lambda: coach):
        before = type(coach.memory.lesson.task)
        coach = advance(coach, event, chosen)
        after = type(coach.memory.lesson.task)
        SEEN.add((before, type(event)))
        assert after in TABLE[before, type(event)].leads_to
        assert (coach.phase.value == "finished") is (after is Finished) or coach.advice.warning


def test_the_walk_above_met_nearly_all_of_the_table():
    assert len(SEEN) >= 45


@given(SETTINGS, HAPPENINGS)
def test_the_same_events_give_the_same_lesson(chosen, script):
    first = second = start(chosen, Seconds(0.0))
    for event in events(chosen, script, lambda: first):
        first, second = advance(first, event, chosen), advance(second, event, chosen)
    assert first == second


@given(SETTINGS, HAPPENINGS)
def test_all_in_tune_only_when_each_was_heard_right(chosen, script):
    coach = start(chosen, Seconds(0.0))
    for event in events(chosen, script, lambda: coach):
        coach = advance(coach, event, chosen)
        if coach.advice.say is Say.ALL_RIGHT:
            tolerance = chosen.tolerance.cents
            assert all(abs(s.last_cents) <= tolerance for s in coach.strings)


def test_other_strings_in_the_settings_begin_a_new_lesson():
    coach = start(Settings(), Seconds(0.0))
    after = advance(coach, Tick(Seconds(1.0)), Settings(instrument=list(type(Settings().instrument))[2]))
    assert isinstance(after.memory.lesson.task, Surveying)
    assert [s.name for s in after.strings] == ["C2", "G2", "D3", "A3"]
    assert all(a.name != b.name for a, b in pairwise(after.watch.bounds))
