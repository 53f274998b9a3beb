"""Imports flow one way: signal, then thought, then touch, then command."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
STANDARD = {
    "math",
    "enum",
    "dataclasses",
    "typing",
    "collections",
    "re",
    "__future__",
    "itertools",
    "functools",
}
PURE = STANDARD | {"dsp", "numpy"}
THOUGHT = STANDARD | {"dsp", "device", "PIL", "tomllib", "difflib"}
SHELL = {"loop.py", "ports.py", "state_file.py"}


def imported(path: Path) -> set[str]:
    """Dotted names of everything a module imports, wherever in the file."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full"
            names.add(node.module or "")
    return names


def modules(folder: str) -> list[Path]:
    found = sorted((ROOT / folder).rglob("*.py"))
    assert found, f"no modules in {folder}"
    return found


def engine() -> list[Path]:
    outside = (ROOT / "device" / "parts", ROOT / "device" / "commands", ROOT / "device" / "__main__.py")
    return [p for p in modules("device") if not any(p == o or o in p.parents for o in outside)]


@pytest.mark.parametrize("path", modules("dsp"), ids=str)
def test_signal_code_imports_numpy_and_itself_only(path):
    stray = {n for n in imported(path) if n.split(".")[0] not in PURE}
    assert not stray


@pytest.mark.parametrize("path", engine(), ids=str)
def test_thought_imports_no_part_no_command_and_no_demo(path):
    names = imported(path)
    allowed = THOUGHT | ({"contextlib", "queue", "time"} if path.name in SHELL else set())
    stray = {n for n in names if n.split(".")[0] not in allowed}
    stray |= {n for n in names if n.startswith(("device.parts", "device.commands", "device.__main__"))}
    assert not stray


def test_only_commands_import_the_demo():
    users = [p for p in modules("device") if any(n.split(".")[0] == "demo" for n in imported(p))]
    assert all("commands" in p.parts or p.name == "__main__.py" for p in users)


@pytest.mark.parametrize("path", modules("dsp") + engine(), ids=str)
def test_nothing_imports_a_driver_when_loaded(path):
    drivers = {"sounddevice", "gpiozero", "lgpio", "luma", "smbus2", "soundfile", "matplotlib"}
    assert not {n.split(".")[0] for n in imported(path)} & drivers
