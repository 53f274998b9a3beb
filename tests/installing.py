"""The installer in a folder of its own: a small project in a small bundle, put into an empty system.

Everything is real but the project (a few lines that know their version), pip (a wheel that installs nothing),
Debian's package tools (which say that everything is there) and `sync` (a busy disk takes long for it, and a
process that is killed loses nothing by it): so a whole installation takes a second.
"""

import hashlib
import shutil
import subprocess
import zipfile
from collections.abc import Mapping
from pathlib import Path

SYSTEMD = Path(__file__).parent.parent / "systemd"
MAIN = """
import sys
from dsp import WHOLE
from device.version import VERSION
def main():
    if "--version" in sys.argv:
        print("wallpeg", VERSION)
    return 0 if WHOLE else 1
"""
PIP = """
import os, sys
if "PIP_TOLD" in os.environ:
    open(os.environ["PIP_TOLD"], "w").write("\\n".join(sys.argv[1:]))
sys.exit(int(os.environ.get("PIP", "0")))
"""
TOOLS = {
    "dpkg": 'case $* in --print-architecture) echo "${KIND:-arm64}";; esac',
    "apt-get": "exit ${APT:-0}",
    "sync": ":",
}


def project(folder: Path, version: str) -> Path:
    """A project of that version with its bundle, in a new folder."""
    shutil.copytree(SYSTEMD, folder / "systemd", ignore=shutil.ignore_patterns("__pycache__"))
    written = {
        "dsp/__init__.py": "WHOLE = True\n",
        "device/__init__.py": "",
        "device/__main__.py": MAIN,
        "device/version.py": f'VERSION = "{version}"\nDATE = "2026-01-01"\n',
        "demo/__init__.py": "",
        "systemd/lock.txt": "# nothing\n",
    }
    for name, text in written.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    wheels = folder / "bundle" / "wheels"
    wheels.mkdir(parents=True)
    with zipfile.ZipFile(wheels / "pip-0-py3-none-any.whl", "w") as wheel:
        wheel.writestr("pip/__main__.py", PIP)
    tag = "cp{}{}".format(*system_python())
    (wheels / f"numpy-0-{tag}-any.whl").touch()
    listed(folder)
    return folder


def listed(folder: Path) -> None:
    """Write the bundle's list of its files, as it is when a bundle is made."""
    parts = ("dsp", "device", "demo", "systemd", "bundle/wheels")
    paths = [path for part in parts for path in sorted((folder / part).rglob("*"))]
    files = [path for path in paths if path.is_file() and "__pycache__" not in path.parts]
    lines = [f"{hashlib.sha256(p.read_bytes()).hexdigest()}  {p.relative_to(folder)}" for p in files]
    text = "\n".join([*lines, f"# whole: {len(lines)} files"]) + "\n"
    (folder / "bundle" / "SHA256SUMS").write_text(text)


def system_python() -> list[str]:
    """Major and minor number of the Python that the installer finds."""
    words = ["/usr/bin/python3", "-c", "import sys; print(*sys.version_info[:2])"]
    return subprocess.run(words, capture_output=True, text=True, timeout=20, check=True).stdout.split()


class System:
    """An empty system under a folder, with the tools the installer calls."""

    def __init__(self, folder: Path) -> None:
        self.root = folder / "root"
        self.tools = folder / "tools"
        (self.root / "boot" / "firmware").mkdir(parents=True)
        (self.root / "etc" / "systemd" / "system").mkdir(parents=True)
        (self.root / "boot" / "firmware" / "config.txt").write_text("# as it came\n")
        for name in ("group", "passwd", "gshadow"):
            (self.root / "etc" / name).write_text("root:x:0:\n" if name == "group" else "")
        self.tools.mkdir()
        for name, script in TOOLS.items():
            self.tool(name, script)

    def tool(self, name: str, script: str) -> None:
        """Put a program before those of this computer."""
        path = self.tools / name
        path.write_text(f"#!/bin/sh\n{script}\n")
        path.chmod(0o755)

    def run(
        self, *words: str, more: Mapping[str, str] | None = None, **options
    ) -> subprocess.CompletedProcess[str]:
        path = f"{self.tools}:/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
        environment = {"PATH": path, "WALLPEG_ROOT": str(self.root), **(more or {})}
        return subprocess.run(
            list(words), env=environment, capture_output=True, text=True, timeout=300, check=False, **options
        )

    def install(self, source: Path, *words: str, more: Mapping[str, str] | None = None, **options):
        return self.run("sh", str(source / "systemd" / "install.sh"), *words, more=more, **options)

    def save(self) -> None:
        """Remember the system as it is, for `restore`; in its own place, since paths stand in it."""
        shutil.copytree(self.root, self.tools.parent / "saved", symlinks=True)

    def restore(self) -> None:
        shutil.rmtree(self.root)
        shutil.copytree(self.tools.parent / "saved", self.root, symlinks=True)

    @property
    def home(self) -> Path:
        return self.root / "opt" / "wallpeg"

    def version(self) -> str:
        """What the command that stands in the system says; "" when it does not work."""
        done = self.run(str(self.root / "usr/local/bin/wallpeg"), "--version")
        return done.stdout.strip() if done.returncode == 0 else ""

    def files(self) -> dict[str, bytes]:
        """Everything in the system, to see whether something changed."""
        return {
            str(p.relative_to(self.root)): p.read_bytes() if p.is_file() and not p.is_symlink() else b""
            for p in sorted(self.root.rglob("*"))
            if "__pycache__" not in p.parts
        }
