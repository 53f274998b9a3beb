"""What the box is installed from: pinned, hashed, and there for the boards it is meant for."""

import hashlib
import io
import os
import re
import runpy
import subprocess
import tarfile
import tomllib
import zipfile
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
@pytest.mark.parametrize("python", BUNDLE["LOCKED"])
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
        (["--buss", "3"], "--buss is not known here; --bus N, --i2s, --back and --uninstall are"),
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


# the bundle, made with a download that only writes what it is told


@pytest.fixture
def wheels():
    """What the stand-in for the download puts into the folder: file names and their content."""
    return {}


@pytest.fixture
def made(tmp_path, monkeypatch, wheels):
    """A function that makes the bundle, and gives its folder."""

    def download(_requirements, _machine, _python, folder):
        for name, content in wheels.items():
            (folder / name).write_bytes(content)

    def made():
        monkeypatch.setitem(BUNDLE["bundle"].__globals__, "download", download)
        BUNDLE["bundle"](tmp_path / "bundle")
        return tmp_path / "bundle"

    return made


def wheel_of(name: str, **metadata: str) -> bytes:
    """A wheel with nothing but its metadata and one text."""
    lines = [f"Name: {name}", "Version: 1.0", *(f"{k.replace('_', '-')}: {v}" for k, v in metadata.items())]
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as wheel:
        wheel.writestr(f"{name}-1.0.dist-info/METADATA", "\n".join(lines) + "\n\n")
        wheel.writestr(f"{name}-1.0.dist-info/licenses/LICENSE.txt", "free for all")
    return content.getvalue()


def test_a_wheel_that_is_not_the_one_in_the_lock_file_is_not_bundled(made, wheels, tmp_path):
    wheels["numpy-2.4.6-cp311-any.whl"] = wheel_of("numpy")
    with pytest.raises(SystemExit, match=r"numpy-2\.4\.6-cp311-any\.whl is not what systemd/lock.txt says"):
        made()
    assert not (tmp_path / "bundle" / "wallpeg-bundle.tar").exists()


def test_the_bundle_holds_the_whole_project_and_lists_every_file_with_its_hash(made):
    with tarfile.open(made() / "wallpeg-bundle.tar") as tar:
        held = {m.name.removeprefix("wallpeg/"): tar.extractfile(m).read() for m in tar if m.isfile()}
        assert {(m.uid, m.uname) for m in tar} == {(0, "root")}
    for name in (
        "dsp/tracker.py",
        "device/runtime/loop.py",
        "demo/lessons/search.py",
        "systemd/install.sh",
        "LICENSE",
    ):
        assert held[name] == (ROOT / name).read_bytes()
    assert {"systemd/rollback.sh", "bundle/LICENCES.txt", "README.md", "pyproject.toml"} <= set(held)
    *lines, end = held["bundle/SHA256SUMS"].decode().splitlines()
    listed = {name: digest for digest, name in (line.split("  ", 1) for line in lines)}
    assert listed == {n: hashlib.sha256(c).hexdigest() for n, c in held.items() if n != "bundle/SHA256SUMS"}
    assert end == f"# whole: {len(lines)} files"


def test_sha256sum_reads_the_list_as_the_installer_has_it_read(made, tmp_path):
    with tarfile.open(made() / "wallpeg-bundle.tar") as tar:
        tar.extractall(tmp_path / "carried", filter="data")
    words = ["sha256sum", "--check", "--strict", "--quiet", "bundle/SHA256SUMS"]
    done = subprocess.run(words, cwd=tmp_path / "carried/wallpeg", capture_output=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")


@pytest.mark.parametrize(
    ("metadata", "said"),
    [
        ({"License_Expression": "BSD-3-Clause"}, "oak 1.0: BSD-3-Clause (LICENSE.txt)"),
        ({"Classifier": "License :: OSI Approved :: MIT License"}, "oak 1.0: MIT License (LICENSE.txt)"),
        ({"License": "Zlib"}, "oak 1.0: Zlib (LICENSE.txt)"),
        ({}, "oak 1.0: names no licence: see its texts (LICENSE.txt)"),
    ],
    ids=["expression", "classifier", "free text", "nothing"],
)
def test_the_licence_of_each_wheel_is_listed_as_the_wheel_says(tmp_path, metadata, said):
    (tmp_path / "oak-1.0-py3-none-any.whl").write_bytes(wheel_of("oak", **metadata))
    assert said in BUNDLE["licences"](tmp_path).splitlines()
