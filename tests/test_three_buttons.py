"""The three buttons through the whole box: real loop, presses, menu, coach and screen on stand-in parts."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from device.commands.settings_file import keeper, load_settings
from device.config.settings import Settings, Tone
from device.controls.menu import Rules
from device.errors import PartError
from device.events import Button, Heard, Plucked
from device.instrument.refusals import refusals
from device.panel.scene import Fault
from device.parts.store import Store
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Environment, Parts
from dsp import Hz, Instrument, Seconds
from dsp.synthesis.plucks import pluck
from tests.stand_ins import (
    KeepingPanel,
    ScriptedTracker,
    SteppedClock,
    ToldButtons,
    ToldMicrophone,
    plain_engine,
    reading,
)

NEXT, PREVIOUS, THIRD = Button
SHORT, LONG, CHORD = 0.15, 1.2, 3.3  # seconds a button is down


@dataclass
class Wall:
    """A box whose buttons are pressed by a plan of (second, buttons, seconds down)."""

    settings: Settings = field(default_factory=Settings)
    speaker: object = None
    environment: Environment | None = None
    engine: object = field(
        default_factory=lambda: replace(box_engine(), tracker=lambda *_: ScriptedTracker([]))
    )
    microphone: object = None

    def run(self, seconds, *plan):
        clock, self.snapshots, buttons = SteppedClock(), [], ToldButtons()
        self.clock = clock

        def observe(snapshot):
            self.snapshots.append(snapshot)
            buttons.pressed = [
                b for at, down, length in plan if at <= snapshot.at < at + length for b in down
            ]

        microphone = ToldMicrophone(clock) if self.microphone is None else self.microphone(clock)
        run(
            Parts(clock, microphone, buttons, KeepingPanel(), self.speaker),
            self.settings,
            self.engine,
            environment=self.environment or Environment(rules=Rules(self.settings, refusals)),
            observe=observe,
            stop=lambda: clock.time >= seconds,
        )
        return self

    def scene(self, at):
        return next(snapshot.scene for snapshot in self.snapshots if snapshot.at >= at)

    def events(self, kind):
        return [event for snapshot in self.snapshots for event in snapshot.events if isinstance(event, kind)]


def presses(start, *steps):
    """A plan of presses one after the other, half a second between them."""
    plan, at = [], start
    for down, length in steps:
        plan.append((at, down, length))
        at += length + 0.5
    return plan, at


TO_VIOLA = [((THIRD,), LONG), ((THIRD,), SHORT), ((NEXT,), SHORT)]


def test_another_instrument_is_chosen_with_three_presses_and_listened_for():
    built = []
    engine = plain_engine(lambda *range_: built.append(range_[1:]) or ScriptedTracker([]))
    plan, end = presses(0.5, *TO_VIOLA, ((THIRD,), LONG))
    wall = Wall(engine=engine).run(end, *plan)
    assert wall.snapshots[-1].scene.settings.instrument is Instrument.VIOLA
    assert wall.snapshots[-1].scene.menu is None
    viola = Settings(instrument=Instrument.VIOLA)
    assert built == [Settings().tracking_range, viola.tracking_range]


def test_the_coach_asks_for_the_other_instruments_strings_at_once():
    plan, end = presses(0.5, *TO_VIOLA, ((THIRD,), LONG))
    wall = Wall().run(end, *plan)
    assert [string.name for string in wall.snapshots[-1].coach.strings] == ["C3", "G3", "D4", "A4"]
    assert wall.snapshots[-1].coach.string == "A4"
    assert wall.snapshots[-1].scene.unusual == {"instrument"}


def powered_up(tmp_path, seconds, *plan, file=""):
    """Switch the box on, press, and pull the plug."""
    path, store = tmp_path / "wallpeg.toml", Store(tmp_path / "state" / "settings.toml")
    path.write_text(file)
    here = load_settings(path, store, refusals)
    environment = Environment(
        rules=Rules(here.chosen.from_file, refusals), keep=keeper(store, here.chosen, lambda _words: None)
    )
    return Wall(settings=here.chosen.settings, environment=environment).run(seconds, *plan)


def test_what_was_chosen_is_there_after_the_plug_was_pulled_with_the_menu_still_open(tmp_path):
    plan, end = presses(0.5, *TO_VIOLA)
    assert powered_up(tmp_path, end, *plan).snapshots[-1].scene.menu is not None
    assert powered_up(tmp_path, 0.1).snapshots[-1].scene.settings == Settings(instrument=Instrument.VIOLA)


def test_back_to_the_file_holds_after_the_plug_was_pulled(tmp_path):
    plan, end = presses(0.5, *TO_VIOLA)
    powered_up(tmp_path, end, *plan)
    back = [
        ((THIRD,), LONG),
        ((NEXT, PREVIOUS), CHORD),
        ((PREVIOUS,), SHORT),
        ((THIRD,), SHORT),
        ((NEXT,), SHORT),
    ]
    plan, end = presses(0.5, *back)
    powered_up(tmp_path, end, *plan)
    assert powered_up(tmp_path, 0.1, file="[settings]\nreference_hz = 442\n").settings == Settings(
        reference_hz=Hz(442.0)
    )


def test_a_state_written_by_a_newer_box_survives_a_change_on_this_one(tmp_path):
    (tmp_path / "state").mkdir()
    state = tmp_path / "state" / "settings.toml"
    state.write_text('version = 9\n[changed]\nreference_hz = 442\nhumidity = "dry"\n[end]\n')
    plan, end = presses(0.5, *TO_VIOLA)
    powered_up(tmp_path, end, *plan)
    text = state.read_text()
    assert 'instrument = "viola"' in text
    assert "reference_hz = 442" in text
    assert 'humidity" = "dry"' in text


def test_garbage_in_the_state_starts_the_box_on_its_file(tmp_path):
    (tmp_path / "state").mkdir()
    (tmp_path / "state" / "settings.toml").write_bytes(b"\x00\xff" * 200)
    wall = powered_up(tmp_path, 0.1, file='[settings]\ninstrument = "cello"\n')
    assert wall.settings == Settings(instrument=Instrument.CELLO)


def test_settings_that_cannot_be_kept_work_and_are_told():
    def full(_settings):
        raise PartError("no space left")

    plan, end = presses(0.5, *TO_VIOLA)
    environment = Environment(rules=Rules(Settings(), refusals), keep=full)
    wall = Wall(environment=environment).run(end, *plan)
    assert Fault.NOT_KEPT in {snapshot.scene.fault for snapshot in wall.snapshots}
    assert wall.snapshots[-1].scene.settings.instrument is Instrument.VIOLA


class Room:
    """A loudspeaker and a microphone in one room; the microphone hears the tone, and plucks."""

    def __init__(self, plucks=()):
        self.played, self._plucks = [], plucks

    def hear(self, clock):
        self.clock, self._read = clock, 0
        return self

    sample_rate_hz = 48000

    def play(self, samples, sample_rate_hz):
        assert sample_rate_hz == self.sample_rate_hz
        self.played.append((round(self.clock.now() * sample_rate_hz), samples))

    def stop(self):
        start, samples = self.played[-1]
        until = round(self.clock.now() * self.sample_rate_hz) - start
        self.played[-1] = (start, samples[: max(until, 0)])

    def read(self):
        end = round(self.clock.now() * self.sample_rate_hz)
        block = np.random.default_rng(end).normal(0.0, 3e-4, end - self._read).astype(np.float32)
        for start, samples in (*self.played, *self._plucks):
            first, last = max(start, self._read), min(start + len(samples), end)
            if first < last:
                block[first - self._read : last - self._read] += 0.5 * samples[first - start : last - start]
        self._read = end
        return block

    def close(self):
        pass


def tone_in(room, seconds, *plan, **choices):
    wall = Wall(Settings(**choices), speaker=room, engine=box_engine(), microphone=room.hear)
    return wall.run(seconds, *plan)


@pytest.mark.parametrize("tone", Tone)
def test_the_box_never_answers_its_own_tone(tone):
    room = Room()
    wall = tone_in(room, 10.0, (1.0, (THIRD,), SHORT), tone=tone)
    ((start, samples),) = room.played
    assert start / 48000 == pytest.approx(1.15, abs=0.1)
    assert 20 * np.log10(np.abs(samples).max()) <= -12.0
    assert len(samples) > 3.5 * 48000
    assert wall.scene(2.0).sounding is not None
    assert wall.events(Heard) == []


def test_without_muting_the_same_tone_would_be_answered(monkeypatch):
    monkeypatch.setattr("device.runtime.audio_in.AudioIn.mute", lambda *_: None)
    assert tone_in(Room(), 4.0, (1.0, (THIRD,), SHORT)).events(Heard) != []


def test_a_pluck_after_the_tone_is_heard_again():
    sound = pluck(Hz(655.0), Seconds(2.0), 48000, seed=1)
    room = Room([(round(6.0 * 48000), sound)])
    wall = tone_in(room, 8.0, (1.0, (THIRD,), SHORT))
    assert [round(event.at, 1) for event in wall.events(Plucked)] == [pytest.approx(6.1, abs=0.2)]
    e5 = wall.snapshots[-1].coach.strings[-1]
    assert (e5.name, e5.last_cents) == ("E5", pytest.approx(-11.2, abs=1.0))


def test_a_second_press_stops_the_tone():
    room = Room()
    wall = tone_in(room, 3.0, (1.0, (THIRD,), SHORT), (2.0, (THIRD,), SHORT))
    assert len(room.played[0][1]) / 48000 == pytest.approx(1.0, abs=0.05)
    assert wall.scene(2.5).sounding is None


def test_without_a_loudspeaker_a_note_is_shown_for_a_moment_and_nothing_else_happens():
    wall = Wall().run(6.0, (1.0, (THIRD,), SHORT))
    assert wall.scene(1.5).fault is Fault.NO_SPEAKER
    assert wall.scene(5.5).fault is None
    assert {snapshot.scene.sounding for snapshot in wall.snapshots} == {None}


def soft(at, number, level):
    return replace(reading(at, number), level_dbfs=level)


def test_a_neighbours_pluck_is_not_followed_and_the_panel_says_so():
    script = [soft(1.0, 1, -25.0), soft(3.0, 2, -37.0), soft(6.0, 3, -26.0)]
    wall = Wall(engine=plain_engine(lambda *_: ScriptedTracker(script))).run(7.0)
    assert [event.pluck for event in wall.events(Plucked)] == [1, 3]
    assert wall.scene(3.5).unfollowed
    assert not wall.scene(5.5).unfollowed


def test_a_dark_panel_is_lit_within_the_reading_that_wakes_it():
    engine = plain_engine(lambda *_: ScriptedTracker([reading(70.0, 1)]))
    wall = Wall(Settings(rest_minutes=1), engine=engine).run(71.0)
    assert wall.scene(65.0).resting
    woken = next(
        snapshot for snapshot in wall.snapshots if any(isinstance(e, Plucked) for e in snapshot.events)
    )
    assert not woken.scene.resting


def test_the_lock_opens_to_the_chord_alone():
    locked = Settings(locked=True)
    plan, end = presses(0.5, ((THIRD,), LONG), ((NEXT,), SHORT), ((THIRD,), LONG), ((NEXT, PREVIOUS), CHORD))
    wall = Wall(locked).run(end, *plan)
    assert wall.scene(1.6).menu.title == "Locked"
    assert wall.snapshots[-1].scene.menu.title == "Grown-up pegs"


some_presses = st.lists(
    st.tuples(
        st.sets(st.sampled_from(list(Button)), min_size=1, max_size=2),
        st.sampled_from([0.02, SHORT, LONG, CHORD]),
    ),
    max_size=6,
)


@given(some_presses, st.booleans())
@settings(max_examples=5, deadline=None)
def test_whatever_small_hands_press_home_comes_by_itself(steps, locked):
    plan, end = presses(0.2, *((tuple(down), length) for down, length in steps))
    wall = Wall(Settings(locked=locked), engine=plain_engine()).run(end + 20.1, *plan)
    assert wall.snapshots[-1].scene.menu is None
