"""The faults the box must live through, row by row: what the player sees, and what happens."""

import ast
import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from device.config.settings import Settings
from device.errors import PartError, StuckError
from device.events import Button, Heard, NextString, PreviousString, StartOver, TeacherHere
from device.panel.scene import Fault
from device.panel.screen import draw
from device.parts.button_sampler import LOOK_EVERY_S, SampledButtons
from device.runtime.audio_in import AudioIn
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Environment, Parts
from device.runtime.reconnect import ReconnectingPart
from dsp import Hz, Seconds, cents
from dsp.synthesis import pluck, white_noise
from tests.oled import Ssd1306, Wire
from tests.stand_ins import (
    STEP,
    KeepingPanel,
    ScriptedTracker,
    SteppedClock,
    ToldButtons,
    ToldMicrophone,
    plain_engine,
    reading,
)
from tests.test_loop import Wall

DEVICE = Path(__file__).parent.parent / "device"
RATE = 16000  # Hz; enough for every violin string


class PlayedMicrophone:
    """Gives a recording at the clock's pace, then a converter's noise; `pace` off 1 is a wrong rate."""

    def __init__(self, clock, sound, pace=1.0):
        self.sample_rate_hz, self.closed = RATE, False
        self._clock, self._sound, self._pace = clock, sound, pace
        self._begun, self._given = clock.now(), 0

    def read(self):
        until = int((self._clock.now() - self._begun) * RATE * self._pace)
        block = self._sound[self._given : until]
        quiet = np.resize(np.array([0.0, STEP], np.float32), until - self._given - len(block))
        self._given = until
        return np.concatenate((block, quiet))

    def close(self):
        self.closed = True


def lived_through(sound, seconds):
    """The real signal path, coach and screen on a sound."""
    wall = Wall()
    wall.microphone = PlayedMicrophone(wall.clock, sound)
    return wall.run(seconds, box_engine())


def an_e():
    return pluck(Hz(652.0), Seconds(2.0), RATE, seed=3)


# the microphone: missing, unplugged and silent ones are in test_loop.py, hanging ones here


def test_a_microphone_at_a_wrong_rate_is_no_microphone_until_it_is_right():
    wall = Wall()
    wall.microphone = PlayedMicrophone(wall.clock, an_e(), pace=44100 / 48000)
    paces = itertools.chain((44100 / 48000, 44100 / 48000), itertools.repeat(1.0))
    wall.run(60.0, microphone=lambda: PlayedMicrophone(wall.clock, an_e(), next(paces)))
    assert [fault for _, fault in wall.faults()] == [None, Fault.NO_MICROPHONE, None]
    assert wall.faults()[1][0] < 11.0
    assert "says 16000 samples a second and gives another number" in wall.notes[0]


def test_nothing_is_read_from_a_microphone_at_a_wrong_rate_until_it_has_shown_a_right_one():
    """44.1 for 48 kHz: each reading would be 1200 * log2(48 / 44.1) = 147 cents off."""
    wall, sound = Wall(), np.tile(an_e(), 40)
    wall.microphone = PlayedMicrophone(wall.clock, sound, pace=44100 / 48000)
    paces = itertools.chain(itertools.repeat(44100 / 48000, 2), itertools.repeat(1.0))
    wall.run(38.0, box_engine(), microphone=lambda: PlayedMicrophone(wall.clock, sound, next(paces)))
    shown = [at for at, fault in wall.faults() if fault is Fault.NO_MICROPHONE]
    back = wall.faults()[-1][0]
    heard_at = [event.at for event in wall.events(Heard)]
    assert [at for at in heard_at if at < shown[0]]  # two stretches pass before it is known
    assert [at for at in heard_at if at > back]
    assert [at for at in heard_at if shown[0] < at < back] == []


def test_after_a_tone_of_our_own_the_tracker_begins_anew():
    """A stretch of sound that spans the gap is no pitch, and its time would be off by the gap."""
    built, wall = [], Wall()
    microphone = ReconnectingPart("microphone", wall.microphone)
    audio = AudioIn(microphone, lambda rate: built.append(rate) or ScriptedTracker([reading(0.5, 1)]))

    def hear_until(end):
        events = []
        while wall.clock.time < end:
            wall.clock.sleep(0.01)
            events += audio.hear(wall.clock.now())
        return [round(event.at, 2) for event in events if isinstance(event, Heard)]

    assert hear_until(0.3) == []
    audio.mute(Seconds(2.0))
    assert hear_until(1.99) == []
    assert hear_until(3.0) == [pytest.approx(2.5, abs=0.03)]
    assert len(built) == 2


@pytest.mark.parametrize("spoilt", [{"level_dbfs": math.inf}, {"frequency_hz": math.nan}])
def test_a_reading_with_a_figure_that_is_not_finite_is_none(spoilt):
    """It would be the loudest pluck for ever, and every other a neighbour's."""
    script = [replace(reading(0.5, 1), **spoilt), reading(1.5, 2)]
    wall = Wall().run(2.0, plain_engine(lambda *_: ScriptedTracker(list(script))))
    assert [round(event.at, 1) for event in wall.events(Heard)] == [1.5]
    assert wall.snapshots[-1].scene.unfollowed is False


@pytest.mark.parametrize("value", [0.0, 0.3, -1.0], ids=["zeros", "a constant", "full scale"])
def test_a_microphone_that_stands_still_is_no_microphone_until_it_moves(value):
    wall = Wall()
    wall.microphone.stuck = value
    opened = []

    def reopen():
        opened.append(ToldMicrophone(wall.clock))
        opened[-1].stuck = value if wall.clock.time < 14.0 else None
        return opened[-1]

    wall.run(30.0, microphone=reopen)
    said = [entry for entry in wall.faults() if entry[1] is not Fault.TOO_LOUD]
    shown = [fault for fault, _ in itertools.groupby(fault for _, fault in said)]
    assert shown[-2:] == [Fault.NO_MICROPHONE, None]
    assert 4.5 < next(at for at, fault in said if fault is Fault.NO_MICROPHONE) < 6.0
    assert said[-1][0] > 14.0  # it was shown without a pause for as long as it stood still
    assert 3 <= len(opened) <= 5  # looked for again and again
    assert f"every sample has been {value:g} for 5 s" in wall.notes[0]


def test_a_microphone_that_is_merely_quiet_is_a_microphone():
    assert Wall().run(30.0).faults() == [(0.0, None)]


def test_a_part_that_comes_and_goes_is_told_three_times_and_then_when_it_has_stayed():
    """A wrong rate shows every ten seconds anew, for days on end."""
    wall = Wall()
    wall.microphone = None
    paces = itertools.chain(itertools.repeat(44100 / 48000, 6), itertools.repeat(1.0))
    wall.run(150.0, microphone=lambda: PlayedMicrophone(wall.clock, an_e()[:0], next(paces)))
    words = [note.split(" (")[0] for note in wall.notes]
    assert words == ["microphone: there", "microphone: lost", "microphone: there", "microphone: lost",
                     "microphone: there"]  # fmt: skip
    assert wall.snapshots[-1].health.microphone_losses == 6


def test_a_busy_processor_that_loses_sound_is_not_a_wrong_rate():
    wall = Wall()
    stalls = {float(t): lambda: wall.clock.sleep(0.3) for t in range(1, 30, 3)}
    assert wall.run(30.0, at=stalls).faults() == [(0.0, None)]


def test_a_sound_library_that_hangs_ends_the_process():
    wall = Wall()
    wall.microphone = None

    def hanging():
        if wall.clock.time > 5.0:
            raise StuckError("opening the microphone has been hanging for 30 s")
        raise PartError("not yet")

    with pytest.raises(StuckError):
        wall.run(10.0, microphone=hanging)
    assert wall.panel.closed  # a dark panel, not one that shows yesterday's string


# the panel


@pytest.fixture
def wire(monkeypatch):
    pytest.importorskip("luma.oled", reason="the board's panel library is not installed")
    smbus2 = pytest.importorskip("smbus2", reason="the board's bus library is not installed")
    wire = Wire(Ssd1306())
    monkeypatch.setattr(smbus2, "SMBus", wire)
    return wire


@pytest.mark.parametrize("gone_from", [0.0, 2.0], ids=["at the start", "later"])
def test_a_panel_that_does_not_answer_gets_the_picture_again_and_the_rest_goes_on(wire, gone_from):
    from device.parts.display import Display  # noqa: PLC0415 - only where the library is

    wall = Wall()
    wall.panel = None
    wire.gone = gone_from == 0.0
    wall.run(
        8.0,
        panel=Display,
        at={
            2.0: lambda: setattr(wire, "gone", True),
            3.0: lambda: wall.buttons.pressed.append(Button.NEXT),
            3.2: wall.buttons.pressed.clear,
            4.0: lambda: setattr(wire, "gone", False),
        },
    )
    assert len(wall.events(NextString)) == 1
    assert wall.faults() == [(0.0, None)]  # nothing is said about it: there is nothing to say it on
    assert not wire.controller.on  # cleared at the end, so it was lit again
    lost = [note for note in wall.notes if "panel: lost" in note]
    assert len(lost) == (0 if gone_from == 0.0 else 1)
    assert sum("panel: there" in note for note in wall.notes) == (1 if gone_from == 0.0 else 2)


@pytest.mark.parametrize("every", [10, 100], ids=["one of ten", "one of a hundred"])
def test_a_disturbed_wire_is_not_seen(wire, every):
    """Every so many messages one is lost on the wire; the picture is whole, and the panel is never dark."""
    from device.parts.display import Display  # noqa: PLC0415 - only where the library is

    wall = Wall()
    wall.panel, dark, seen = None, [], []

    def look():
        dark.append(not wire.controller.on)
        seen.append(wire.controller.picture() if wire.controller.on else None)

    wire.loses = lambda message: message % every == 0
    moving = replace(box_engine(), tracker=lambda *_: ScriptedTracker([]))
    wall.run(20.0, moving, panel=Display, at={0.5 + 0.1 * k: look for k in range(190)})
    assert wire.lost * every > 800
    assert len(dark) == 190
    assert not any(dark)
    assert wall.snapshots[-1].health.panel_losses == 0
    assert not [note for note in wall.notes if "panel: lost" in note]
    wanted = wall.snapshots[-1]
    assert seen[-1].any()
    drawn = draw(wanted.scene, wanted.at)
    assert np.asarray(drawn).shape == seen[-1].shape


def test_what_was_on_the_panel_comes_back_whole(wire):
    from device.parts.display import Display  # noqa: PLC0415 - only where the library is

    wall = Wall()
    wall.panel, seen = None, []

    def blink_out():
        wire.gone = True
        wire.controller.memory[:] = 0x55

    todo = {1.0: lambda: seen.append(wire.controller.picture()), 2.0: blink_out}
    todo |= {3.0: lambda: setattr(wire, "gone", False), 7.0: lambda: seen.append(wire.controller.picture())}
    still = replace(
        box_engine(), draw=lambda scene, _at: draw(scene, Seconds(0.0))
    )  # nothing moves by itself
    wall.run(7.5, still, panel=Display, at=todo)
    assert seen[0].any()
    assert np.array_equal(*seen)


# the buttons

LESSON = (NextString, PreviousString, StartOver, TeacherHere)


def pressed(schedule, seconds=30.0, down_at_start=()):
    """What the lesson is asked for when levels change as scheduled."""
    wall = Wall()
    wall.buttons.pressed = list(down_at_start)

    def level(buttons):
        return lambda: setattr(wall.buttons, "pressed", buttons)

    wall.run(seconds, at={when: level(buttons) for when, buttons in schedule.items()})
    return wall, [type(event) for event in wall.events(LESSON)]


def test_a_stuck_button_asks_once_and_is_noted_once():
    wall, asked = pressed({1.0: [Button.NEXT]})
    assert asked == [StartOver]  # held, as it looks at first
    assert sum("next down for too long" in note for note in wall.notes) == 1


def test_a_bouncing_button_is_one_press():
    schedule = {1.0 + 0.011 * k: [Button.NEXT] if k % 2 == 0 else [] for k in range(7)}
    schedule |= {1.3: []}
    assert pressed(schedule, 3.0)[1] == [NextString]


def test_a_contact_that_never_stops_chattering_asks_for_nothing():
    schedule = {1.0 + 0.011 * k: [Button.NEXT] if k % 2 == 0 else [] for k in range(300)}
    assert pressed(schedule, 5.0)[1] == []


def test_a_button_held_at_boot_is_no_press():
    assert pressed({2.0: []}, 4.0, [Button.NEXT])[1] == []


def test_two_buttons_at_once_are_no_press():
    assert pressed({1.0: [Button.NEXT, Button.TONE], 1.5: []}, 4.0)[1] == []


def test_the_teachers_chord_is_heard_once():
    both = [Button.NEXT, Button.PREVIOUS]
    assert pressed({1.0: both, 5.0: []}, 7.0)[1] == [TeacherHere]


def test_an_80_ms_tap_is_not_missed_while_a_picture_is_sent():
    schedule = {}
    for k in range(10):
        schedule |= {1.0 + k: [Button.NEXT], 1.08 + k: []}
    assert pressed(schedule, 12.0)[1] == [NextString] * 10


def test_without_a_pin_driver_the_box_tunes_and_says_once_that_its_buttons_are_dead():
    wall = Wall()
    wall.buttons = None
    wall.microphone = PlayedMicrophone(wall.clock, an_e())

    def missing():
        raise PartError("the pin driver is missing")

    wall.run(5.0, box_engine(), buttons=missing)
    assert wall.events(Heard)
    assert wall.notes == ["buttons: not there (the pin driver is missing)"]


@pytest.mark.parametrize("tick_s", [0.09, 0.4, 2.0])
def test_no_press_is_lost_however_long_the_work_on_sound_takes(tick_s):
    """A processor slowed nine times: presses of 150 ms, one a second, looked at apart from the loop."""
    wall, looked = Wall(), []
    wall.buttons = SampledButtons(wall.buttons, wall.clock.now, pace_s=None)
    levels = wall.buttons._buttons

    class Slow(ToldMicrophone):
        def read(self):
            for _ in range(round(tick_s / LOOK_EVERY_S)):  # what the thread does while this one works
                wall.clock.sleep(LOOK_EVERY_S)
                levels.pressed = [Button.NEXT] if wall.clock.time % 1.0 < 0.15 else []
                wall.buttons.look()
                looked.append(wall.clock.time)
            return super().read()

    wall.microphone = Slow(wall.clock)
    wall.run(30.5)
    assert len(looked) > 2000
    presses = [int(event.at) for event in wall.events(NextString)]
    assert presses[:30] == list(range(30))  # one in each second


def test_sound_that_was_dropped_is_shown_and_counted():
    wall = Wall()
    wall.run(6.0, at={1.0: lambda: wall.clock.sleep(1.0)})
    assert [fault for _, fault in wall.faults()] == [None, Fault.TOO_BUSY, None]
    assert wall.faults()[1][0] == pytest.approx(2.0, abs=0.05)
    assert wall.snapshots[-1].health.dropped_s == pytest.approx(1.0, abs=0.05)


def test_sound_that_the_microphone_itself_dropped_is_shown_too():
    wall = Wall()
    wall.microphone.overflows = 0
    wall.run(6.0, at={1.0: lambda: setattr(wall.microphone, "overflows", 1)})
    assert [fault for _, fault in wall.faults()] == [None, Fault.TOO_BUSY, None]
    assert wall.snapshots[-1].health.overflows == 1


class HoledMicrophone(PlayedMicrophone):
    """Loses so many samples of sound ten times a second while a string rings, and counts it when `tells`."""

    def __init__(self, clock, sound, tells, lost):
        super().__init__(clock, sound)
        self.overflows, self._tells, self._lost = 0, tells, lost

    def read(self):
        block = super().read()
        if int(self._clock.now() / 0.1) > int((self._clock.now() - 0.01) / 0.1):
            self.overflows += self._tells
            return block[: -self._lost]
        return block


HOLES = (53, 100)  # samples: 3.3 and 6.3 ms


def off_across_holes(lost, tells):
    """Of each reading, in standard errors as stated."""
    wall = Wall()
    wall.microphone = HoledMicrophone(wall.clock, an_e(), tells, lost)
    heard = wall.run(3.0, box_engine()).events(Heard)
    return [abs(cents(e.frequency_hz, Hz(652.0))) / e.std_error_cents for e in heard]


@pytest.mark.parametrize("lost", HOLES)
def test_no_pitch_is_measured_across_a_hole_that_was_counted(lost):
    off = off_across_holes(lost, tells=True)
    assert off
    assert max(off) < 3.0


def test_holes_that_are_not_counted_lead_readings_astray():
    """Readings are wrong by more than they say: what the count is good for. Counted, they err by under 1."""
    worst = [max(off_across_holes(lost, tells=False)) for lost in HOLES]
    assert min(worst) > 3.0
    assert max(worst) > 5.0
    assert max(max(off_across_holes(lost, tells=True)) for lost in HOLES) < 1.0


# what comes in

NOISE = white_noise(RATE * 2, seed=1).astype(np.float32)


@pytest.mark.parametrize(
    ("sound", "shown"),
    [
        (np.full(RATE * 2, np.nan, np.float32), {None}),
        (np.full(RATE * 2, np.inf, np.float32), {None, Fault.TOO_LOUD}),
        (np.zeros(RATE * 2, np.float32), {None}),
        (np.full(RATE * 2, 0.4, np.float32), {None}),
        (np.full(RATE * 2, 1.0, np.float32), {None, Fault.TOO_LOUD}),
        (np.clip(100 * NOISE, -1, 1), {None, Fault.TOO_LOUD}),
    ],
    ids=["no numbers", "infinite", "silence", "a dead constant", "stuck at full scale", "clipped noise"],
)
def test_what_is_no_string_gives_no_reading(sound, shown):
    wall = lived_through(sound, 3.0)
    assert wall.events(Heard) == []
    assert {fault for _, fault in wall.faults()} == shown


def test_a_string_over_a_small_constant_offset_is_still_read():
    wall = lived_through(an_e() + np.float32(0.01), 3.0)
    assert wall.events(Heard)


def test_one_block_without_numbers_does_not_spoil_the_rest():
    broken = an_e()
    broken[:160] = np.nan
    wall = lived_through(np.concatenate((broken[:3200], an_e())), 3.0)
    assert [event for event in wall.events(Heard) if abs(event.frequency_hz - 652.0) < 2.0]


def test_sound_that_came_too_late_is_counted_and_never_shown_late():
    wall = Wall()
    wall.microphone = PlayedMicrophone(wall.clock, np.tile(an_e(), 4))
    wall.run(6.0, box_engine(), at={1.0: lambda: wall.clock.sleep(1.0)})
    assert wall.snapshots[-1].health.dropped_s == pytest.approx(1.0, abs=0.05)
    assert wall.events(Heard)
    assert not [e for e in wall.events(Heard) if 1.01 < e.at < 2.0]


# what is kept


def test_settings_that_cannot_be_kept_hold_all_the_same_and_it_is_said():
    clock, panel, buttons = SteppedClock(), KeepingPanel(), ToldButtons()
    snapshots = []

    def refuse(_settings):
        raise PartError("No space left on device")

    def observe(snapshot):
        snapshots.append(snapshot)
        buttons.pressed = [Button.PREVIOUS] if 1.0 < snapshot.at < 2.2 else []

    run(
        Parts(clock, ToldMicrophone(clock), buttons, panel),
        Settings(),
        plain_engine(),
        environment=Environment(keep=refuse),
        observe=observe,
        stop=lambda: clock.time > 10.0,
    )
    assert snapshots[-1].scene.settings.instrument is not Settings().instrument  # it was held
    shown = [snapshot.at for snapshot in snapshots if snapshot.scene.fault is Fault.NOT_KEPT]
    assert shown
    assert shown[-1] - shown[0] < 5.0


@pytest.mark.parametrize(
    ("found", "fault"),
    [({"wrong_settings": True}, Fault.WRONG_SETTINGS), ({"older_version": True}, Fault.OLDER_VERSION)],
)
def test_wrong_settings_are_shown_at_the_start_and_then_make_room(found, fault):
    clock, snapshots = SteppedClock(), []
    run(
        Parts(clock, ToldMicrophone(clock), ToldButtons(), KeepingPanel()),
        Settings(),
        plain_engine(),
        environment=Environment(**found),
        observe=snapshots.append,
        stop=lambda: clock.time > 10.0,
    )
    assert snapshots[0].scene.fault is fault
    assert snapshots[-1].scene.fault is None


# the clock


WALL_CLOCK = {"time", "time_ns", "now", "today", "utcnow", "localtime", "gmtime", "ctime", "strftime"}


def looks_at_the_date(source: str) -> set[str]:
    """Every name in a module by which it would read the date, however it was imported."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.module in {"time", "datetime"}:
            found |= {alias.name for alias in node.names} & (WALL_CLOCK | {"datetime", "date"})
        if isinstance(node, ast.Import):
            found |= {
                alias.name for alias in node.names if alias.name == "datetime" or alias.asname == "time"
            }
        named = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
        if named and node.value.id in {"time", "datetime", "date"} and node.attr in WALL_CLOCK:
            found.add(f"{node.value.id}.{node.attr}")
    return found


def test_nothing_looks_at_the_date():
    """A board without a clock of its own wakes up in another year and may be set right at any moment."""
    modules = [
        path for room in ("device", "dsp", "demo") for path in sorted((DEVICE.parent / room).rglob("*.py"))
    ]
    assert len(modules) > 150
    assert {path.name: names for path in modules if (names := looks_at_the_date(path.read_text()))} == {}
    assert any("time.monotonic" in path.read_text() for path in modules)


@pytest.mark.parametrize(
    "source",
    ["import time\ntime.time()", "from time import time", "import datetime", "from datetime import date",
     "import random as time", "import time\nnow = time.strftime"],
)  # fmt: skip
def test_a_module_that_looks_at_the_date_is_found(source):
    assert looks_at_the_date(source)


def test_a_picture_is_still_one_bit_deep():
    wall = lived_through(an_e(), 1.0)
    assert all(isinstance(p, Image.Image) and p.mode == "1" for p in wall.panel.pictures)
