"""The box as an appliance: installed by the installer, booted, starved, killed, switched off."""

import base64
import faulthandler
import io
import os
import re
import shutil
import tempfile
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from dsp import Hz, Seconds
from dsp.synthesis import pluck
from tests.boot.root import (
    DEBIAN_12,
    DEBIAN_13,
    MISSING,
    Machine,
    NotHereError,
    brought,
    built,
    gone,
    newer,
    own_tests_run,
)
from tests.sound_server import MISSING as NO_SOUND
from tests.sound_server import RATE, SoundServer

pytestmark = pytest.mark.heavy
HERE = Path(__file__).parent
RUNTIME = "run/wallpeg"


def left_out(lacking) -> None:
    """Skip everything, and say why in one line that is seen even where the reasons are not."""
    print(f"NOT TRIED: this machine cannot boot the box in a Debian root: {lacking}")
    pytest.skip(f"this machine cannot boot a Debian root: {lacking}")


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    if MISSING or NO_SOUND:
        left_out(f"it lacks {', '.join(lack for lack in (MISSING, NO_SOUND) if lack)}")
    server = SoundServer(tmp_path_factory.mktemp("sound"))
    server.folder.chmod(0o755)
    yield server
    server.stop()


@pytest.fixture(scope="module", params=[DEBIAN_13, DEBIAN_12], ids=lambda suite: suite.name)
def installed(sound, request):
    """Installed twice, to see that nothing changes the second time; not booted yet."""
    faulthandler.cancel_dump_traceback_later()  # it takes longer than one test of ours may
    folder = Path(tempfile.mkdtemp(prefix="wallpeg-boot-", dir="/var/tmp"))  # /tmp may allow no devices
    try:
        binds = (f"{sound.folder}:/opt/sound",)
        machine = Machine(built(folder / "root", request.param), *binds, suite=request.param)
        machine.tried()
        installer = brought(machine.root, request.param)
        machine.first = machine.inside("sh", "-c", f"umask 077; sh {installer}")
        assert machine.first.returncode == 0, machine.first.stdout + machine.first.stderr
        machine.second = machine.inside("sh", str(installer))
        assert machine.second.returncode == 0, machine.second.stdout + machine.second.stderr
        yield machine
    except NotHereError as lacking:
        left_out(lacking)
    finally:
        gone(folder)


@pytest.fixture(scope="module")
def machine(installed):
    """Booted, with the stand-ins put in by a drop-in."""
    machine = installed
    stand_ins = machine.root / "opt" / "stand-ins"
    stand_ins.mkdir()
    shutil.copy(HERE / "box.py", stand_ins)
    shutil.copy(HERE.parent / "oled.py", stand_ins)
    drop_in = machine.root / "etc/systemd/system/wallpeg.service.d"
    drop_in.mkdir()
    shutil.copy(HERE / "stand-ins.conf", drop_in)
    try:
        machine.boot()
        machine.until(lambda: machine.property("ActiveState") == "active")
        yield machine
    finally:
        machine.off()


def panel(machine) -> np.ndarray:
    """What is seen on the panel, True where it is lit."""
    done = machine.run("base64", "/var/lib/wallpeg/panel.png")
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(done.stdout))))


def press(machine, button: str, seconds: float) -> None:
    machine.run("sh", "-c", f"echo {button} >/{RUNTIME}/press; sleep {seconds}; rm /{RUNTIME}/press")


def test_the_projects_own_tests_pass_under_the_python_of_that_system(installed):
    if installed.suite != DEBIAN_13:
        pytest.skip("they run under a Python of that number already, outside")
    faulthandler.cancel_dump_traceback_later()  # it takes longer than one test of ours may
    done = own_tests_run(installed)
    print(done.stdout.strip().splitlines()[-1])
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-1000:]


def test_the_installer_says_what_it_changes_and_changes_it_once(machine):
    said = machine.first.stdout
    for place in (
        "/opt/wallpeg/versions/0.2.0-",
        "/boot/firmware/wallpeg.toml",
        "/etc/systemd/system/wallpeg.service",
    ):
        assert f"wrote {place}" in said
    assert "made the group gpio" in said
    assert "sudo reboot" in said
    again = machine.second.stdout
    assert "left /boot/firmware/wallpeg.toml as it is" in again
    assert "config.txt" not in again
    assert "made the group" not in again
    config = (machine.root / "boot/firmware/config.txt").read_text()
    assert config.startswith("# as it came\n")
    assert config.count("dtparam=i2c_arm_baudrate=400000") == 1


def test_it_is_active_after_the_boot_and_shows_a_picture(machine):
    assert machine.run("systemctl", "is-active", "wallpeg").stdout.strip() == "active"
    assert panel(machine).any()
    begun, ready = (
        int(machine.property(name))
        for name in ("ExecMainStartTimestampMonotonic", "ActiveEnterTimestampMonotonic")
    )
    status = machine.run("cat", f"/proc/{machine.property('MainPID')}/status").stdout
    resident = next(line for line in status.splitlines() if line.startswith("VmRSS"))
    print(f"start to first picture {(ready - begun) / 1e6:.2f} s; {resident}")


def test_the_status_line_tells_the_string(machine):
    machine.until(lambda: machine.property("StatusText").startswith("E5, waiting"))


def test_most_of_the_processor_is_left_while_nobody_plucks(machine):
    before, begun = processor_s(machine), time.monotonic()
    time.sleep(8.0)
    share = (processor_s(machine) - before) / (time.monotonic() - begun)
    print(f"while nobody plucks: {100.0 * share:.1f} % of one core")
    assert share < 0.5


def processor_s(machine) -> float:
    """Seconds of the processor that the service has had: proc(5), fields 14 and 15 of stat."""
    fields = machine.run("cat", f"/proc/{machine.property('MainPID')}/stat").stdout.rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def test_nothing_can_leave_it(machine):
    attempts = machine.run("cat", f"/{RUNTIME}/attempts").stdout.split("\n")
    assert len([line for line in attempts if line]) == 4
    assert not [line for line in attempts if "succeeded" in line]
    pid = machine.property("MainPID")
    interfaces = machine.run("cat", f"/proc/{pid}/net/dev").stdout.splitlines()[2:]
    assert [line.split(":")[0].strip() for line in interfaces] == ["lo"]


OPEN = {"G3": Hz(195.998), "D4": Hz(293.665), "A4": Hz(440.0), "E5": Hz(650.0)}  # the E is 24 cents flat


def test_plucks_are_heard_through_the_service(machine, sound):
    """Whatever it asks for is plucked, until it says what to turn: once it heard all four."""
    machine.until(lambda: machine.property("StatusText").startswith("E5, waiting"))
    time.sleep(2.0)
    assert any(guided_after_a_pluck(machine, sound) for _ in range(20)), machine.journal()
    sound.hush()


def asked_for(machine) -> Hz:
    """The pitch of the string that the panel shows; of the E while it shows none."""
    return OPEN.get(machine.property("StatusText")[:2], OPEN["E5"])


def guided_after_a_pluck(machine, sound) -> bool:
    """Whether the string that it asks for, plucked once, makes the box say what to turn on the E."""
    sound.play(pluck(asked_for(machine), Seconds(6.0), RATE, seed=2))
    end = time.monotonic() + 4.0
    while time.monotonic() < end:
        if "E5, guiding" in machine.property("StatusText"):
            return True
        time.sleep(0.1)
    return False


def test_settings_outlive_a_restart_of_the_board(machine):
    before = machine.run("cat", "/var/lib/wallpeg/settings.toml").stdout
    assert "instrument" not in before
    press(machine, "previous", 1.2)  # held: another instrument
    machine.until(lambda: "viola" in machine.run("cat", "/var/lib/wallpeg/settings.toml").stdout)
    machine.off()
    machine.boot()
    machine.until(lambda: machine.property("StatusText").startswith("A4, waiting"))


def test_a_loop_that_hangs_is_killed_and_comes_back(machine):
    restarts = int(machine.property("NRestarts"))
    pid = machine.property("MainPID")
    machine.run("touch", f"/{RUNTIME}/hang")
    took = machine.until(lambda: machine.property("MainPID") not in {pid, "0"})
    machine.until(lambda: machine.property("ActiveState") == "active")
    assert int(machine.property("NRestarts")) == restarts + 1
    assert "Watchdog timeout" in machine.journal()
    print(f"watchdog: back after {took:.1f} s")


def test_a_mistake_in_the_loop_ends_the_process_and_it_comes_back(machine):
    pid = machine.property("MainPID")
    machine.run("touch", f"/{RUNTIME}/trip")
    took = machine.until(lambda: machine.property("MainPID") not in {pid, "0"})
    machine.until(lambda: machine.property("ActiveState") == "active")
    assert "RuntimeError: tripped" in machine.journal()
    assert panel(machine).any()
    print(f"a mistake of our own: back after {took:.1f} s")


def test_a_killed_process_comes_back(machine):
    pid = machine.property("MainPID")
    machine.run("systemctl", "kill", "-s", "KILL", "wallpeg")
    took = machine.until(lambda: machine.property("MainPID") not in {pid, "0"})
    machine.until(lambda: machine.property("ActiveState") == "active")
    print(f"killed: back after {took:.1f} s")
    assert panel(machine).any()


def test_stopping_clears_the_panel(machine):
    assert panel(machine).any()
    assert machine.run("systemctl", "stop", "wallpeg").returncode == 0
    assert machine.property("Result") == "success"
    assert not panel(machine).any()
    assert machine.run("systemctl", "start", "wallpeg").returncode == 0  # comes back once it is ready
    assert panel(machine).any()


def test_the_check_tells_what_is_missing_and_starts_the_service_again(machine):
    done = machine.run("wallpeg", "check", "--yes", "--json")
    assert '"check": "service", "works": true' in done.stdout
    assert '"check": "settings", "works": true' in done.stdout
    assert '"check": "panel", "works": false' in done.stdout
    assert '"check": "restart", "works": true' in done.stdout
    assert done.returncode == 1


def test_a_panel_on_another_bus_is_allowed_by_a_drop_in(machine):
    done = machine.run("sh", "/root/wallpeg/systemd/install.sh", "--bus", "3")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "wrote /etc/systemd/system/wallpeg.service.d/bus.conf" in done.stdout
    devices = machine.run("systemctl", "show", "wallpeg", "--property=DeviceAllow", "--value").stdout.split(
        "\n"
    )
    allowed = {line for line in devices if line} - {"char-rtc r"}  # that one comes with ProtectClock
    assert allowed == {"char-alsa rw", "char-gpiochip rw", "/dev/i2c-3 rw"}
    verified = machine.run("systemd-analyze", "verify", "--man=no", "wallpeg.service")
    assert (verified.returncode, verified.stdout, verified.stderr) == (0, "", "")


RAISES = "\n\ndef serve(*_args):\n    raise RuntimeError('a mistake of the new version')\n"


def current(machine) -> str:
    return machine.run("readlink", "/opt/wallpeg/current").stdout.strip().removeprefix("versions/")


def test_a_bundle_that_was_bent_on_its_way_changes_nothing(machine):
    before, pid = current(machine), machine.property("MainPID")
    done = machine.run("sh", newer(machine.root, "0.3.0", "# bent\n", refresh=False))
    assert done.returncode == 1
    assert "the bundle is damaged: device/commands/appliance.py is not as it was" in done.stderr
    assert (current(machine), machine.property("MainPID")) == (before, pid)


def test_a_version_that_does_not_load_is_never_used(machine):
    """Tried as the service's user under its sandbox, while the one in use goes on."""
    before, pid = current(machine), machine.property("MainPID")
    done = machine.run("sh", newer(machine.root, "0.4.0", "import nowhere_at_all\n"))
    assert done.returncode == 1
    assert "No module named 'nowhere_at_all'" in done.stderr
    assert (
        f"the new version is not used: it does not work as the service's user; version {before}"
        in done.stderr
    )
    assert (current(machine), machine.property("MainPID")) == (before, pid)
    assert machine.run("systemctl", "is-active", "wallpeg").stdout.strip() == "active"
    assert machine.run("ls", "/run/systemd/system/wallpeg-trial.service").returncode != 0


def test_a_version_that_does_not_start_is_left_by_itself_and_the_box_says_so(machine):
    before = current(machine)
    done = machine.run("sh", newer(machine.root, "0.5.0", RAISES))
    assert done.returncode == 1
    assert f"did not start and the box went back to {before}" in done.stderr
    machine.until(lambda: machine.property("ActiveState") == "active")
    assert current(machine) == before
    assert re.search(
        rf"3 starts in a row failed: went back from 0\.5\.0-\w+ to {re.escape(before)}", machine.journal()
    )
    left = re.compile(r"the box left version 0\.5\.0-\w+ for this one: 3 starts in a row failed")
    machine.until(lambda: left.search(machine.journal()))


def test_a_good_version_is_taken_and_back_is_one_command(machine):
    before = current(machine)
    done = machine.run("sh", newer(machine.root, "0.6.0"))
    assert done.returncode == 0, done.stdout + done.stderr
    assert current(machine).startswith("0.6.0-")
    assert machine.run("wallpeg", "--version").stdout == "wallpeg 0.6.0 of 2030-01-01\n"
    machine.until(lambda: "Wallpeg 0.6.0 of 2030-01-01" in machine.journal())
    done = machine.run("sh", "/root/wallpeg/systemd/install.sh", "--back")
    assert done.returncode == 0, done.stdout + done.stderr
    assert current(machine) == before
    machine.until(lambda: machine.property("ActiveState") == "active")


def test_under_an_overlay_what_lies_on_a_partition_of_its_own_outlives_the_plug(machine, sound, tmp_path):
    """As `systemd/README.md` says: memory over an untouched card, a small partition for what was changed."""
    machine.off()
    partition = tmp_path / "partition"
    partition.mkdir(mode=0o700)
    binds = f"{sound.folder}:/opt/sound", f"{partition}:/var/lib/private"
    hung = Machine(machine.root, *binds, overlay=True)
    try:
        hung.boot()
        hung.until(lambda: hung.property("StatusText").startswith("E5, waiting"))
        hung.run("touch", "/etc/written-to-the-root")
        press(hung, "previous", 1.2)  # held: another instrument
        hung.until(lambda: "viola" in hung.run("cat", "/var/lib/wallpeg/settings.toml").stdout)
        hung.off()
        hung.boot()
        hung.until(lambda: hung.property("StatusText").startswith("A4, waiting"))
        assert hung.run("test", "-e", "/etc/written-to-the-root").returncode == 1
    finally:
        hung.off()
        machine.boot()


def test_uninstalling_leaves_the_settings_file_alone(machine):
    done = machine.run("sh", "/root/wallpeg/systemd/install.sh", "--uninstall")
    assert done.returncode == 0, done.stdout + done.stderr
    assert machine.run("test", "-e", "/opt/wallpeg").returncode == 1
    assert machine.run("test", "-e", "/etc/systemd/system/wallpeg.service").returncode == 1
    assert machine.run("test", "-e", "/boot/firmware/wallpeg.toml").returncode == 0
    assert "i2c_arm" not in (machine.root / "boot/firmware/config.txt").read_text()
