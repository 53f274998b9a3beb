"""A Debian root, Wallpeg installed in it as on a board without a network, booted under systemd-nspawn.

`python -m tests.boot.root FOLDER` only makes the bare roots, each in a folder of its name, for BOOT_ROOTS.
"""

import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
PACKAGES = "systemd,systemd-sysv,dbus,udev,python3,libportaudio2,libasound2-plugins"
NEEDED = ("debootstrap", "systemd-nspawn", "nsenter", "unshare")
MISSING = ", ".join(tool for tool in NEEDED if shutil.which(tool) is None) or (
    "" if os.geteuid() == 0 else "the rights of root"
)
PATIENCE_S = 900.0  # for whatever must end or happen: no verdict hangs on how busy this machine is
APART = ("unshare", "--mount", "--uts", "--ipc", "--net", "--pid", "--fork", "--mount-proc")

sys.path.insert(0, str(ROOT / "systemd"))
import bundle  # noqa: E402


@dataclass(frozen=True)
class Suite:
    """One release of Debian, and its Python."""

    name: str
    python: str


DEBIAN_12, DEBIAN_13 = Suite("bookworm", "3.11"), Suite("trixie", "3.13")


def called(*words: str | Path, limit_s: float = PATIENCE_S, **options) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(word) for word in words], capture_output=True, text=True, timeout=limit_s, check=False, **options
    )


class NotHereError(Exception):
    """This machine cannot boot a root of any kind, whatever we install in it; says what it lacks."""


def last_line(text: str) -> str:
    """What a tool said last, which is why it gave up."""
    return next((line.strip() for line in reversed(text.splitlines()) if line.strip()), "it says nothing")


def built(folder: Path, suite: Suite) -> Path:
    """A fresh root; BOOT_ROOTS names a folder with one of that name to copy, which saves a minute."""
    done = called(*APART, "true")
    if done.returncode != 0:
        raise NotHereError(f"no namespaces of one's own ({last_line(done.stderr)})")
    given = Path(os.environ.get("BOOT_ROOTS", "/nowhere")) / suite.name
    if given.is_dir():
        done = called("cp", "-a", given, folder)
        assert done.returncode == 0, done.stderr[-2000:]
    else:
        debootstrapped(folder, suite)
    (folder / "boot" / "firmware").mkdir(parents=True)
    (folder / "boot" / "firmware" / "config.txt").write_text("# as it came\ndtparam=audio=on\n")
    return folder


def debootstrapped(folder: Path, suite: Suite) -> None:
    """A Debian from where this machine's own packages come from, else from the usual place."""
    asked = ("--format", "$(REPO_URI)", "Created-By: Packages", "Label: Debian", "Component: main")
    mirrors = called("apt-get", "indextargets", *asked).stdout.split() if shutil.which("apt-get") else []
    for mirror in (*mirrors[:1], ""):
        place = (folder, mirror) if mirror else (folder,)
        words = ("debootstrap", "--variant=minbase", f"--include={PACKAGES}", suite.name, *place)
        done = called(*words)
        if done.returncode == 0:
            return
        gone(folder)
    raise NotHereError(f"debootstrap makes no Debian root ({last_line(done.stdout + done.stderr)})")


def gone(folder: Path) -> None:
    """Remove a root, and nothing that might still be mounted in it."""
    called("rm", "-rf", "--one-file-system", folder)


def brought(root: Path, suite: Suite) -> Path:
    """Unpack in the root the bundle that is carried to a board; the path of the installer inside."""
    with tempfile.TemporaryDirectory() as name:
        made = Path(name) / "bundle"
        bundle.bundle(made, [suite.python], bundle.COMPUTER)
        with tarfile.open(made / "wallpeg-bundle.tar") as tar:
            tar.extractall(root / "root", filter="data")
    return Path("/root/wallpeg/systemd/install.sh")


def newer(root: Path, number: str, spoil: str = "", refresh: bool = True) -> str:
    """A later version beside the first in the root, spoilt at the end of a module; the path of its installer.

    Without `refresh` its list of files stays as it was, as for a bundle that was bent on its way.
    """
    place = root / "root" / f"wallpeg-{number}"
    shutil.copytree(root / "root" / "wallpeg", place)
    version = place / "device" / "version.py"
    version.write_text(f'VERSION = "{number}"\nDATE = "2030-01-01"\n')
    with (place / "device" / "commands" / "appliance.py").open("a") as module:
        module.write(spoil)
    sums = place / "bundle" / "SHA256SUMS"
    if refresh:
        told = dict(line.split("  ", 1)[::-1] for line in sums.read_text().splitlines() if line[0] != "#")
        told |= {name: bundle.digest(place / name) for name in told if name.startswith("device/")}
        lines = [f"{digest}  {name}\n" for name, digest in told.items()]
        sums.write_text("".join([*lines, f"# whole: {len(lines)} files\n"]))
    return f"/root/wallpeg-{number}/systemd/install.sh"


class Machine:
    """The root while it is booted."""

    def __init__(self, root: Path, *binds: str, suite: Suite = DEBIAN_13, overlay: bool = False) -> None:
        """With `overlay` the root is left as it is, and what is written to it lies in memory till the end."""
        self.root, self.suite = root, suite
        self._extra = [f"--bind={bind}" for bind in binds] + ["--volatile=overlay"] * overlay
        self._nspawn: subprocess.Popen[bytes] | None = None
        self._init = 0

    def inside(self, *words: str, limit_s: float = PATIENCE_S) -> subprocess.CompletedProcess[str]:
        """Run something in the root while it is not booted, without a network."""
        spawn = ("systemd-nspawn", "-q", "--pipe", "--private-network", "--register=no", "--keep-unit")
        return called(*spawn, "-D", self.root, *words, limit_s=limit_s)

    def tried(self) -> None:
        """NotHereError unless the bare root runs a program and boots: then what fails later is ours."""
        done = self.inside("true")
        if done.returncode != 0:
            raise NotHereError(f"systemd-nspawn starts nothing ({last_line(done.stderr)})")
        try:
            self.boot()
        except AssertionError as why:
            raise NotHereError(f"a bare Debian does not boot under systemd-nspawn ({why})") from why
        finally:
            self.off()

    def boot(self) -> None:
        spawn = [
            "systemd-nspawn",
            "-q",
            "-D",
            str(self.root),
            "-M",
            f"wallpeg{os.getpid()}",
            "-b",
            *self._extra,
        ]
        quiet = ["--private-network", "--register=no", "--keep-unit", "--console=pipe"]
        self._nspawn = subprocess.Popen(
            [*spawn, *quiet], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        self._init = self._found_init()
        end = time.monotonic() + PATIENCE_S
        while self.run("systemctl", "is-system-running").stdout.strip() not in {"running", "degraded"}:
            assert time.monotonic() < end, "it does not come up"
            time.sleep(0.2)

    def run(self, *words: str, limit_s: float = PATIENCE_S) -> subprocess.CompletedProcess[str]:
        """Run something in the booted root."""
        return called(
            "nsenter",
            "-t",
            str(self._init),
            "-m",
            "-u",
            "-i",
            "-p",
            "-n",
            "-C",
            "--",
            *words,
            limit_s=limit_s,
        )

    def property(self, name: str) -> str:
        """A property of the service."""
        return self.run(
            "systemctl", "show", "wallpeg.service", "--value", f"--property={name}"
        ).stdout.strip()

    def until(self, true, limit_s: float = 300.0, what: str = "") -> float:
        """Wait for something; how long it took."""
        begun = time.monotonic()
        while not true():
            assert time.monotonic() - begun < limit_s, what or self.journal()
            time.sleep(0.1)
        return time.monotonic() - begun

    def journal(self) -> str:
        return self.run("journalctl", "-u", "wallpeg", "-b", "--no-pager", "-n", "60").stdout

    def off(self) -> None:
        if self._nspawn is None:
            return
        if self._init:
            self.run("systemctl", "poweroff")
        try:
            self._nspawn.wait(300.0)
        except subprocess.TimeoutExpired:
            self._nspawn.kill()
            self._nspawn.wait()
        self._nspawn, self._init = None, 0

    def _found_init(self) -> int:
        """The process number, outside, of the root's first process."""
        assert self._nspawn is not None
        end = time.monotonic() + PATIENCE_S
        children = Path(f"/proc/{self._nspawn.pid}/task/{self._nspawn.pid}/children")
        while time.monotonic() < end and self._nspawn.poll() is None:
            for child in children.read_text().split():
                if Path(f"/proc/{child}/comm").read_text().strip() in {"systemd", "init"}:
                    return int(child)
            time.sleep(0.05)
        raise AssertionError("the root did not boot")


SAME_ANYWHERE = (
    "lesson*", "safety_monitor", "players", "track*", "acceptance", "attacks", "notation", "plucks",
    "realistic*", "bench*", "installer", "coarse", "onset", "octaves", "soundings", "held_notes", "clicks",
    "layers", "names", "tests", "outside", "tones",
)  # fmt: skip
"""Files of tests that hold arithmetic, or shell, or read the sources, or need libraries that are not there:
they take most of the time, and no Python changes them."""


def own_tests_run(machine: Machine) -> subprocess.CompletedProcess[str]:
    """The project's own tests, run in the root under its Python, without a network.

    What the system itself may lack there (a sound server, a formatter) is skipped with its reason.
    """
    left_out = " ".join(f"--ignore-glob='*/test_{name}.py'" for name in SAME_ANYWHERE)
    place = machine.root / "root" / "tested"
    shutil.copytree(ROOT, place, ignore=shutil.ignore_patterns(".*", "__pycache__", "bundle", "build"))
    shutil.copy(ROOT / ".gitignore", place)
    wheels = machine.root / "root" / "test-wheels"
    which = ("--only-binary=:all:", "--python-version", "3.13", "--platform", "manylinux_2_28_x86_64")
    extras = ("pytest>=8", "hypothesis>=6.100", "soundfile>=0.12")
    more = ("--platform", "manylinux_2_17_x86_64", "--platform", "manylinux2014_x86_64", "--platform", "any")
    done = called(
        sys.executable, "-m", "pip", "download", "--quiet", *which, *more, "--dest", wheels, *extras
    )
    assert done.returncode == 0, done.stderr[-2000:]
    script = (
        "set -e; cd /root/tested; /opt/wallpeg/current/bin/python -m venv --without-pip /root/venv; "
        "P=lib/python3.13/site-packages; echo /opt/wallpeg/current/$P >/root/venv/$P/box.pth; "
        "/root/venv/bin/python $(ls /root/wallpeg/bundle/wheels/pip-*.whl)/pip install --quiet --no-index "
        "--find-links /root/test-wheels pytest hypothesis soundfile; "
        f"/root/venv/bin/python -m pytest -q -m 'not heavy' -p no:cacheprovider {left_out}"
    )
    return machine.inside("sh", "-c", script)


if __name__ == "__main__":
    try:
        for wanted in (DEBIAN_13, DEBIAN_12):
            debootstrapped(Path(sys.argv[1]) / wanted.name, wanted)
    except NotHereError as lacking:
        sys.exit(str(lacking))
