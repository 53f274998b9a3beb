"""The two commands, on machines that lack something: one clear line, never a traceback."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
OLD_PYTHON = "#!/bin/sh\nexit 1\n"  # refuses the version check, as Python 3.10 would
NO_VENV = "#!/bin/sh\ncase $2 in *venv*) exit 1;; esac\nexit 0\n"  # what Debian has without python3-venv
NO_NETWORK = """#!/bin/sh
case "$*" in
    *"-m venv"*) mkdir -p "$4/bin"; cp "$0" "$4/bin/python";;
    *"-m pip install"*) echo "ERROR: no index reachable"; exit 1;;
    *"import pip"*) exit 0;;
esac
"""


@pytest.fixture
def checkout(tmp_path):
    """A copy of the set-up scripts, and a PATH on which only a stand-in for Python is found."""
    for name in ("demo/run", "demo/environment.sh", "tests/run", "pyproject.toml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(ROOT / name, tmp_path / name)
    tools = tmp_path / "tools"
    tools.mkdir()
    for tool in ("sh", "dirname", "cat", "cksum", "tail", "grep", "mv", "sleep", "mkdir", "cp"):
        (tools / tool).symlink_to(shutil.which(tool) or tool)
    return tmp_path


def said_by(checkout, command, python):
    stand_in = checkout / "tools" / "python3"
    stand_in.write_text(python)
    stand_in.chmod(0o755)
    environment = {**os.environ, "PATH": str(checkout / "tools")}
    done = subprocess.run(
        [str(checkout / command)], env=environment, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stdout == ""
    return done.returncode, done.stderr.strip().splitlines()[-1]


@pytest.mark.parametrize("command", ["demo/run", "tests/run"])
@pytest.mark.parametrize(
    ("python", "cure"),
    [(OLD_PYTHON, "apt install python3 python3-venv"), (NO_VENV, "apt install python3-venv")],
    ids=["old python", "no venv"],
)
def test_what_is_missing_is_named_with_the_package_that_brings_it(checkout, command, python, cure):
    status, last = said_by(checkout, command, python)
    assert status == 1
    assert cure in last


@pytest.mark.parametrize("command", ["demo/run", "tests/run"])
def test_a_failed_installation_says_pips_own_reason(checkout, command):
    status, last = said_by(checkout, command, NO_NETWORK)
    assert status == 1
    assert "is there a network?" in last
    assert "no index reachable" in last
