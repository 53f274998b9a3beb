"""The page a first owner sends: figures of the board, and nothing private."""

import getpass
import platform
import socket

import pytest

from device.commands.board_report import report, service_state, write_report
from device.commands.trials import BounceWatch, Finding
from device.errors import WallpegError
from device.events import Button
from dsp import Seconds
from tests.each import each


@pytest.fixture
def place(tmp_path):
    """The files of a board that tell of it."""
    files = {
        "proc/device-tree/model": "Invented Board 9\0",
        "proc/device-tree/serial-number": "10000000deadbeef\0",
        "etc/os-release": 'PRETTY_NAME="Debian GNU/Linux 13 (trixie)"\nHOME_URL="x"\n',
        "etc/hostname": "schoolroom-7\n",
        "etc/machine-id": "0123456789abcdef0123456789abcdef\n",
        "sys/class/thermal/thermal_zone0/temp": "48312\n",
        "sys/devices/platform/soc/soc:firmware/get_throttled": "0\n",
    }
    for name, text in files.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return tmp_path


FINDINGS = [
    Finding("panel", True, "answers; a whole picture took 25 ms"),
    Finding("file", True, "/home/somebody/wallpeg.toml"),
    Finding("sound", True, 'microphones: "Somebody\'s"'),
    Finding("buttons", True, "each of the three was pressed; contacts bounced for 3 ms at most"),
]
STATE = {"ActiveEnterTimestampMonotonic": "14250000", "MemoryCurrent": str(80 * 2**20)}


def test_the_figures_of_the_board_are_on_the_page(place):
    lines = report(FINDINGS, STATE, place, cost=False).splitlines()
    for line in each(
        [
            "board: Invented Board 9",
            "processor: 48 degrees Celsius",
            "from the kernel's start to ready: 14.2 s",
            "memory of the service: 80.0 MiB",
            "panel: answers; a whole picture took 25 ms",
            "buttons: each of the three was pressed; contacts bounced for 3 ms at most",
        ]
    ):
        assert line in lines
    assert any(line.startswith("system: Debian GNU/Linux 13 (trixie), kernel ") for line in lines)


def test_nothing_private_is_on_it(place):
    text = report(FINDINGS, STATE, place)
    private = ["deadbeef", "schoolroom", "0123456789abcdef", "somebody", "Somebody", socket.gethostname(),
               platform.node(), f"/{getpass.getuser()}"]  # fmt: skip
    assert [word for word in private if word in text] == []


def test_what_is_not_known_is_said(tmp_path):
    lines = report([], {}, tmp_path, cost=False).splitlines()
    assert "board: not known here" in lines
    assert "memory of the service: not known here" in lines
    assert "from the kernel's start to ready: not known here" in lines


def test_what_hearing_and_drawing_cost_is_measured(tmp_path):
    lines = report([], {}, tmp_path).splitlines()
    assert any(line.startswith("hearing: 0.") and "CPU seconds for a second" in line for line in lines)
    assert any(line.startswith("drawing: ") and line.endswith(" ms a picture") for line in lines)


def test_the_service_manager_is_asked_once():
    asked = []
    state = service_state(lambda words: asked.append(words) or "MemoryCurrent=[not set]\n")
    assert state == {"MemoryCurrent": "[not set]"}
    assert len(asked) == 1


def test_a_file_that_is_there_is_not_written_over(tmp_path):
    path = tmp_path / "report.txt"
    write_report(path, "figures\n")
    with pytest.raises(WallpegError, match="is there already; name a file that is not"):
        write_report(path, "others\n")
    assert path.read_text() == "figures\n"
    with pytest.raises(WallpegError, match=r"cannot be written .No such file"):
        write_report(tmp_path / "nowhere" / "report.txt", "figures\n")


def watched(*looks):
    watch = BounceWatch(Seconds(0.0))
    for at, down in looks:
        watch = watch.looked_at(frozenset(down), Seconds(at))
    return watch


def test_a_bounce_lasts_from_its_first_change_to_its_last():
    on = [Button.NEXT]
    looks = [(1.0, on), (1.001, []), (1.004, on), (1.2, []), (1.202, on), (1.203, [])]
    assert watched(*looks).longest_s == pytest.approx(0.004)
    assert watched((1.0, on), (1.3, [])).longest_s == 0.0
    assert watched((1.0, on)).is_over(Seconds(1.055))
    assert not watched((1.0, on)).is_over(Seconds(1.045))
