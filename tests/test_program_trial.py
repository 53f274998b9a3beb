"""Trying the program without its parts, as the installer has it done before a version becomes current."""

import importlib
import json
from dataclasses import replace

import pytest

from demo.lessons import cells
from device.__main__ import main
from device.commands import program_trial
from device.commands.installed import WentBack, installed, went_back
from device.commands.program_trial import (
    lesson_finding,
    libraries_finding,
    loading,
    program_tried,
    version_finding,
)
from device.config.settings import Settings


def test_the_program_as_it_is_works_and_no_part_is_touched(capsys, monkeypatch):
    for part in (
        "microphone.SoundCardMicrophone",
        "buttons.GpioButtons",
        "display.Display",
        "store.Store.write",
    ):
        monkeypatch.setattr(f"device.parts.{part}", None)
    assert main(["check", "--no-parts", "--json"]) == 0
    said = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["check"] for line in said] == ["version", "program", "libraries", "lesson", "picture"]
    assert not [line for line in said if line["works"] is False]


@pytest.mark.parametrize("text", ["def half(:\n", "import nowhere_at_all\n", "raise SystemError\n"])
def test_a_damaged_module_is_named(tmp_path, monkeypatch, text):
    package = tmp_path / "oaken"
    (package / "deep").mkdir(parents=True)
    for name in ("__init__.py", "whole.py", "deep/__init__.py"):
        (package / name).write_text("")
    (package / "deep" / "cut.py").write_text(text)
    monkeypatch.syspath_prepend(str(tmp_path))
    importlib.invalidate_caches()
    finding = loading(["oaken"])
    assert finding.works is False
    assert finding.says.startswith("oaken.deep.cut does not load (")


def test_all_modules_of_the_program_are_loaded():
    count = int(loading().says.split()[1])
    assert count > 100


def test_a_library_that_is_missing_is_bad_on_a_box_and_only_said_on_a_computer(monkeypatch):
    assert libraries_finding(["nowhere_at_all"]).works is None
    monkeypatch.setattr(program_trial, "installed", lambda: True)
    assert libraries_finding(["nowhere_at_all"]).works is False


@pytest.mark.parametrize("change", [{"in_tune_share": 0.0}, {"broken": 1}, {"dangerous": 1}])
def test_a_lesson_that_goes_wrong_is_bad(monkeypatch, change):
    row = replace(cells.played(cells.all_cells()[0], 1, 1), **change)
    monkeypatch.setattr(cells, "played", lambda *_args, **_more: row)
    assert lesson_finding().works is False


@pytest.fixture
def version(tmp_path):
    """The folder of an installed version, the current one."""
    folder = tmp_path / "versions" / "0.1.0-aaaaaaaa"
    folder.mkdir(parents=True)
    (tmp_path / "current").symlink_to(folder)
    return folder


def test_a_box_that_went_back_knows_what_it_left_and_why(version):
    (version.parent.parent / "went-back").write_text("0.2.0-bbbbbbbb\n3 starts in a row failed\n")
    note = went_back(version)
    assert (note.left, note.why) == ("0.2.0-bbbbbbbb", "3 starts in a row failed")


def test_it_knows_so_by_the_link_to_the_current_version_too(version):
    (version.parent.parent / "went-back").write_text("0.2.0-bbbbbbbb\n3 starts in a row failed\n")
    assert went_back(version.parent.parent / "current").left == "0.2.0-bbbbbbbb"


@pytest.mark.parametrize("text", ["", "\n\n", "0.1.0-aaaaaaaa\ncut before the step\n"])
def test_without_a_version_that_was_left_nothing_is_told(version, text):
    (version.parent.parent / "went-back").write_text(text)
    assert went_back(version) is None


def test_a_newer_version_that_is_tried_beside_it_was_not_gone_back_to(version):
    """Or no upgrade would ever pass its trial again on a box that went back once."""
    (version.parent.parent / "went-back").write_text("0.2.0-bbbbbbbb\n3 starts in a row failed\n")
    newer = version.with_name("0.3.0-cccccccc")
    newer.mkdir()
    assert went_back(newer) is None


def test_a_version_the_box_went_back_to_passes_its_trial(monkeypatch):
    """It may be installed again; that a newer one was left is said and is no fault of it."""
    monkeypatch.setattr(program_trial, "went_back", lambda: WentBack("9.9.9-abcdef01", "3 starts failed"))
    found = next(program_tried(Settings()))
    assert found.works is True
    assert "left 9.9.9-abcdef01" in found.says
    assert version_finding().works is False


def test_a_checkout_is_no_installation(tmp_path, version):
    assert not installed(tmp_path)
    assert installed(version)
    assert went_back(tmp_path) is None
