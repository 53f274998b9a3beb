"""The service's unit, as the service manager itself reads it."""

import re
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
    text = UNIT.read_text().replace("/opt/wallpeg/current/bin/wallpeg run", "/bin/true")
    copy.write_text(text.replace("/opt/wallpeg/rollback", "/bin/true"))
    assert copy.read_text().count("/bin/true") == 3
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


def said(key: str) -> list[str]:
    """Every value of a key in the unit, in its order."""
    lines = [line for line in UNIT.read_text().splitlines() if not line.startswith("#")]
    return [value for name, _, value in (line.partition("=") for line in lines) if name == key]


PROMISES = {
    "it is started again for ever, whatever it ended with": {
        "Restart": ["always"],
        "RestartSec": ["1"],
        "StartLimitIntervalSec": ["0"],
    },
    "a loop that hangs is ended and started again": {"Type": ["notify"], "WatchdogSec": ["10"]},
    "what was changed with the buttons is kept, and nothing else can be written": {
        "StateDirectory": ["wallpeg"],
        "RuntimeDirectory": ["wallpeg"],
        "ProtectSystem": ["strict"],
        "ProtectHome": ["yes"],
        "PrivateTmp": ["yes"],
    },
    "it runs with no rights of its own": {
        "DynamicUser": ["yes"],
        "NoNewPrivileges": ["yes"],
        "CapabilityBoundingSet": [""],
        "AmbientCapabilities": [""],
        "PrivateUsers": ["yes"],
    },
    "nothing can leave": {
        "PrivateNetwork": ["yes"],
        "RestrictAddressFamilies": ["AF_UNIX"],
        "IPAddressDeny": ["any"],
    },
    "its own three kinds of device, and no other": {
        "DevicePolicy": ["closed"],
        "DeviceAllow": ["char-alsa rw", "char-gpiochip rw", "/dev/i2c-1 rw"],
        "SupplementaryGroups": ["audio gpio i2c"],
    },
    "the pin driver finds a folder it may write to": {
        "WorkingDirectory": ["/run/wallpeg"],
        "Environment": ["LG_WD=/run/wallpeg", "OPENBLAS_NUM_THREADS=1"],
    },
    "three failed starts go back, and a missing tool for that stops nothing": {
        "ExecStart": ["/opt/wallpeg/current/bin/wallpeg run"],
        "ExecStartPost": ["-+/opt/wallpeg/rollback ready"],
        "ExecStopPost": ["-+/opt/wallpeg/rollback ended"],
    },
    "it starts with the board": {"WantedBy": ["multi-user.target"]},
    "sound stays in memory: no picture of it is left on the card": {"LimitCORE": ["0"]},
}


@pytest.mark.parametrize("promise", PROMISES)
def test_the_unit_keeps_its_promise(promise):
    assert {key: said(key) for key in PROMISES[promise]} == PROMISES[promise]


RULES = UNIT.parent / "60-wallpeg.rules"


def test_the_pins_and_the_bus_belong_to_the_groups_the_service_is_in_and_to_nobody_else():
    lines = [line for line in RULES.read_text().splitlines() if line and not line.startswith("#")]
    rules = [dict(re.findall(r'(\w+)==?"([^"]*)"', line)) for line in lines]
    assert {(rule["SUBSYSTEM"], rule["GROUP"], rule["MODE"]) for rule in rules} == {
        ("gpio", "gpio", "0660"),
        ("i2c-dev", "i2c", "0660"),
    }
    assert {rule["GROUP"] for rule in rules} <= set(said("SupplementaryGroups")[0].split())


def test_what_would_break_the_parts_is_not_asked_for():
    lines = [line for line in UNIT.read_text().splitlines() if not line.startswith("#")]
    assert not [line for line in lines if line.startswith(("MemoryDenyWriteExecute", "ProcSubset"))]


def test_it_waits_for_no_network():
    assert "network" not in " ".join(
        line for line in UNIT.read_text().splitlines() if not line.startswith("#")
    )
