"""`wallpeg check` on parts that do what the test tells them."""

import json
from dataclasses import replace

import numpy as np
import pytest

from device.commands.check import checked
from device.commands.microphone_trial import try_microphone
from device.commands.service import Service
from device.commands.settings_file import load_settings
from device.commands.trials import Bench, Finding, Person, bus_finding, try_buttons, try_panel, try_store
from device.config.hardware import ButtonHardware
from device.errors import PartError
from device.events import Button
from device.parts.store import Store
from tests.stand_ins import RATE, KeepingPanel, ScriptedTracker, SteppedClock, ToldButtons, reading

PINS = ButtonHardware().pins


class Sounding:
    """A microphone that gives what `sound` makes of each sample's time, at so many samples a second."""

    def __init__(self, clock, sound, rate=RATE):
        self.sample_rate_hz, self.closed = RATE, False
        self._clock, self._sound, self._rate, self._given = clock, sound, rate, 0

    def read(self):
        until = int(self._clock.now() * self._rate)
        times = np.arange(self._given, until) / self._rate
        self._given = until
        return self._sound(times).astype(np.float32)

    def close(self):
        self.closed = True


def hiss(times):
    return 0.001 * np.sin(12345.6 * times**2)


@pytest.fixture
def clock():
    clock = SteppedClock()
    clock.time = 1.0
    return clock


def alone(clock):
    return Bench(clock, Person(there=False))


def heard(clock, sound, person=None, rate=RATE, readings=()):
    microphone = Sounding(clock, sound, rate)
    bench = Bench(clock, person or Person(there=False))
    findings = try_microphone(bench, lambda: microphone, lambda _rate: ScriptedTracker(list(readings)))
    assert microphone.closed
    return findings


def test_a_good_microphone_is_good_and_its_noise_is_told(clock):
    quiet, plucked = heard(clock, hiss)
    assert quiet.works
    assert "8000 samples a second, noise floor -63 dBFS" in quiet.says
    assert plucked.works is None


@pytest.mark.parametrize(
    ("sound", "sentence"),
    [
        (np.zeros_like, "all of them alike"),
        (lambda t: np.full_like(t, 0.3), "all of them alike"),
        (lambda t: np.sign(np.sin(1000 * t)), "driven too hard"),
        (lambda t: 0.2 * np.sin(1000 * t), "too much for a string"),
    ],
    ids=["silence", "dead constant", "clipping", "noise"],
)
def test_what_is_wrong_with_a_microphone_is_one_sentence(clock, sound, sentence):
    quiet = heard(clock, sound)[0]
    assert quiet.works is False
    assert sentence in quiet.says


def test_a_wrong_rate_is_found(clock):
    quiet = heard(clock, hiss, rate=RATE * 0.92)[0]
    assert quiet.works is False
    assert "every reading would be wrong" in quiet.says


def test_a_microphone_without_a_single_block_is_bad(clock):
    (finding,) = heard(clock, lambda times: times[:0])
    assert finding.works is False
    assert "no sound at all for 3 s" in finding.says


def test_a_missing_microphone_is_bad(clock):
    def missing():
        raise PartError("there is no microphone")

    assert try_microphone(alone(clock), missing, lambda _rate: None) == [
        Finding("microphone", False, "there is no microphone")
    ]


def test_a_pluck_is_asked_for_and_heard(clock):
    readings = [reading(3.5, 1), replace(reading(4.0, 1), since_pluck_s=0.5)]
    plucked = heard(clock, hiss, Person(there=True), readings=readings)[1]
    assert plucked.works
    assert "heard 440.0 Hz" in plucked.says


def test_no_pluck_within_the_time_is_bad(clock):
    plucked = heard(clock, hiss, Person(there=True))[1]
    assert plucked.works is False
    assert "no string was heard; the loudest sample was at -60 dBFS" in plucked.says


def test_the_panel_shows_a_frame_along_all_four_edges(clock):
    panel = KeepingPanel()
    assert try_panel(alone(clock), lambda: panel).works
    picture = np.asarray(panel.pictures[0])
    assert picture[0].all()
    assert picture[-1].all()
    assert picture[:, 0].all()
    assert picture[:, -1].all()
    assert panel.closed


def test_a_button_that_is_down_by_itself_is_bad(clock):
    buttons = ToldButtons()
    buttons.pressed = [Button.TONE]
    finding = try_buttons(alone(clock), lambda: buttons, PINS)
    assert finding.works is False
    assert "tone (GPIO 22) down though nobody presses" in finding.says


def test_each_button_must_be_pressed_when_somebody_is_there(clock):
    class Pressing(ToldButtons):
        def down(self):
            return [Button.NEXT] if clock.time > 2.0 else []

    finding = try_buttons(Bench(clock, Person(there=True)), Pressing, PINS)
    assert finding.works is False
    assert "previous (GPIO 27) and tone (GPIO 22) never went down" in finding.says


def test_where_nobody_can_press_the_pins_are_still_named(clock):
    finding = try_buttons(alone(clock), ToldButtons, PINS)
    assert finding.works
    assert "none of next (GPIO 17) and previous (GPIO 27) and tone (GPIO 22) is down" in finding.says


def test_the_speed_of_the_bus_is_read_from_the_device_tree(tmp_path):
    node = tmp_path / "i2c-1" / "of_node"
    node.mkdir(parents=True)
    (node / "clock-frequency").write_bytes((100_000).to_bytes(4, "big"))
    assert "runs at 100 kHz; pictures change slowly" in bus_finding(1, tmp_path).says
    (node / "clock-frequency").write_bytes((400_000).to_bytes(4, "big"))
    assert bus_finding(1, tmp_path).says == "I2C bus 1 runs at 400 kHz"
    assert bus_finding(3, tmp_path).works is None


def test_what_is_tried_in_the_folder_leaves_nothing_behind(tmp_path):
    assert try_store(tmp_path).works
    assert list(tmp_path.iterdir()) == []


class Manager:
    """A service manager with the one service, which may refuse to stop."""

    def __init__(self, state="active", stops=True):
        self.state, self.stops, self.calls = state, stops, []

    def __call__(self, words):
        self.calls.append(words[0])
        if words[0] == "stop" and self.stops:
            self.state = "inactive"
        if words[0] == "start":
            self.state = "active"
        if words[0] != "show":
            return ""
        return (
            f"LoadState=loaded\nActiveState={self.state}\nUnitFileState=enabled\nNRestarts=2\nStatusText=E5\n"
        )


@pytest.fixture(autouse=True)
def no_real_parts(monkeypatch):
    """Whatever this computer has stays untouched."""

    def missing(*_):
        raise PartError("not here")

    for opener in ("_microphone", "display_of", "lgpio_factory", "names"):
        monkeypatch.setattr(f"device.commands.check.{opener}", missing)


def everything(tmp_path, manager, agreed=False):
    settings = load_settings(None, Store(tmp_path / "kept.toml"), lambda _settings: ())
    return list(checked(settings, tmp_path, Service(manager), Person(there=False), agreed))


def test_a_running_service_is_left_alone_when_nobody_agrees(tmp_path):
    manager = Manager()
    findings = everything(tmp_path, manager)
    assert set(manager.calls) == {"show"}
    assert findings[-1] == Finding("parts", None, "the service holds them; --yes stops it for the check")
    assert Finding("service", True, "active, enabled at boot, started again 2 times; E5") in findings


def test_the_service_is_stopped_for_the_parts_and_started_again(tmp_path):
    manager = Manager()
    findings = everything(tmp_path, manager, agreed=True)
    assert [call for call in manager.calls if call != "show"] == ["stop", "start"]
    assert findings[-1].works
    assert {"microphone", "panel", "buttons"} <= {finding.what for finding in findings}


def test_a_service_that_does_not_stop_keeps_the_parts(tmp_path):
    findings = everything(tmp_path, Manager(stops=False), agreed=True)
    assert "parts" in {finding.what for finding in findings}
    assert "panel" not in {finding.what for finding in findings}


def test_each_finding_is_a_line_for_people_or_for_programs():
    finding = Finding("bus", None, "nothing tells")
    assert finding.line(as_json=False) == "bus          not tried nothing tells"
    assert json.loads(finding.line(as_json=True)) == {"check": "bus", "works": None, "says": "nothing tells"}
