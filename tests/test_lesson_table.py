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
from device.lesson.state import Phase
from device.lesson.table import TABLE
from dsp import Cents, Seconds
from tests.coaching import SETTINGS, off, read_as
from tests.each import each

BUTTONS = {
    "next": NextString,
    "previous": PreviousString,
    "over": StartOver,
    "teacher": TeacherHere,
    "tick": Tick,
}
HAPPENINGS = st.lists(
    st.tuples(
        st.sampled_from(["pluck"] * 3 + ["asked"] * 24 + list(BUTTONS)),
        st.integers(0, 3),
        st.sampled_from([0.0, 0.0, 0.0, 0.0, -30.0, -30.0, 12.0, -120.0, -250.0, -1200.0, 500.0]),
        st.floats(-6.0, 6.0),
        st.floats(1.2, 30.0),
        st.sampled_from([0.0, 0.0, 0.05, 0.5]),
    ),
    min_size=10,
    max_size=35,
)


def walked(chosen, script):
    """Each (task before, event, coach after) of a lesson played by a script."""
    coach, at = start(chosen, Seconds(0.0)), 0.0
    for number, (kind, place, away, near, gap, doubt) in enumerate(script):
        at += gap
        if kind in BUTTONS:
            events = [BUTTONS[kind](Seconds(at))]
        else:
            asked = coach.advice.string or coach.string
            hz = off(chosen, chosen.strings[place].name if kind == "pluck" else asked, Cents(away + near))
            reads = [read_as(hz, at, number, since, octave_doubt=doubt) for since in (0.1, 0.3, 1.1)]
            events = [Plucked(Seconds(at), number, -20.0), *reads]
            at += 1.2
        for event in events:
            before = type(coach.memory.lesson.task)
            coach = advance(coach, event, chosen)
            yield before, event, coach


def test_every_pair_of_task_and_event_is_in_the_table():
    pairs = {(task, event) for task in get_args(Task) for event in get_args(LessonEvent)}
    assert set(TABLE) == pairs
    assert len(pairs) == 8 * 7


SEEN: set[tuple[type, type]] = set()


@given(SETTINGS, HAPPENINGS)
def test_each_event_leads_where_the_table_says_and_never_raises(chosen, script):
    for before, event, coach in each(walked(chosen, script)):
        after = type(coach.memory.lesson.task)
        SEEN.add((before, type(event)))
        assert after in TABLE[before, type(event)].leads_to
        assert (coach.phase is Phase.FINISHED) is (after is Finished) or coach.advice.warning


def test_the_walk_above_met_most_of_the_table():
    assert len(SEEN) >= 28


@given(SETTINGS, HAPPENINGS)
def test_the_same_events_give_the_same_lesson(chosen, script):
    assert list(walked(chosen, script)) == list(walked(chosen, script))


@given(SETTINGS, HAPPENINGS)
def test_all_in_tune_only_when_each_was_heard_right(chosen, script):
    ends = [coach for _, _, coach in walked(chosen, script) if coach.advice.say is Say.ALL_RIGHT]
    assert all(abs(s.last_cents) <= chosen.tolerance.cents for coach in ends for s in coach.strings)


def test_other_strings_in_the_settings_begin_a_new_lesson():
    coach = start(Settings(), Seconds(0.0))
    after = advance(coach, Tick(Seconds(1.0)), Settings(instrument=list(type(Settings().instrument))[2]))
    assert isinstance(after.memory.lesson.task, Surveying)
    assert [s.name for s in after.strings] == ["C2", "G2", "D3", "A3"]
    assert all(a.name != b.name for a, b in pairwise(after.watch.bounds))
