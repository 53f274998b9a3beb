"""Every module belongs to one room, and a room imports only what its row allows.

The rows below are the rule; DEVELOPERS.md explains the rooms. A module outside every room fails, and so
does an import that its room does not allow. `tests/` may import anything and is not checked.
"""

import ast
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
PLAIN = ["collections", "dataclasses", "difflib", "enum", "functools", "itertools", "math", "re", "typing"]
LESSON = ["device.lesson", "device.instrument", "device.safety"]
PRACTICE = ["device.practice", "device.notation"]
VALUES = ["device.errors", "device.events"]
DRIVERS = ["gpiozero", "lgpio", "luma", "smbus2", "sounddevice", "soundfile"]


@dataclass(frozen=True)
class Room:
    """What the modules under `path` may import, as dotted beginnings; themselves always."""

    path: str
    allowed: tuple[str, ...]

    def holds(self, module: str) -> bool:
        return module == self.path or module.startswith(f"{self.path}.")


def room(path: str, *allowed: str) -> Room:
    return Room(path, (path, *allowed))


ROOMS = (
    room("dsp.synthesis", "dsp", "numpy", *PLAIN),
    room("dsp", "numpy", *PLAIN),
    room("device.errors", *PLAIN),
    room("device.events", "dsp", *PLAIN),
    room("device.ports", "device.events", "dsp", "PIL", *PLAIN),
    room("device.config", *VALUES, "dsp", "tomllib", *PLAIN),
    room("device.instrument", *VALUES, "device.config", "dsp", *PLAIN),
    room(*LESSON, *VALUES, "device.config", "dsp", *PLAIN),
    room("device.lesson", *LESSON, *VALUES, "device.config", "dsp", *PLAIN),
    room("device.safety.string_bounds", "device.instrument", "device.lesson.advice", *VALUES, "dsp", *PLAIN),
    room(
        "device.safety.monitor",
        "device.safety.string_bounds",
        "device.instrument",
        "device.lesson.advice",
        "dsp",
        *PLAIN,
    ),
    room("device.safety", *PLAIN),
    room("device.sounding_reports", *LESSON, *VALUES, "device.config", "dsp", *PLAIN),
    room("device.notation", *VALUES, "device.config", "dsp", *PLAIN),
    room(
        "device.practice", "device.notation", *VALUES, "device.config", "device.panel", "dsp", "PIL", *PLAIN
    ),
    room("device.panel", *LESSON, *PRACTICE, *VALUES, "device.config", "dsp", "PIL", *PLAIN),
    room(
        "device.controls",
        "device.version",
        "device.panel",
        *LESSON,
        *PRACTICE,
        *VALUES,
        "device.config",
        "dsp",
        "PIL",
        *PLAIN,
    ),
    room(
        "device.runtime",
        *("device.controls", "device.panel", "device.ports", "device.config", "dsp", "PIL"),
        *(LESSON + PRACTICE + VALUES + PLAIN),
    ),
    room(
        "device.parts",
        *("device.errors", "device.events", "device.ports", "dsp", "numpy", "PIL", *DRIVERS, *PLAIN),
        *("contextlib", "ctypes", "errno", "os", "pathlib", "queue", "socket", "stat", "tempfile"),
        *("threading", "time", "types"),
    ),
    room("device.commands", "device", "dsp", "demo", "numpy", "PIL", "matplotlib", *sys.stdlib_module_names),
    room("device.__main__", "device", *sys.stdlib_module_names),
    room("device.version", *sys.stdlib_module_names),
    room("demo.mechanics", "dsp", "device.config.settings", "numpy", "random", *PLAIN),
    room(
        "demo",
        *("device.config", "device.runtime", "device.ports", "device.panel", "device.controls", "dsp"),
        *("device.lesson.words", "device.lesson", "device.instrument.tuning_parts"),
        *(*PRACTICE, *VALUES, "numpy", "PIL", *sys.stdlib_module_names),
    ),
    room("systemd", "licences", *sys.stdlib_module_names),
)
"""A module belongs to the first room that holds it."""

HEAVY = [*DRIVERS, "matplotlib", "dsp.synthesis", "demo"]
"""What costs time or needs a library that may be absent: imported where it is used, not when loaded."""


def module_of(path: Path) -> str:
    """The dotted name of a file under the root."""
    return ".".join(path.with_suffix("").parts).removesuffix(".__init__")


def sources() -> dict[str, str]:
    """The text of every module of the tree but the tests, by its dotted name."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "*.py"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False).stdout.split()
    found = listed or [str(path.relative_to(ROOT)) for top in TOPS for path in (ROOT / top).rglob("*.py")]
    paths = [Path(name) for name in found if not name.startswith("tests/") and (ROOT / name).is_file()]
    return {module_of(path): (ROOT / path).read_text() for path in paths}


TOPS = ("dsp", "device", "demo", "systemd")
TESTS = {module_of(p.relative_to(ROOT)): p.read_text() for p in sorted((ROOT / "tests").rglob("*.py"))}
HELPERS = [name for name in TESTS if not re.search(r"\.(test_|bench|mutation)", name)]
BENCHMARKS = ("scipy", "librosa", "parselmouth", "pyworld", "swift_f0", "matplotlib", "mir_eval")


def imports(text: str, *, when_loaded: bool = False) -> set[str]:
    """Dotted names of all that a module imports, anywhere in it or only when it is loaded."""
    names: set[str] = set()
    waiting: list[ast.AST] = [ast.parse(text)]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "write imports in full"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
        if not (when_loaded and isinstance(node, ast.FunctionDef)):
            waiting += ast.iter_child_nodes(node)
    return names


def begins_with(name: str, allowed: str) -> bool:
    return name == allowed or name.startswith(f"{allowed}.")


def faults_of(module: str, text: str) -> list[str]:
    """Whole sentences on what is wrong with a module, by the rows above."""
    home = next((room for room in ROOMS if room.holds(module)), None)
    if module == "device":
        return [f"{module} imports {name}" for name in imports(text)]
    if home is None:
        return [f"{module} belongs to no room; add a row to ROOMS and to DEVELOPERS.md, or move it"]
    strays = [n for n in imports(text) if not any(begins_with(n, allowed) for allowed in home.allowed)]
    strays += [n for n in imports(text) if begins_with(n, "dsp.synthesis") and home.path == "dsp"]
    return [f"{module} imports {name}, which {home.path} may not" for name in sorted(strays)]


MODULES = sources()


def test_the_tree_is_read():
    assert len(MODULES) > 150
    assert {name.split(".")[0] for name in MODULES} == set(TOPS)


@pytest.mark.parametrize("module", MODULES)
def test_every_module_belongs_to_a_room_and_imports_what_the_room_allows(module):
    assert faults_of(module, MODULES[module]) == []


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("device.parts.ring", "from device.instrument.strung import refusals"),
        ("device.parts.ring", "def later():\n    import device.runtime.loop"),
        ("demo.instrument", "from device.instrument.strung import refusals"),
        ("demo.instrument", "from device import safety"),
        ("demo.mechanics.strings", "from device.instrument.cores import BREAKS"),
        ("dsp.tracker", "from dsp.synthesis.plucks import pluck"),
        ("dsp.onset", "import scipy"),
        ("device.safety.monitor", "from device.lesson.verdict import judged"),
        ("device.safety.string_bounds", "from device.safety.monitor import passed"),
        ("device.lesson.verdict", "from device.panel.scene import Scene"),
        ("device.config.settings", "from device.controls.menu import Menu"),
        ("device.panel.screen", "import time"),
        ("device.controls.menu", "from device.parts.store import Store"),
        ("device.lights.colours", ""),
        ("device.stray", ""),
        ("extras.stray", ""),
    ],
)
def test_a_planted_stray_is_found(module, text):
    assert faults_of(module, text) != []


@pytest.mark.parametrize(
    "module", [m for m in MODULES if not m.startswith(("device.commands", "device.parts"))]
)
def test_nothing_heavy_is_loaded_before_it_is_used(module):
    own = module.split(".")[0] if module.startswith("demo") else module
    heavy = [name for name in HEAVY if not begins_with(module, name) and own != "demo"]
    loaded = imports(MODULES[module], when_loaded=True)
    assert [n for n in loaded if any(begins_with(n, name) for name in heavy)] == []


def test_what_pytest_loads_for_its_doctests_does_without_the_benchmarks_libraries():
    loaded: set[str] = set()
    reached, waiting = set(HELPERS), HELPERS.copy()
    while waiting:
        names = imports(TESTS[waiting.pop()], when_loaded=True)
        loaded |= names
        further = ({name.rpartition(".")[0] for name in names} | names) & TESTS.keys() - reached
        reached |= further
        waiting += further
    assert len(reached) > len(HELPERS) > 20
    assert [n for n in sorted(loaded) if any(begins_with(n, name) for name in BENCHMARKS)] == []


def test_no_modules_import_each_other_in_a_circle():
    left = {module: {name for name in loads(MODULES[module]) if name != module} for module in MODULES}
    assert sum(map(len, left.values())) > 300
    while free := {module for module, needs in left.items() if not needs & left.keys()}:
        left = {module: needs for module, needs in left.items() if module not in free}
    assert left == {}


def loads(text: str) -> set[str]:
    """Modules of the tree that a module needs to be loaded; a package counts where its own names are used."""
    names = imports(text, when_loaded=True)
    return {name if name in MODULES else name.rpartition(".")[0] for name in names} & MODULES.keys()


def test_few_modules_lie_flat_in_the_device():
    assert (
        len([m for m in MODULES if m.count(".") <= 1 and m.startswith("device") and not is_package(m)]) <= 8
    )


def is_package(module: str) -> bool:
    return any(other.startswith(f"{module}.") for other in MODULES) and module != "device"


def test_the_table_of_rooms_for_contributors_names_every_room_there_is():
    rows = set(re.findall(r"^\| `((?:dsp|device|demo|systemd)[\w/.]*)` \|", DEVELOPERS, re.MULTILINE))
    there = {room.path for room in ROOMS if any(room.holds(module) for module in MODULES)}
    named = {row.removesuffix(".py").strip("/").replace("/", ".") for row in rows}
    assert named == there
