"""The box as a service: what the service manager is told, and when."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from device.__main__ import main as command
from device.commands import appliance
from device.commands.appliance import Watcher, status_of
from device.commands.installed import WentBack
from device.commands.run import configure, main, served, what_is_missing
from device.config.settings import Settings
from device.errors import PartError, StuckError
from device.lesson import monitored as table
from device.panel.scene import Fault, Scene
from device.runtime.loop_interface import Health, Snapshot
from device.version import DATE, VERSION
from dsp import Seconds


class Told:
    """A service manager's end of the line."""

    def __init__(self):
        self.lines = []

    def ready(self):
        self.lines.append("ready")

    def alive(self):
        self.lines.append("alive")

    def status(self, sentence):
        self.lines.append(sentence)

    def leaving(self):
        self.lines.append("leaving")

    def close(self):
        self.lines.append("closed")


def snapshot(at, pictures=1, **scene):
    coach = table.start(Settings(), Seconds(0.0))
    return Snapshot(Seconds(at), (), Scene(Settings(), coach, **scene), Health(pictures=pictures))


def test_ready_is_said_once_and_only_when_the_first_picture_is_out():
    told = Told()
    watcher = Watcher(told)
    for at, pictures in ((0.0, 0), (0.01, 0), (0.02, 1), (0.03, 1)):
        watcher.watch(snapshot(at, pictures))
    assert told.lines.count("ready") == 1
    assert told.lines.index("ready") > 0  # the loop ran before


def test_a_panel_that_does_not_answer_does_not_hold_readiness_back_for_long():
    told = Told()
    watcher = Watcher(told)
    watcher.watch(snapshot(100.0, 0))
    watcher.watch(snapshot(105.0, 0))
    assert "ready" not in told.lines
    watcher.watch(snapshot(105.1, 0))
    assert "ready" in told.lines


def test_the_watchdog_is_fed_once_a_second_by_the_loop_itself():
    told = Told()
    watcher = Watcher(told)
    for tick in range(1001):
        watcher.watch(snapshot(0.01 * tick))
    assert told.lines.count("alive") == pytest.approx(10, abs=1)


def test_an_unchanged_status_is_not_said_again():
    told = Told()
    watcher = Watcher(told)
    for at in range(5):
        watcher.watch(snapshot(float(at)))
    assert sum("E5" in line for line in told.lines) == 1


def test_the_status_line_tells_string_state_and_what_went_wrong():
    counts = "readings 0, dropped 0.0 s, overflows 0, microphone lost 0, panel lost 0"
    assert status_of(snapshot(1.0)) == f"E5, waiting; {counts}"
    assert status_of(snapshot(1.0, fault=Fault.NO_MICROPHONE)) == f"no microphone; {counts}"
    assert status_of(snapshot(1.0, resting=True)) == f"resting; {counts}"
    lost = replace(snapshot(1.0), health=Health(microphone_losses=2, dropped_s=Seconds(1.25)))
    assert "dropped 1.2 s" in status_of(lost)
    assert "microphone lost 2" in status_of(lost)


def test_on_a_computer_without_the_parts_there_is_one_sentence_and_the_way_to_the_demo(monkeypatch):
    import argparse  # noqa: PLC0415 - here only

    monkeypatch.setattr("device.commands.run.glob.glob", lambda _pattern: [])
    parser = argparse.ArgumentParser()
    configure(parser)
    with pytest.raises(PartError, match=r"no GPIO pins .*no I2C bus .*; `demo/run` shows it on any computer"):
        main(parser.parse_args([]))


def test_a_mistake_of_our_own_ends_the_process_with_a_status_and_says_where(tmp_path, capsys):
    def broken(_settings):
        raise ZeroDivisionError("of our own")

    assert served(None, tmp_path, broken) == 1
    said = capsys.readouterr().err
    assert "ZeroDivisionError: of our own" in said
    assert "in broken" in said


def test_missing_libraries_are_named(monkeypatch):
    monkeypatch.setattr("device.commands.run.LIBRARIES", ("numpy", "luma.nothing", "nowhere.at_all"))
    missing = what_is_missing()
    assert "Python library luma.nothing" in missing
    assert "Python library nowhere.at_all" in missing
    assert "numpy" not in missing


def test_the_box_loads_nothing_it_does_not_need():
    """numpy's random numbers alone are 6 MB; a board has little memory."""
    listing = "import sys, device.commands.appliance; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", listing],
        cwd=Path(__file__).parent.parent,
        capture_output=True,
        text=True,
        check=True,
    )
    assert not {"numpy.random", "asyncio", "unittest", "matplotlib", "scipy", "soundfile"} & set(
        done.stdout.split()
    )


def test_the_journal_begins_with_the_version(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(appliance, "run", lambda *_args, **_more: None)
    assert appliance.serve(None, tmp_path, lambda _settings: (None, None)) == 0
    assert capsys.readouterr().err.splitlines()[0] == f"Wallpeg {VERSION} of {DATE}"


def test_a_box_that_went_back_says_so_in_the_journal_and_shows_it(tmp_path, monkeypatch, capsys):
    seen = []
    monkeypatch.setattr(appliance, "went_back", lambda: WentBack("9.9.9-abcdef01", "3 starts failed"))
    monkeypatch.setattr(appliance, "run", lambda *_args, **more: seen.append(more["environment"]))
    assert appliance.serve(None, tmp_path, lambda _settings: (None, None)) == 0
    assert "the box left version 9.9.9-abcdef01 for this one: 3 starts failed" in capsys.readouterr().err
    assert seen[0].older_version


def test_what_no_version_can_bring_has_a_status_of_its_own(tmp_path, monkeypatch):
    """The service's way back to an older version does not count it (systemd/rollback.sh)."""

    def hanging(*_args, **_more):
        raise StuckError("opening the microphone has been hanging for 30 s")

    monkeypatch.setattr(appliance, "run", hanging)
    assert appliance.serve(None, tmp_path, lambda _settings: (None, None)) == os.EX_UNAVAILABLE
    monkeypatch.setattr("device.commands.run.what_is_missing", lambda: "I2C bus (/dev/i2c-*)")
    assert command(["run"]) == os.EX_UNAVAILABLE
    monkeypatch.setattr("device.commands.run.missing_libraries", lambda: ["Python library luma.oled"])
    assert command(["run"]) == 1
    assert "unavailable=69\n" in (Path(__file__).parent.parent / "systemd/rollback.sh").read_text()
