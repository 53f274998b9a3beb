"""The command line itself: what works is said in one line."""

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from device.__main__ import COMMANDS, main
from device.commands.options import Parser, add_settings, settings_of
from device.config.settings import Settings
from device.config.settings_table import SETTINGS
from device.errors import UsageError
from device.version import DATE, VERSION
from dsp import Instrument, OpenString

ROOT = Path(__file__).parent.parent


def test_without_a_command_one_line_names_them_all(capsys):
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert all(name in err for name in COMMANDS)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["lisen"], "did you mean listen?"),
        (["xyzzy"], "there are run, demo"),
        (["--fast"], "is not a command"),
    ],
)
def test_a_wrong_command_is_one_line_with_the_nearest_or_all(capsys, words, sentence):
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert sentence in err
    assert err.count("\n") == 1


def test_help_lists_the_commands_with_their_purpose(capsys):
    assert main(["--help"]) == 0
    out, _ = capsys.readouterr()
    assert all(purpose in out for purpose in COMMANDS.values())


def test_the_version_is_told_with_its_date(capsys):
    assert main(["--version"]) == 0
    assert re.fullmatch(r"wallpeg \d+\.\d+\.\d+ of \d{4}-\d\d-\d\d\n", capsys.readouterr().out)


def test_the_table_of_changes_begins_with_this_version():
    rows = [line for line in (ROOT / "systemd/changes.md").read_text().splitlines() if line.startswith("| ")]
    assert rows[1].startswith(f"| {VERSION} | {DATE} |")


def test_the_package_has_the_version_of_the_program():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    assert project["project"]["dynamic"] == ["version"]
    assert project["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "device.version.VERSION"}


def test_a_reader_that_leaves_early_gets_no_traceback():
    command = [sys.executable, "-m", "device", "listen", "--help"]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    read_end, write_end = os.pipe()
    os.close(read_end)
    done = subprocess.run(
        command, stdout=write_end, stderr=subprocess.PIPE, cwd=ROOT, env=environment, check=False, timeout=60
    )
    os.close(write_end)
    assert b"Traceback" not in done.stderr


def flags(*words):
    parser = Parser(prog="wallpeg test", allow_abbrev=False)
    add_settings(parser)
    return settings_of(parser.parse_args(words))


def test_no_flags_are_the_usual_settings():
    assert flags() == Settings()


def test_every_setting_is_a_flag_of_the_same_name(capsys):
    parser = Parser(prog="wallpeg test")
    add_settings(parser)
    parser.print_help()
    shown = set(re.findall(r"--([a-z-]+)", capsys.readouterr().out))
    assert {key.name.replace("_", "-") for key in SETTINGS.keys} <= shown


def test_flags_are_read_as_the_file_would_be():
    settings = flags(
        *("--instrument", "double-bass", "--reference-hz", "441.5", "--left-handed", "--no-move-on"),
        *("--retuned", "C1,E1,A1,D2,G2", "--rest-minutes", "7", "--clock-ppm", "-80"),
    )
    assert settings == Settings(
        instrument=Instrument.DOUBLE_BASS,
        reference_hz=441.5,
        left_handed=True,
        move_on=False,
        retuned=tuple(OpenString.named(name) for name in ("C1", "E1", "A1", "D2", "G2")),
        rest_minutes=7,
        clock_ppm=-80.0,
    )


TOO_TIGHT = [
    ("--string-set", "plain-gut-e", "--reference-hz", "466"),
    ("--retuned", "G3,D4,A4,A5"),  # a plain steel string so long breaks there, however thick it is
    ("--retuned", "G3,D4,A4,E5,A5"),
]


@pytest.mark.parametrize("words", TOO_TIGHT, ids=" ".join)
def test_settings_that_bring_a_string_near_breaking_are_refused(words, tmp_path, capsys):
    with pytest.raises(UsageError, match="of the breaking load on a string that may carry"):
        flags(*words)
    (tmp_path / "box.toml").write_text("[settings]\nstring_set = 'plain-gut-e'\nreference_hz = 466\n")
    assert flags("--settings", str(tmp_path / "box.toml")) == Settings()
    assert capsys.readouterr().err.count("breaking load") == 1


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--reference-hz", "44"), "--reference-hz 44 is outside 380 to 480 Hz; did you mean 440?"),
        (("--reference-hz", "442,5"), "442,5 is not a number from 380 to 480 Hz; did you mean 442.5?"),
        (("--retuned", "G3,D4"), "G3,D4 is not a list of 3 to 6 notes, low to high, like G3,D4,A4,E5"),
        (("--temperament", "purr"), "--temperament purr is not one of equal or pure; did you mean pure?"),
        (("--retuned", "G3,X4,A4"), "'X4' is not a note"),
        (("--tone-dbfs", "loud"), "--tone-dbfs loud is not a number from -40 to -12 dBFS; -18 works"),
    ],
)
def test_a_refused_flag_is_named_as_it_was_typed(words, sentence):
    with pytest.raises(UsageError) as refusal:
        flags(*words)
    assert sentence in str(refusal.value)
    assert " = " not in str(refusal.value)
