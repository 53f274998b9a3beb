"""README.md and DEVELOPERS.md say what the code does."""

import os
import re
from pathlib import Path

import pytest

from device.__main__ import COMMANDS
from device.lesson.table_text import diagram_in_words, lesson_in_words

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
LINKED = re.findall(r"\]\(([^)#:]+)\)", README + DEVELOPERS)
assert len(LINKED) > 5


def test_the_readme_begins_with_the_job_and_then_exactly_two_commands():
    first = README.split("\n\n")
    assert first[0].startswith("# Wallpeg")
    assert "teacher" in first[1]
    indented = [line for line in README.splitlines() if line.startswith("    ")][:2]
    assert [line.split()[0] for line in indented] == ["demo/run", "tests/run"]
    for command in ("demo/run", "tests/run"):
        assert os.access(ROOT / command, os.X_OK)


@pytest.mark.parametrize("target", LINKED)
def test_every_picture_and_page_linked_is_there(target):
    assert (ROOT / target).is_file()


def test_the_lesson_in_developers_is_the_one_in_the_table():
    assert lesson_in_words() in DEVELOPERS
    assert diagram_in_words() in DEVELOPERS


def test_every_file_named_for_contributors_is_there():
    named = re.findall(r"`((?:dsp|device|demo|tests|systemd)/[\w/.]+)`", DEVELOPERS)
    assert len(named) > 40
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_the_readme_names_no_command_that_is_not_there():
    named = set(re.findall(r"demo/run ([a-z]+)\b", README))
    assert named
    assert named <= set(COMMANDS)
