"""What the box is installed from: pinned, hashed, and there for the boards it is meant for."""

import os
import re
import runpy
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SYSTEMD = ROOT / "systemd"
BUNDLE = runpy.run_path(str(SYSTEMD / "bundle.py"))


def entries(text: str) -> dict[str, list[str]]:
    """Requirement -> its hashes."""
    joined = re.sub(r"\\\n", " ", text)
    lines = [line for line in joined.splitlines() if line.strip() and not line.startswith("#")]
    return {line.split(" --hash")[0].strip(): re.findall(r"sha256:([0-9a-f]{64})\b", line) for line in lines}


def test_the_lock_file_holds_every_pin_with_its_hashes():
    locked = entries((SYSTEMD / "lock.txt").read_text())
    assert list(locked) == [*BUNDLE["marked_pins"](), BUNDLE["PIP"]]
    assert all(locked.values())


def test_every_library_of_the_board_is_pinned():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    needed = [*project["dependencies"], *project["optional-dependencies"]["board"]]
    names = {re.split(r"[<>=; ]", line)[0] for line in needed}
    assert names
    assert names <= {pin.split("==")[0] for pin in BUNDLE["pins"]("3.11")}


def test_the_newer_python_takes_the_pin_driver_from_its_system():
    older, newer = BUNDLE["pins"]("3.11"), BUNDLE["pins"]("3.13")
    assert set(older) - set(newer) == {"lgpio==0.2.2.0"}


@pytest.mark.heavy
@pytest.mark.parametrize("python", ["3.11", "3.13"])
def test_every_wheel_is_there_for_a_64_bit_board_and_is_the_one_in_the_lock_file(tmp_path, python):
    wanted = [*BUNDLE["pins"](python), BUNDLE["PIP"]]
    BUNDLE["download"](wanted, "aarch64", python, tmp_path)
    known = (SYSTEMD / "lock.txt").read_text()
    wheels = list(tmp_path.glob("*.whl"))
    assert len(wheels) == len(wanted)
    assert all(BUNDLE["digest"](wheel) in known for wheel in wheels)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--buss", "3"], "--buss is not known here; --bus N and --uninstall are"),
        (["--bus", "three"], "--bus three is no number; --bus 3 is one"),
        (["--bus"], "--bus needs a number, like --bus 3"),
    ],
)
def test_the_installer_refuses_what_it_does_not_know_in_one_line(words, sentence):
    done = subprocess.run(
        ["sh", str(SYSTEMD / "install.sh"), *words], capture_output=True, text=True, timeout=20, check=False
    )
    assert done.returncode == 1
    assert done.stderr == f"install.sh: {sentence}\n"
    assert done.stdout == ""


@pytest.mark.skipif(os.geteuid() == 0, reason="the tests run with the rights of root")
def test_the_installer_wants_the_rights_it_needs():
    done = subprocess.run(
        ["sh", str(SYSTEMD / "install.sh")], capture_output=True, text=True, timeout=20, check=False
    )
    assert (done.returncode, done.stderr) == (1, "install.sh: this changes the system: run it with sudo\n")


def test_what_the_service_needs_is_loaded_before_it_starts():
    assert (SYSTEMD / "modules-load.conf").read_text().splitlines()[-2:] == ["i2c-dev", "snd"]
