"""The service's unit, as the service manager itself reads it."""

import shutil
import subprocess
from pathlib import Path

import pytest

UNIT = Path(__file__).parent.parent / "systemd" / "wallpeg.service"
MOST_EXPOSED = 6  # tenths: systemd-analyze says at most 0.6

analyze = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="systemd-analyze is not installed"
)


def asked(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["systemd-analyze", *words], capture_output=True, text=True, timeout=60, check=False
    )


@pytest.fixture
def runnable(tmp_path):
    """The unit with a program that is there on every computer."""
    copy = tmp_path / UNIT.name
    copy.write_text(UNIT.read_text().replace("/opt/wallpeg/bin/wallpeg run", "/bin/true"))
    assert "/bin/true" in copy.read_text()
    return copy


@analyze
def test_the_unit_has_no_mistake(runnable):
    done = asked("verify", "--man=no", str(runnable))
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@analyze
def test_a_mistake_in_it_would_be_found(runnable):
    runnable.write_text(runnable.read_text().replace("WatchdogSec=", "WatchDogSec="))
    assert "WatchDogSec" in asked("verify", "--man=no", str(runnable)).stderr


@analyze
def test_it_is_locked_down_as_far_as_its_parts_allow(runnable):
    security = ("security", "--offline=true", str(runnable))
    assert asked(*security, f"--threshold={MOST_EXPOSED}").returncode == 0
    assert asked(*security, "--threshold=1").returncode != 0


def test_what_would_break_the_parts_is_not_asked_for():
    lines = [line for line in UNIT.read_text().splitlines() if not line.startswith("#")]
    assert not [line for line in lines if line.startswith(("MemoryDenyWriteExecute", "ProcSubset"))]


def test_it_waits_for_no_network():
    assert "network" not in " ".join(
        line for line in UNIT.read_text().splitlines() if not line.startswith("#")
    )
