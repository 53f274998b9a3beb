"""The loop on stand-in parts and a stepped clock: what it moves, and what it lives through."""

from dataclasses import dataclass, field

import pytest

from device.config.settings import Settings
from device.errors import PartError
from device.events import Button, Heard, NextString, Plucked, Tick
from device.panel.scene import Fault
from device.runtime.loop import run
from device.runtime.loop_interface import Environment, Parts, Reopen, Snapshot
from tests.stand_ins import (
    KeepingPanel,
    ScriptedTracker,
    SteppedClock,
    ToldButtons,
    ToldMicrophone,
    plain_engine,
    reading,
)


@dataclass
class Wall:
    """A box of stand-ins, and what was seen of it tick by tick."""

    clock: SteppedClock = field(default_factory=SteppedClock)
    panel: KeepingPanel = field(default_factory=KeepingPanel)
    buttons: ToldButtons = field(default_factory=ToldButtons)
    snapshots: list[Snapshot] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def __post_init__(self):
        self.microphone = ToldMicrophone(self.clock)

    def run(self, seconds, engine=None, at=None, **reopen):
        """Run for so long; `at` holds what to do at which second."""
        todo = dict(at or {})

        def observe(snapshot):
            self.snapshots.append(snapshot)
            for when in [t for t in todo if t <= snapshot.at]:
                todo.pop(when)()

        run(
            Parts(self.clock, self.microphone, self.buttons, self.panel),
            Settings(),
            engine or plain_engine(),
            reopen=Reopen(**reopen),
            observe=observe,
            stop=lambda: self.clock.time >= seconds,
            environment=Environment(note=self.notes.append),
        )
        return self

    def events(self, kind):
        return [event for snapshot in self.snapshots for event in snapshot.events if isinstance(event, kind)]

    def faults(self):
        """Each fault shown, and from when on."""
        changes = []
        for snapshot in self.snapshots:
            if not changes or changes[-1][1] != snapshot.scene.fault:
                changes.append((round(snapshot.at, 2), snapshot.scene.fault))
        return changes


def test_readings_reach_the_coach_as_plucks_and_what_was_heard():
    engine = plain_engine(lambda *_: ScriptedTracker([reading(0.5, 1), reading(0.6, 1), reading(1.5, 2)]))
    wall = Wall().run(2.0, engine)
    assert [(e.pluck, round(e.at, 2)) for e in wall.events(Plucked)] == [(1, 0.5), (2, 1.5)]
    assert [(e.pluck, round(e.at, 2)) for e in wall.events(Heard)] == [(1, 0.5), (1, 0.6), (2, 1.5)]


def test_time_never_goes_back_between_events():
    times = [e.at for m in Wall().run(1.0).snapshots for e in m.events]
    assert len(times) > 90
    assert times == sorted(times)


def test_the_tracker_is_built_for_the_instruments_range():
    built = []
    Wall().run(0.1, plain_engine(lambda *range_: built.append(range_) or ScriptedTracker([])))
    assert built == [(8000, *Settings().tracking_range)]


def test_a_tap_asks_for_the_next_string():
    wall = Wall()
    wall.run(
        1.0,
        at={
            0.3: lambda: wall.buttons.pressed.append(Button.NEXT),
            0.4: wall.buttons.pressed.clear,
        },
    )
    assert len(wall.events(NextString)) == 1


def test_an_unchanged_scene_is_sent_once():
    assert len(Wall().run(3.0).panel.pictures) == 1


def test_a_lost_microphone_is_shown_and_is_back_by_itself():
    wall = Wall()
    tries = []

    def reopen():
        tries.append(wall.clock.time)
        if wall.clock.time < 5.0:
            raise PartError("not there")
        return ToldMicrophone(wall.clock)

    wall.run(9.0, microphone=reopen, at={1.0: lambda: setattr(wall.microphone, "fails", True)})
    assert [fault for _, fault in wall.faults()] == [None, Fault.NO_MICROPHONE, None]
    assert wall.faults()[1][0] == pytest.approx(1.0, abs=0.03)
    assert wall.faults()[2][0] < 7.03
    assert wall.microphone.closed
    assert len(tries) < 8  # pauses grow
    assert len(wall.notes) == 2  # once when lost, once when back


def test_a_microphone_that_falls_quiet_without_an_error_is_lost_within_a_second():
    wall = Wall()
    wall.run(3.0, at={1.0: lambda: setattr(wall.microphone, "quiet", True)})
    assert wall.faults()[1] == (pytest.approx(1.6, abs=0.05), Fault.NO_MICROPHONE)


def test_soundings_go_on_counting_when_the_microphone_came_back():
    wall = Wall()
    engine = plain_engine(lambda *_: ScriptedTracker([reading(0.5, 1)]))
    wall.run(
        4.0,
        engine,
        microphone=lambda: ToldMicrophone(wall.clock),
        at={1.0: lambda: setattr(wall.microphone, "fails", True)},
    )
    assert [e.pluck for e in wall.events(Plucked)] == [1, 2]


def test_without_a_microphone_at_the_start_the_box_runs_and_says_so():
    wall = Wall()
    wall.microphone = None
    wall.run(3.0)
    assert wall.faults() == [(0.0, None), (2.0, Fault.NO_MICROPHONE)]
    assert len(wall.panel.pictures) == 2
    assert len(wall.events(Tick)) > 290


def test_a_panel_that_fails_does_not_stop_the_box_and_gets_the_picture_again():
    wall = Wall()
    second = KeepingPanel()
    wall.run(
        4.0,
        panel=lambda: second,
        at={
            1.0: lambda: setattr(wall.panel, "fails", True),
            1.1: lambda: setattr(wall.microphone, "fails", True),
        },
    )
    assert wall.panel.closed
    assert len(second.pictures) == 1
    assert wall.snapshots[-1].health.panel_losses == 1


def test_sound_that_comes_too_late_is_dropped_and_counted():
    wall = Wall()
    fed = []

    class Counting(ScriptedTracker):
        def feed(self, samples):
            fed.append(len(samples))
            return super().feed(samples)

    wall.run(3.0, plain_engine(lambda *_: Counting([])), at={1.0: lambda: wall.clock.sleep(1.0)})
    assert wall.snapshots[-1].health.dropped_s == pytest.approx(1.0, abs=0.05)
    assert max(fed) <= 0.5 * 8000


def test_everything_is_let_go_of_at_the_end():
    wall = Wall().run(0.1)
    assert wall.microphone.closed
    assert wall.panel.closed
