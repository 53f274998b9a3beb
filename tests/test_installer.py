"""The installer, run against a folder: versions side by side, one step between them, nothing half done."""

import itertools
import os
import re
import shutil
import signal
import stat
import tempfile
from pathlib import Path

import pytest

from tests.each import each
from tests.installing import System, listed, project

pytestmark = pytest.mark.skipif(
    os.geteuid() != 0 or shutil.which("setpriv") is None or shutil.which("systemctl") is None,
    reason="installing takes the rights of root, setpriv and systemctl",
)
NOTHING_ELSE = re.compile(r"^install\.sh: .*\n$")


@pytest.fixture
def place():
    """A folder that a user without rights may look into."""
    folder = Path(tempfile.mkdtemp(prefix="wallpeg-installed-", dir="/var/tmp"))
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.fixture
def system(place):
    return System(place)


@pytest.fixture
def old(place):
    return project(place / "old", "1.0.0")


@pytest.fixture
def new(place):
    return project(place / "new", "2.0.0")


def refused(done, sentence: str) -> None:
    """It ended with one sentence on stderr that holds the given words."""
    assert done.returncode == 1
    assert NOTHING_ELSE.match(done.stderr), done.stderr
    assert sentence in done.stderr


# what a whole installation is


def test_everything_is_where_the_box_looks_for_it(system, old):
    done = system.install(old)
    assert done.returncode == 0, done.stderr
    etc, systemd = system.root / "etc", old / "systemd"
    for installed, source in {
        "systemd/system/wallpeg.service": "wallpeg.service",
        "udev/rules.d/60-wallpeg.rules": "60-wallpeg.rules",
        "modules-load.d/wallpeg.conf": "modules-load.conf",
    }.items():
        assert (etc / installed).read_bytes() == (systemd / source).read_bytes()
        assert stat.S_IMODE((etc / installed).stat().st_mode) == 0o644
    groups = (etc / "group").read_text()
    assert [name for name in ("audio", "gpio", "i2c") if re.search(rf"^{name}:", groups, re.M)] == [
        "audio",
        "gpio",
        "i2c",
    ]
    enabled = etc / "systemd/system/multi-user.target.wants/wallpeg.service"
    assert enabled.is_symlink()
    assert (system.home / "rollback").read_bytes() == (systemd / "rollback.sh").read_bytes()
    assert os.access(system.home / "rollback", os.X_OK)
    libraries = next((system.home / "current/lib").glob("python*")) / "site-packages"
    assert {"dsp", "device", "demo"} <= {path.name for path in libraries.iterdir()}
    assert system.version() == "wallpeg 1.0.0"
    config = (system.root / "boot/firmware/config.txt").read_text()
    assert config.startswith("# as it came\n")
    assert "dtparam=i2c_arm=on\ndtparam=i2c_arm_baudrate=400000\n" in config


def test_an_i2s_microphone_is_told_of_when_asked_for_once_and_goes_with_the_rest(system, old):
    system.install(old)
    config = system.root / "boot/firmware/config.txt"
    assert "i2s" not in config.read_text()
    assert "turned on an I2S microphone" in system.install(old, "--i2s").stdout
    system.install(old, "--i2s")
    lines = config.read_text().splitlines()
    assert [lines.count(line) for line in ("dtparam=i2s=on", "dtoverlay=adau7002-simple")] == [1, 1]
    system.install(old, "--uninstall")
    assert config.read_text().strip() == "# as it came"


def test_a_second_time_nothing_changes(system, old):
    system.install(old)
    before = system.files()
    done = system.install(old)
    assert done.returncode == 0
    assert "is there and works" in done.stdout
    assert system.files() == before


def test_settings_that_somebody_wrote_are_left_alone(system, old):
    settings = system.root / "boot/firmware/wallpeg.toml"
    settings.write_text("reference_hz = 415\n")
    assert "left " in system.install(old).stdout
    assert settings.read_text() == "reference_hz = 415\n"


def test_a_panel_on_another_bus_is_allowed_by_a_drop_in_and_no_other_device_is(system, old):
    system.install(old, "--bus", "3")
    drop_in = (system.root / "etc/systemd/system/wallpeg.service.d/bus.conf").read_text()
    allowed = [line for line in drop_in.splitlines() if line.startswith("DeviceAllow=")]
    assert allowed == [
        "DeviceAllow=",
        "DeviceAllow=char-alsa rw",
        "DeviceAllow=char-gpiochip rw",
        "DeviceAllow=/dev/i2c-3 rw",
    ]


def test_uninstalling_leaves_nothing_but_the_settings_and_what_the_system_had(system, old):
    before = set(system.files())
    system.install(old)
    done = system.install(old, "--uninstall")
    assert done.returncode == 0
    left = set(system.files()) - before
    assert [name for name in left if "wallpeg" in name] == ["boot/firmware/wallpeg.toml"]
    assert (system.root / "boot/firmware/config.txt").read_text().strip() == "# as it came"


# modes


def test_sources_of_mode_0600_and_a_mask_of_077_leave_a_program_the_service_can_read(system, old):
    for path in old.rglob("*"):
        path.chmod(0o700 if path.is_dir() else 0o600)
    done = system.install(old, umask=0o077)
    assert done.returncode == 0, done.stderr
    version = (system.home / "current").resolve()
    closed = [p for p in version.rglob("*") if not p.is_symlink() and not p.stat().st_mode & stat.S_IROTH]
    assert closed == []
    assert not [p for p in version.rglob("*") if p.is_dir() and not p.stat().st_mode & stat.S_IXOTH]
    assert (system.root / "etc/systemd/system/wallpeg.service").stat().st_mode & stat.S_IROTH
    seen = system.run("setpriv", "--reuid=65534", "--regid=65534", "--clear-groups",
                      str(system.home / "current/bin/wallpeg"), "--version")  # fmt: skip
    assert seen.stdout == "wallpeg 1.0.0\n"


def test_nobody_but_root_can_write_to_the_program(system, old):
    system.install(old, umask=0o000)
    writable = stat.S_IWGRP | stat.S_IWOTH
    paths = [p for p in system.home.rglob("*") if not p.is_symlink()]
    assert len(paths) > 20
    assert [p for p in paths if p.stat().st_mode & writable] == []


# an upgrade


def test_a_new_version_lies_beside_the_old_one_and_back_is_one_command(system, old, new):
    system.install(old)
    assert system.install(new).returncode == 0
    assert system.version() == "wallpeg 2.0.0"
    assert system.install(new, "--back").returncode == 0
    assert system.version() == "wallpeg 1.0.0"
    left, why = (system.home / "went-back").read_text().splitlines()
    assert left.startswith("2.0.0-")
    assert why == "asked for"


def test_no_more_than_two_versions_are_kept(system, old, new, place):
    for source in (old, new, project(place / "third", "3.0.0")):
        assert system.install(source).returncode == 0
    names = sorted(path.name[:5] for path in (system.home / "versions").iterdir() if path.is_dir())
    assert names == ["2.0.0", "3.0.0"]


def test_without_a_version_before_there_is_no_way_back_and_it_is_said(system, old):
    system.install(old)
    done = system.install(old, "--back")
    assert done.returncode == 1
    assert "there is no version before 1.0.0-" in done.stderr
    assert system.version() == "wallpeg 1.0.0"


def test_going_back_where_nothing_is_installed_is_refused(system, old):
    refused(system.install(old, "--back"), "Wallpeg is not installed here")


def test_a_program_of_the_time_of_one_version_is_taken_over(system, old):
    for name in ("bin/wallpeg", "lib/python3/x.py", "pyvenv.cfg"):
        path = system.home / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("of old\n")
    assert system.install(old).returncode == 0
    assert system.version() == "wallpeg 1.0.0"
    assert sorted(path.name for path in system.home.iterdir()) == ["current", "rollback", "versions"]


DAMAGED = {
    "a program file that is cut short": ("device/__main__.py", "import sys\ndef main(:"),
    "a program that cannot be imported": ("dsp/__init__.py", "raise ImportError('cut')\n"),
    "a program whose own check fails": ("dsp/__init__.py", "WHOLE = False\n"),
}


@pytest.mark.parametrize("how", DAMAGED)
def test_a_version_that_does_not_work_never_becomes_current(system, old, new, how):
    """Damage from before the bundle was made: its hashes are right, and the trial finds it."""
    system.install(old)
    name, text = DAMAGED[how]
    (new / name).write_text(text)
    listed(new)
    done = system.install(new)
    assert done.returncode == 1
    assert "the new version is not used" in done.stderr
    assert re.search(r"version 1\.0\.0-\w+ goes on as before$", done.stderr.strip())
    assert system.version() == "wallpeg 1.0.0"
    assert len(list((system.home / "versions").iterdir())) == 1


def test_a_current_version_that_was_damaged_on_the_card_is_put_in_anew(system, old):
    system.install(old)
    next((system.home / "current").resolve().rglob("dsp/__init__.py")).write_text("WHOLE = False\n")
    done = system.install(old)
    assert done.returncode == 0
    assert "does not work any more" in done.stdout
    assert system.run(str(system.root / "usr/local/bin/wallpeg"), "check").returncode == 0


# the bundle is looked at whole before anything is written


def cut_short(bundle: Path) -> None:
    path = bundle / "device/version.py"
    path.write_bytes(path.read_bytes()[:-5])


def list_cut_short(bundle: Path) -> None:
    path = bundle / "bundle/SHA256SUMS"
    path.write_text("".join(path.read_text().splitlines(keepends=True)[:-3]))


SPOILT = {
    "a file cut short": (cut_short, "device/version.py is not as it was"),
    "a file missing": (lambda b: (b / "demo/__init__.py").unlink(), "demo/__init__.py is not as it was"),
    "a wheel bent": (
        lambda b: next((b / "bundle/wheels").glob("numpy*")).write_text("x"),
        "numpy-0-",
    ),
    "a file more": (lambda b: (b / "dsp/more.py").write_text(""), "dsp/more.py is no part of it"),
    "a wheel more": (
        lambda b: (b / "bundle/wheels/more.whl").write_text(""),
        "bundle/wheels/more.whl is no part of it",
    ),
    "no list": (lambda b: (b / "bundle/SHA256SUMS").unlink(), "its list of files"),
    "half a list": (list_cut_short, "is cut short"),
    "an empty list": (lambda b: (b / "bundle/SHA256SUMS").write_text(""), "is cut short"),
}


@pytest.mark.parametrize("how", SPOILT)
def test_a_bundle_that_is_not_whole_is_refused_before_anything_is_written(system, old, new, how):
    system.install(old)
    before = system.files()
    spoil, sentence = SPOILT[how]
    spoil(new)
    done = system.install(new)
    refused(done, sentence)
    assert "carry the bundle over again; nothing was changed" in done.stderr
    assert system.files() == before


# what can be known beforehand is one sentence


def test_a_32_bit_system_is_refused_in_a_sentence(system, old):
    before = system.files()
    refused(system.install(old, more={"KIND": "armhf"}), "the kind armhf; its libraries come for 64-bit")
    assert system.files() == before


@pytest.mark.parametrize(
    ("version", "sentence"),
    [("(3, 9)", "Python 3.11 or newer is needed"), ("(3, 15)", "for a Python newer than 3.14")],
)
def test_a_python_that_is_too_old_or_too_new_is_refused_in_a_sentence(system, old, version, sentence):
    system.tool(
        "python3", f'exec /usr/bin/python3 -c "import sys; sys.version_info = {version}\n${{2#import sys; }}"'
    )
    refused(system.install(old), sentence)


def test_a_bundle_without_libraries_for_this_python_names_the_command_that_makes_one(system, old):
    next((old / "bundle/wheels").glob("numpy*")).unlink()
    listed(old)
    refused(system.install(old), "systemd/bundle.py --python 3.")


def test_a_card_that_is_nearly_full_is_refused_before_it_is_full(system, old):
    system.tool("df", "printf 'Filesystem 1024-blocks Used Available\\n/dev/root 1 1 99000\\n'")
    refused(system.install(old), "the card has only 99 MB free")


def test_without_a_network_the_packages_are_named_and_the_other_way_is_told(system, old):
    shutil.rmtree(old / "bundle")
    system.tool("dpkg", "case $* in --print-architecture) echo arm64;; *) exit 1;; esac")
    done = system.install(old, more={"APT": "100"})
    assert "fetching newer package lists" in done.stdout
    refused(done, "libportaudio2 python3 python3-venv cannot be fetched: is there a network?")


def test_old_package_lists_are_fetched_anew(system, old):
    shutil.rmtree(old / "bundle")
    system.tool("dpkg", "case $* in --print-architecture) echo arm64;; *) exit 1;; esac")
    fresh = system.root / "fresh"
    system.tool("apt-get", f"case $1 in update) touch {fresh};; *) [ -e {fresh} ];; esac")
    system.tool("python3", "exit 1")  # no further than this
    assert "installed the Debian packages" in system.install(old).stdout


def test_every_library_is_held_against_its_hash_and_none_is_built_or_added(system, old, tmp_path):
    """Pip's own words: with `--require-hashes` it installs nothing whose hash is not in the file it is
    given."""
    told = tmp_path / "told"
    assert system.install(old, more={"PIP_TOLD": str(told)}).returncode == 0
    words = told.read_text().splitlines()
    assert {"--require-hashes", "--no-deps", "--only-binary=:all:"} <= set(words)
    assert words[words.index("-r") + 1].endswith("systemd/lock.txt")


def test_libraries_that_cannot_be_had_leave_the_old_version_and_say_why(system, old, new):
    system.install(old)
    done = system.install(new, more={"PIP": "1"})
    assert done.returncode == 1
    assert "cannot be installed from the bundle" in done.stderr
    assert system.version() == "wallpeg 1.0.0"


# cut anywhere, one version works

COUNT = """
set -T
steps=0
step() {
    [ -z "${WITHIN:-}" ] || [[ " ${FUNCNAME[*]} " == *" $WITHIN "* ]] || return 0
    steps=$((steps + 1))
    if [ "$steps" = "$CUT" ]; then kill -9 -- -$$; fi
}
trap step DEBUG
trap 'echo "steps $steps" >&2' EXIT
"""


def cut(system, source, step: int, within: str = ""):
    """Run the installer and end it, with all it started, before its step of that number.

    `within` a function of the installer only the steps there, and in what it calls, are counted.
    """
    hook = system.tools / "cut.bash"
    hook.write_text(COUNT)
    more = {"BASH_ENV": str(hook), "CUT": str(step), "WITHIN": within}
    words = ("bash", str(source / "systemd/install.sh"))
    return system.run(*words, more=more, start_new_session=True)


def one_works(system) -> str:
    """What is current, after looking whether everything that leads to it is whole."""
    unit = (system.root / "etc/systemd/system/wallpeg.service").read_text()
    assert unit.endswith("WantedBy=multi-user.target\n")
    assert (system.root / "etc/systemd/system/multi-user.target.wants/wallpeg.service").is_symlink()
    assert (system.root / "boot/firmware/wallpeg.toml").read_text().endswith("\n")
    command = system.root / "usr/local/bin/wallpeg"
    assert system.run(str(command), "check", "--no-parts").returncode == 0
    return system.version()


def steps_of(system, source, within: str = "") -> int:
    done = cut(system, source, 0, within)
    assert done.returncode == 0, done.stderr
    return int(re.search(r"steps (\d+)\n", done.stderr).group(1))


def cut_everywhere(  # noqa: PLR0913, PLR0917 - where, and how often
    system, old, new, stride: int, again: int, within: str = ""
) -> dict[str, int]:
    """Cut an upgrade before every step of that stride; how often which version was current then.

    After every so many cuts (`again`) the installer is run again, which must mend whatever was left.
    """
    assert system.install(old).returncode == 0
    system.save()
    seen = {"wallpeg 1.0.0": 0, "wallpeg 2.0.0": 0}
    for count, step in enumerate(range(1, steps_of(system, new, within) + 1, stride)):
        system.restore()
        assert cut(system, new, step, within).returncode == -signal.SIGKILL
        seen[one_works(system)] += 1
        if count % again == 0:
            assert system.install(new).returncode == 0
            assert one_works(system) == "wallpeg 2.0.0"
    return seen


def test_an_upgrade_that_is_cut_leaves_a_version_that_works(system, old, new):
    seen = cut_everywhere(system, old, new, stride=19, again=3)
    assert all(count >= 2 for count in seen.values()), seen


def test_an_upgrade_that_is_cut_at_any_step_of_the_switch_leaves_a_version_that_works(system, old, new):
    seen = cut_everywhere(system, old, new, stride=1, again=9, within="switch")
    assert all(count >= 2 for count in seen.values()), seen


@pytest.mark.heavy
def test_an_upgrade_that_is_cut_at_any_step_leaves_a_version_that_works(system, old, new):
    seen = cut_everywhere(system, old, new, stride=1, again=7)
    print(f"cut before every step of an upgrade: {seen}")
    assert sum(seen.values()) > 100


def test_a_first_installation_that_is_cut_can_be_done_again(system, old, place):
    system.save()
    for step in each(range(1, steps_of(System(place / "counted"), old), 47)):
        system.restore()
        assert cut(system, old, step).returncode == -signal.SIGKILL
        assert system.install(old).returncode == 0
        assert one_works(system) == "wallpeg 1.0.0"


def test_a_new_version_is_on_the_card_before_it_becomes_current(system, old, new):
    """The plug may be pulled right after the step: what the link points at must be on the disk by then."""
    system.install(old)
    log = system.root / "log"
    for tool in ("sync", "mv"):
        system.tool(tool, f'echo "{tool} $*" >>{log}; exec {shutil.which(tool)} "$@"')
    assert system.install(new).returncode == 0
    lines = log.read_text().splitlines()
    step = next(k for k, line in enumerate(lines) if line.startswith("mv -T") and line.endswith("/current"))
    assert any(line.startswith("sync -f") and "/versions/2.0.0-" in line for line in lines[:step])
    assert lines[step + 1].startswith("sync")


# failed starts


def ended(system, **environment) -> str:
    """The service ended like this; what the journal gets."""
    done = system.run(str(system.home / "rollback"), "ended", more=environment, umask=0o077)  # as in the unit
    assert done.returncode == 0, done.stderr
    return done.stderr


def ready(system) -> None:
    assert system.run(str(system.home / "rollback"), "ready").returncode == 0


@pytest.fixture
def upgraded(system, old, new):
    for source in (old, new):
        assert system.install(source).returncode == 0
    return system


FAILED = {"SERVICE_RESULT": "exit-code", "EXIT_STATUS": "1"}


def test_three_failed_starts_in_a_row_go_back_and_say_so(upgraded):
    assert ended(upgraded, **FAILED) == ended(upgraded, **FAILED) == ""
    assert upgraded.version() == "wallpeg 2.0.0"
    said = ended(upgraded, **FAILED)
    assert re.match(r"wallpeg: 3 starts in a row failed: went back from 2\.0\.0-\w+ to 1\.0\.0-\w+\n$", said)
    assert upgraded.version() == "wallpeg 1.0.0"
    assert (upgraded.home / "went-back").read_text().startswith("2.0.0-")
    assert (upgraded.home / "went-back").stat().st_mode & stat.S_IROTH  # the service's user reads it
    for _ in range(6):  # and no further, and not to and fro
        ended(upgraded, **FAILED)
    assert upgraded.version() == "wallpeg 1.0.0"


def test_a_version_whose_program_is_gone_altogether_is_left_too(upgraded):
    shutil.rmtree((upgraded.home / "current").resolve())
    for _ in range(3):
        ended(upgraded, SERVICE_RESULT="exit-code", EXIT_STATUS="203")
    assert upgraded.version() == "wallpeg 1.0.0"


@pytest.mark.parametrize(
    "environment",
    [
        {"SERVICE_RESULT": "success"},
        {"SERVICE_RESULT": "exit-code", "EXIT_STATUS": "69"},
    ],
    ids=["stopped when asked", "the board lacks something"],
)
def test_what_no_other_version_would_mend_is_not_counted(upgraded, environment):
    for _ in range(9):
        assert ended(upgraded, **environment) == ""
    assert upgraded.version() == "wallpeg 2.0.0"


def test_a_start_that_ends_right_after_it_was_ready_has_failed(upgraded):
    for _ in range(3):
        ready(upgraded)
        ended(upgraded, **FAILED)
    assert upgraded.version() == "wallpeg 1.0.0"


def test_an_end_after_a_while_is_no_failed_start_and_begins_the_count_anew(upgraded):
    for _ in range(4):
        ended(upgraded, **FAILED)
        ended(upgraded, **FAILED)
        ready(upgraded)
        counted = upgraded.root / "run/wallpeg-starts/ready"
        counted.write_text(f"{int(counted.read_text()) - 11}\n")
        ended(upgraded, **FAILED)
        if upgraded.version() != "wallpeg 2.0.0":
            raise AssertionError("it went back although it had run")


def test_the_unit_goes_back_with_its_version(system, old, new):
    unit = new / "systemd/wallpeg.service"
    unit.write_text(unit.read_text().replace("WatchdogSec=10", "WatchdogSec=20"))
    listed(new)
    for source in (old, new):
        assert system.install(source).returncode == 0
    installed = system.root / "etc/systemd/system/wallpeg.service"
    assert "WatchdogSec=20" in installed.read_text()
    assert system.install(new, "--back").returncode == 0
    assert "WatchdogSec=10" in installed.read_text()


@pytest.mark.parametrize("named", ["../../../bin", ".", "", "nowhere"])
def test_only_a_version_that_is_there_is_gone_back_to(upgraded, named):
    for note in (upgraded.home / "versions").glob("*.before"):
        note.write_text(f"{named}\n")
    for _ in range(3):
        said = ended(upgraded, **FAILED)
    assert "there is no version before" in said
    assert upgraded.version() == "wallpeg 2.0.0"


def test_going_back_that_is_cut_leaves_a_version_that_works(upgraded):
    (upgraded.tools / "cut.bash").write_text(COUNT)
    upgraded.save()
    seen, done = {"wallpeg 1.0.0": 0, "wallpeg 2.0.0": 0}, None
    for step in itertools.count(1, 2):
        upgraded.restore()
        more = {"BASH_ENV": str(upgraded.tools / "cut.bash"), "CUT": str(step)}
        words = ("bash", str(upgraded.home / "rollback"), "now")
        done = upgraded.run(*words, more=more, start_new_session=True)
        seen[one_works(upgraded)] += 1
        if done.returncode == 0:
            break
    assert all(count >= 2 for count in seen.values()), seen
