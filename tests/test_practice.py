"""Entering, leaving and feeding the practices: buttons, settings, lock, faults, rest and click."""

from dataclasses import fields, replace

import numpy as np
import pytest

from device.config.practice_settings import ReadStep
from device.config.settings import Settings
from device.controls.menu import Rules
from device.controls.reference_tone import ReferenceTone
from device.errors import PartError
from device.events import Button, Heard, Plucked, Struck
from device.lesson.advice import Advice, Say
from device.lesson.memory import Finished
from device.lesson.state import Mark, Phase
from device.panel.drawing.lettering import words
from device.panel.scene import Fault
from device.practice.count.session import CountPhase
from device.practice.read.session import ReadPhase
from device.practice.table import PRACTICES, following, practice_named
from device.runtime.box_state import Inputs, box_engine, initial, step
from device.runtime.reconnect import ReconnectingPart
from device.runtime.tone_out import ToneOut
from dsp import Cents, Hz, Seconds
from dsp.clicks import Click
from tests.each import each
from tests.scenes import lesson

NEXT, PREVIOUS, THIRD = Button.NEXT, Button.PREVIOUS, Button.TONE
ENGINE = box_engine()


class Box:
    """The pure state of the box, ticked by hand."""

    def __init__(self, all_right=True, **settings):
        chosen = Settings(**settings)
        self.rules = Rules(chosen, lambda _settings: ())
        self.now = 1.0
        self.state = initial(chosen, ENGINE, Seconds(self.now))
        self.lesson_events = []
        if all_right:
            told = lesson("G3", Advice(Say.ALL_RIGHT), phase=Phase.FINISHED, marks=(Mark.RIGHT,) * 4)
            memory = self.state.coach.memory
            memory = replace(memory, lesson=replace(memory.lesson, task=Finished()))
            coach = replace(
                told.scene.coach, since=Seconds(self.now), memory=memory, watch=self.state.coach.watch
            )
            self.state = replace(self.state, coach=coach)
        self.ticks(0.1)

    def ticks(self, seconds, down=(), heard=()):
        end = self.now + seconds
        while self.now < end:
            self.now += 0.01
            inputs = Inputs(Seconds(self.now), down, heard)
            self.state, events = step(self.state, inputs, ENGINE, self.rules)
            self.lesson_events += events
            heard = ()

    def holds(self, *buttons, seconds=1.0):
        self.ticks(seconds, down=buttons)
        self.ticks(0.1)

    def presses(self, button):
        self.holds(button, seconds=0.15)

    def plucks(self, number, hz=440.0, level=-20.0):
        self.ticks(0.05, heard=(Plucked(Seconds(self.now), number, level),))
        for since in (0.1, 0.14, 0.18):
            heard = Heard(
                Seconds(self.now), number, Hz(hz), Cents(0.5), 0.0, 0.0, level, Seconds(since / 10.0 + 0.08)
            )
            self.ticks(0.04, heard=(heard,))

    @property
    def scene(self):
        return self.state.scene(self.rules, Seconds(self.now))

    @property
    def shows(self):
        return None if self.scene.practice is None else self.scene.practice.practice.name


def test_one_held_button_leads_from_all_right_to_read_and_back():
    box = Box()
    assert box.shows is None
    box.holds(NEXT)
    assert box.shows == "read"
    box.holds(NEXT)
    assert box.shows is None
    assert box.state.coach.phase is Phase.WAITING


def test_the_other_held_button_goes_round_the_table():
    box = Box()
    box.holds(NEXT)
    seen = [box.shows]
    for _ in range(len(PRACTICES)):
        box.holds(PREVIOUS)
        seen.append(box.shows)
    assert seen == ["read", "count", "read"]
    assert [following(practice).name for practice in PRACTICES] == ["count", "read"]


def test_before_all_is_right_the_held_button_is_the_lessons():
    box = Box(all_right=False)
    box.holds(NEXT)
    assert box.shows is None


@pytest.mark.parametrize("name", [practice.name for practice in PRACTICES])
def test_a_practice_begins_from_the_settings(name):
    box = Box(all_right=False)
    box.holds(THIRD)
    for _ in range(60):
        if box.scene.menu is None or (box.scene.menu.title, box.scene.menu.value) == ("Practise", name):
            break
        box.presses(PREVIOUS)
    assert box.scene.menu.hints == ("before", "start", "next")
    box.presses(THIRD)
    assert box.shows == name
    assert box.scene.menu is None


def test_the_box_wakes_with_tuning():
    box = Box(all_right=False)
    assert box.shows is None
    assert "practice" not in {field.name for field in fields(Settings)}


def test_the_lesson_hears_nothing_of_a_practice():
    """Not even once it waits for a new pupil, when any pluck in tuning would make it listen."""
    box = Box()
    box.holds(NEXT)
    for second in range(25):
        box.ticks(1.0)
        box.plucks(10 + second, hz=220.0)
    before = box.state.coach
    assert before.phase is Phase.WAITING
    box.plucks(50, hz=440.0)
    assert box.state.coach == before
    assert box.shows == "read"


def test_what_the_child_plays_is_told_and_kept_only_as_the_step():
    box = Box()
    box.holds(NEXT)
    asked = box.state.practice.state.asked.pitch.note_number
    box.ticks(0.5)
    box.plucks(20, hz=440.0 * 2.0 ** ((asked - 69) / 12.0))
    assert box.state.practice.state.phase is ReadPhase.TOLD
    assert box.state.settings.read_step is ReadStep.OPEN_STRINGS


def test_a_neighbours_soft_pluck_is_no_answer():
    box = Box()
    box.plucks(1, hz=659.26)
    box.holds(NEXT)
    box.ticks(0.5)
    box.plucks(2, hz=523.25, level=-35.0)
    assert box.state.practice.state.answer is None


def test_it_is_left_when_nobody_plays_or_presses():
    box = Box()
    box.holds(NEXT)
    box.ticks(55.0)
    assert box.shows == "read"
    box.ticks(6.0)
    assert box.shows is None


def test_a_fault_the_settings_and_rest_come_before_a_practice():
    box = Box(rest_minutes=1)
    box.holds(NEXT)
    loud = box.state.with_fault(Fault.TOO_LOUD, Seconds(box.now))
    assert loud.scene(box.rules, Seconds(box.now)).fault is Fault.TOO_LOUD
    box.holds(THIRD)
    assert box.scene.menu is not None
    assert box.scene.practice is None
    box.holds(THIRD)
    assert box.shows == "read"
    assert box.state.scene(box.rules, Seconds(box.now + 61.0)).resting


def test_the_lock_shuts_the_settings_in_a_practice_too():
    box = Box(locked=True)
    box.holds(NEXT)
    box.holds(THIRD)
    assert box.scene.menu.title == "Locked"
    box.presses(THIRD)
    box.holds(PREVIOUS)
    box.presses(NEXT)
    assert box.state.settings.tempo_bpm == Settings().tempo_bpm


@pytest.mark.parametrize("left_handed", [False, True])
def test_the_staff_is_the_same_for_either_hand(left_handed):
    box = Box(left_handed=left_handed)
    box.now = 1.1
    box.holds(NEXT)
    other = Box()
    other.now = 1.1
    other.holds(NEXT)
    picture = ENGINE.draw(box.scene, Seconds(box.now)).tobytes()
    assert picture == ENGINE.draw(other.scene, Seconds(other.now)).tobytes()


def test_by_ear_first_holds_in_a_practice():
    box = Box(by_ear=True)
    box.holds(NEXT)
    box.ticks(0.5)
    box.plucks(20)
    assert box.state.practice.state.phase is ReadPhase.HIDDEN
    box.presses(NEXT)
    assert box.state.practice.state.phase is not ReadPhase.HIDDEN


def test_every_attack_is_wanted_only_while_it_is_needed():
    box = Box()
    assert box.state.attacks_from is None
    box.holds(NEXT)
    assert box.state.attacks_from is None
    box.holds(PREVIOUS)
    assert box.state.attacks_from == pytest.approx(196.0, abs=0.01)


def counting(**settings):
    box = Box(**settings)
    box.holds(NEXT)
    box.holds(PREVIOUS)
    box.ticks(0.5)
    box.ticks(0.05, heard=(Struck(Seconds(box.now), -20.0),))
    return box


def played_through(box, neighbour=None):
    """The box once the bar was played well; a neighbour's stroke of that level falls after the first one."""
    seen, played = set(), False
    for _ in range(1200):
        state = box.state.practice.state
        seen.add(state.phase)
        if state.phase in {CountPhase.TOLD, CountPhase.HIDDEN}:
            break
        due = ()
        if state.phase is CountPhase.PLAYING and not played:
            ours = [Struck(Seconds(state.since + wanted), -20.0) for wanted in state.wanted_s]
            theirs = [] if neighbour is None else [Struck(Seconds(ours[0].at + 0.2), neighbour)]
            due, played = (ours[0], *theirs, *ours[1:]), True
        box.ticks(0.01, heard=due)
    assert {CountPhase.COUNTING_IN, CountPhase.PLAYING} < seen
    return box


def test_a_bar_is_counted_in_played_and_told():
    box = counting()
    assert box.state.practice.state.phase is CountPhase.COUNTING_IN
    state = played_through(box).state.practice.state
    assert state.phase is CountPhase.TOLD
    assert state.judged.well


def test_settings_changed_behind_a_practice_hold_when_it_comes_back():
    box = Box()
    box.holds(NEXT)
    box.holds(THIRD)
    box.presses(THIRD)
    box.presses(NEXT)  # the instrument: a viola
    box.holds(THIRD)
    assert box.state.practice.state.played.instrument is box.state.settings.instrument
    assert box.state.settings.instrument is not Settings().instrument


class Loudspeaker:
    def __init__(self, fails=False):
        self.played, self.fails = [], fails

    def play(self, samples, _rate):
        if self.fails:
            raise PartError("unplugged")
        self.played.append(samples)

    def stop(self):
        self.played.append(None)

    def close(self):
        self.played.append(None)


CLICKS = ReferenceTone("", (), -18.0, Seconds(5.0), Seconds(2.0), (Click(Seconds(0.1)), Click(Seconds(1.0))))


def test_clicks_are_left_out_without_a_loudspeaker_and_heard_past_with_one():
    silent = ToneOut(ReconnectingPart("loudspeaker", None, None, lambda _note: None))
    assert silent.follow(CLICKS, Seconds(5.0)) is None
    speaker = Loudspeaker()
    out = ToneOut(ReconnectingPart("loudspeaker", speaker, None, lambda _note: None))
    assert out.follow(CLICKS, Seconds(5.0)) is None
    assert np.abs(speaker.played[0]).max() > 0.01
    assert out.follow(None, Seconds(5.5)) is None
    assert speaker.played[1:] == [None]
    tuned = replace(CLICKS, frequencies=(Hz(440.0),), clicks=())
    assert out.follow(tuned, Seconds(6.0)) == pytest.approx(7.3)  # a tone is not heard past


def test_clicks_that_are_begun_late_fall_where_they_were_meant():
    speaker = Loudspeaker()
    out = ToneOut(ReconnectingPart("loudspeaker", speaker, None, lambda _note: None))
    out.follow(CLICKS, Seconds(5.05))
    loud = np.flatnonzero(np.abs(speaker.played[0]) > 0.05) / 48_000
    assert loud[0] == pytest.approx(0.05 + 0.01, abs=0.006)
    assert loud[-1] == pytest.approx(0.95 + 0.02, abs=0.006)


def test_every_row_of_the_table_answers_for_all_that_may_be_asked():
    for practice in each(PRACTICES):
        box = Box()
        running = practice.begin(box.state.settings, Seconds(3.0))
        assert practice_named(practice.name) is practice
        assert practice.settings(running, box.state.settings) == box.state.settings
        assert practice.sound(running, box.state.settings) is None
        assert not practice.is_lit(running)


def test_the_lesson_hears_every_pluck_at_home_and_none_while_something_is_practised():
    home = Box(all_right=False)
    home.plucks(7, hz=659.26)
    assert home.state.coach.memory.pluck == 7
    practising = Box()
    practising.holds(NEXT)
    assert practising.shows == "read"
    before = practising.state.coach.memory.pluck
    practising.plucks(7, hz=659.26)
    assert practising.state.coach.memory.pluck == before


def test_the_picture_that_says_all_is_right_names_the_button_that_leads_on():
    """The word "hold", dark on light or light on dark, at the bottom right: over the button NEXT."""
    box = Box()
    picture = ENGINE.draw(box.scene, Seconds(box.now))
    word = words("hold")
    found = [
        (x, y)
        for x in range(picture.width - word.width + 1)
        for y in range(picture.height - word.height + 1)
        if picture.crop((x, y, x + word.width, y + word.height)).tobytes() == word.tobytes()
    ]
    assert len(found) == 1
    assert found[0][0] > picture.width * 2 // 3


def test_by_ear_first_holds_in_count_too():
    box = played_through(counting(by_ear=True))
    assert box.state.practice.state.phase is CountPhase.HIDDEN
    assert not box.state.practice.practice.is_lit(box.state.practice.state)
    box.presses(NEXT)
    assert box.state.practice.state.phase is CountPhase.TOLD


@pytest.mark.parametrize("left_handed", [False, True])
def test_the_bar_is_the_same_for_either_hand(left_handed):
    one, other = counting(left_handed=left_handed), counting()
    pictures = [ENGINE.draw(box.scene, Seconds(box.now)).tobytes() for box in (one, other)]
    assert one.shows == "count"
    assert pictures[0] == pictures[1]


@pytest.mark.parametrize("practice", [practice.name for practice in PRACTICES])
def test_a_fault_shows_over_either_practice_and_the_practice_comes_back(practice):
    box = Box()
    box.holds(NEXT)
    if practice == "count":
        box.holds(PREVIOUS)
    before = ENGINE.draw(box.scene, Seconds(box.now)).tobytes()
    faulty = box.state.with_fault(Fault.TOO_LOUD, Seconds(box.now)).scene(box.rules, Seconds(box.now))
    assert ENGINE.draw(faulty, Seconds(box.now)).tobytes() != before
    assert faulty.fault is Fault.TOO_LOUD
    assert faulty.practice is None
    assert box.shows == practice


def test_the_lock_holds_the_tempo_in_count():
    box = counting(locked=True)
    box.presses(NEXT)
    assert box.state.settings.tempo_bpm == Settings().tempo_bpm
    free = counting()
    free.presses(NEXT)
    assert free.state.settings.tempo_bpm != Settings().tempo_bpm


def test_in_a_row_of_pupils_a_neighbours_soft_stroke_spoils_no_bar():
    box = played_through(counting(), neighbour=-40.0)
    assert box.state.practice.state.judged.well
    beside = played_through(counting(), neighbour=-20.0)
    assert not beside.state.practice.state.judged.well
