"""Makes what is carried to a board without a network: `python3 systemd/bundle.py`, on any computer.

It writes the folder `bundle/` in the checkout, and `bundle/wallpeg-bundle.tar` of it: the project,
the wheels of `lock.txt` for 64-bit boards with Python 3.11 and 3.13 (Debian 12 and 13; `--python`
names another), pip itself, and under which licences all that stands. Every wheel is held against the
hashes in the lock file, and `bundle/SHA256SUMS` lists every file of the bundle with its hash, so that
the installer can look at it whole. With `--lock` it writes the lock file anew from `pins.txt` instead;
hashes of x86-64 wheels are in it too, so that the same installer can be tested on a PC.

Debian packages are not in it: see the words of `install.sh`, which takes them from `bundle/debs/`.
"""

import argparse
import hashlib
import shutil
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from licences import licences  # noqa: E402 - it lies beside this script, wherever that is run from

ROOT = HERE.parent
PYTHONS = ("3.11", "3.13")  # Debian 12 and 13: what a bundle is made for unless told otherwise
LOCKED = ("3.11", "3.12", "3.13", "3.14")
BOARD, COMPUTER = "aarch64", "x86_64"
GLIBC = ("2_34", "2_28", "2_27", "2_17")  # Debian 12 has 2.36; wheels for older ones run there
PIP = "pip==26.3"
PROJECT = ("dsp", "device", "demo", "systemd", "LICENSE", "README.md", "pyproject.toml")


def main() -> int:
    """Write the lock file or the bundle."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--lock", action="store_true", help="find the hashes of pins.txt anew")
    parser.add_argument("--python", action="append", choices=LOCKED, help="for boards with this Python")
    asked = parser.parse_args()
    if asked.lock:
        (HERE / "lock.txt").write_text(locked())
        print(f"wrote {HERE / 'lock.txt'}")
        return 0
    size = bundle(ROOT / "bundle", asked.python or PYTHONS)
    print(f"wrote {ROOT / 'bundle' / 'wallpeg-bundle.tar'}, {size / 1e6:.0f} MB")
    return 0


def pins(python: str) -> list[str]:
    """The pinned requirements for one Python, without markers."""
    lines = [line.split("#")[0].strip() for line in (HERE / "pins.txt").read_text().splitlines()]
    asked = [line.partition(";") for line in lines if line]
    return [pin.strip() for pin, _, marker in asked if not marker or python < "3.13"]


def download(requirements: list[str], machine: str, python: str, folder: Path) -> None:
    """Fetch the wheels of requirements for another machine into a folder."""
    platforms = [word for glibc in GLIBC for word in ("--platform", f"manylinux_{glibc}_{machine}")]
    tag = python.replace(".", "")
    abis = ("--abi", f"cp{tag}", "--abi", "abi3", "--abi", "none")
    which = ("--implementation", "cp", "--python-version", python, *abis, *platforms)
    pip = (sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary=:all:")
    subprocess.run([*pip, *which, "--dest", str(folder), *requirements], check=True)


def locked() -> str:
    """The text of the lock file: every pin with the hashes of all its wheels."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for machine in (BOARD, COMPUTER):
            for python in LOCKED:
                download([*pins(python), PIP], machine, python, folder)
        wheels = {project(wheel): [] for wheel in sorted(folder.glob("*.whl"))}
        for wheel in sorted(folder.glob("*.whl")):
            wheels[project(wheel)].append(digest(wheel))
    head = "# Written by systemd/bundle.py --lock from pins.txt: do not edit.\n"
    return head + "".join(entry(pin, wheels) for pin in (*marked_pins(), PIP))


def marked_pins() -> Iterator[str]:
    """The lines of pins.txt as they stand, without comments."""
    for line in (HERE / "pins.txt").read_text().splitlines():
        if line.split("#")[0].strip():
            yield line.strip()


def entry(pin: str, wheels: dict[str, list[str]]) -> str:
    """One requirement of the lock file."""
    name = pin.split("==", maxsplit=1)[0].lower().replace(".", "_")
    hashes = "".join(f" \\\n    --hash=sha256:{found}" for found in sorted(set(wheels[name])))
    return f"{pin}{hashes}\n"


def project(wheel: Path) -> str:
    """The project a wheel belongs to, as wheels spell it."""
    return wheel.name.split("-")[0].lower()


def digest(path: Path) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def bundle(folder: Path, pythons: Iterable[str] = PYTHONS, machine: str = BOARD) -> int:
    """Write the bundle; the size of its archive in bytes."""
    wheels = folder / "wheels"
    shutil.rmtree(wheels, ignore_errors=True)
    wheels.mkdir(parents=True)
    (folder / "debs").mkdir(exist_ok=True)
    for python in pythons:
        download([*pins(python), PIP], machine, python, wheels)
    known = (HERE / "lock.txt").read_text()
    for wheel in wheels.glob("*.whl"):
        if digest(wheel) not in known:
            raise SystemExit(f"{wheel.name} is not what systemd/lock.txt says; nothing was written")
    (folder / "LICENCES.txt").write_text(licences(wheels))
    files = dict(members(folder))
    sums = [f"{digest(path)}  {name}\n" for name, path in sorted(files.items())]
    (folder / "SHA256SUMS").write_text("".join([*sums, f"# whole: {len(sums)} files\n"]))
    return archive(folder, {**files, "bundle/SHA256SUMS": folder / "SHA256SUMS"})


def members(folder: Path) -> Iterator[tuple[str, Path]]:
    """Every file of the bundle: its path in it, and where it lies now."""
    for name in PROJECT:
        yield from _files(ROOT / name, name)
    for name in ("wheels", "debs", "LICENCES.txt"):
        yield from _files(folder / name, f"bundle/{name}")


def _files(place: Path, name: str) -> Iterator[tuple[str, Path]]:
    """A file, or all in a folder but what Python writes beside its sources."""
    if place.is_file():
        yield name, place
    for path in sorted(place.rglob("*")) if place.is_dir() else ():
        if path.is_file() and "__pycache__" not in path.parts:
            yield f"{name}/{path.relative_to(place)}", path


def archive(folder: Path, files: Mapping[str, Path]) -> int:
    """Put everything into one file; its size in bytes."""
    path = folder / "wallpeg-bundle.tar"
    with tarfile.open(path, "w") as tar:
        for name, source in files.items():
            tar.add(source, f"wallpeg/{name}", filter=anonymous)
    return path.stat().st_size


def anonymous(member: tarfile.TarInfo) -> tarfile.TarInfo:
    """Leave out whose files they were."""
    member.uid = member.gid = 0
    member.uname = member.gname = "root"
    return member


if __name__ == "__main__":
    sys.exit(main())
