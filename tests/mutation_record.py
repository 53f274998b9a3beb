"""Which test touches which line: the record of one green run, kept a file of tests at a time.

Every file of tests runs in a process of its own under pytest-cov. Its record is used again until that file
or anything that is not a file of tests has changed, so that a new test costs no new run of the others.
"""

import ast
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from coverage import CoverageData

CHECKOUT = Path(__file__).resolve().parent.parent
ROOMS = ("dsp", "device", "demo", "tests", "systemd")
# Pytest's status: all green; some red, which happens to a test that measures memory and which is left out
# later on; nothing to run, as in a file of heavy tests.
RECORDED = (0, 1, 5)
LEFT_OUT = (".git", ".venv*", "__pycache__", ".*_cache", ".hypothesis", "bundle")


@dataclass(frozen=True, slots=True)
class Record:
    """A copy of the checkout and, a file of tests each, its coverage and its log."""

    work: Path

    @property
    def copy(self) -> Path:
        """The checkout that was run."""
        return self.work / "checkout"

    def of(self, tests: str, kind: str) -> Path:
        """The `coverage`, `log` or `stamp` of a file of tests."""
        return self.work / "record" / f"{tests.replace('/', '_').removesuffix('.py')}.{kind}"

    def touching(self, path: str) -> dict[int, set[str]]:
        """The tests that run each line of a file, by their pytest names; a line of a statement counts for all
        of it, and a line that runs on import for the whole file."""
        lines = dict[int, set[str]]()
        for tests in files_of_tests(self.copy):
            data = CoverageData(str(self.of(tests, "coverage")))
            data.read()
            for line, names in data.contexts_by_lineno(str(self.copy / path)).items():
                lines.setdefault(line, set()).update(name.split("|")[0] for name in names if name)
        whole = set[str]().union(*lines.values())
        lines = {line: tests or whole for line, tests in lines.items()}  # a function that runs on import
        return spread((self.copy / path).read_text(), lines)

    def seconds(self) -> dict[str, float]:
        """How long each test took, beside the recording."""
        found = dict[str, float]()
        for tests in files_of_tests(self.copy):
            for line in self.of(tests, "log").read_text(errors="replace").splitlines():
                words = line.split(maxsplit=2)
                if len(words) == 3 and words[1] == "call" and words[0].endswith("s"):
                    found[words[2]] = float(words[0][:-1])
        return found


def files_of_tests(checkout: Path) -> list[str]:
    """What one process runs at a time: every file of tests, and the doctests of `dsp`."""
    return [*sorted(str(p.relative_to(checkout)) for p in (checkout / "tests").glob("test_*.py")), "dsp"]


def spread(code: str, lines: dict[int, set[str]]) -> dict[int, set[str]]:
    """The tests of every line of a file, from those of the lines that the interpreter announced."""
    whole = set[str]().union(*lines.values())
    found = dict.fromkeys(range(1, len(code.splitlines()) + 1), whole)
    tree = ast.parse(code)
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        for statement in (s for part in function.body for s in ast.walk(part) if isinstance(s, ast.stmt)):
            span = range(statement.lineno, _last(statement) + 1)
            tests = set[str]().union(*(lines.get(line, set()) for line in span))
            found.update(dict.fromkeys(span, tests))
    return found


def _last(statement: ast.stmt) -> int:
    """The last line of a statement, without the statements inside it."""
    inner = [
        node.lineno for node in ast.walk(statement) if isinstance(node, ast.stmt) and node is not statement
    ]
    return max(statement.lineno, min(inner) - 1) if inner else statement.end_lineno or statement.lineno


def recorded(work: Path, jobs: int) -> Record:
    """The record of the checkout as it stands; what has changed since the last time is run again."""
    record = Record(work)
    (work / "record").mkdir(parents=True, exist_ok=True)
    copied(CHECKOUT, record.copy)
    shared = _digest(p for p in _sources(record.copy) if not _is_tests(p))
    due = [(tests, _digest(_sources(record.copy / tests), shared)) for tests in files_of_tests(record.copy)]
    due = [(tests, stamp) for tests, stamp in due if not _is_stamped(record.of(tests, "stamp"), stamp)]
    if due:
        print(f"recording which test touches which line, {len(due)} files of tests", flush=True)
    with ThreadPoolExecutor(jobs) as pool:
        lost = [tests for tests in pool.map(lambda one: _run(record, *one), due) if tests]
    if lost:
        raise SystemExit(f"no record of {', '.join(lost)}; see {work / 'record'}")
    return record


def copied(checkout: Path, copy: Path) -> None:
    """A fresh copy of a checkout."""
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(checkout, copy, ignore=shutil.ignore_patterns(*LEFT_OUT))


def _sources(root: Path) -> list[Path]:
    """Every Python file of the rooms under `root`, or the file itself."""
    if root.is_file():
        return [root]
    rooms = [root / room for room in ROOMS if (root / room).is_dir()] or [root]
    return sorted(path for room in rooms for path in room.rglob("*.py"))


def _is_tests(path: Path) -> bool:
    return path.name.startswith("test_")


def _digest(paths: Iterable[Path], before: str = "") -> str:
    digest = hashlib.sha256(before.encode())
    for path in paths:
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def _is_stamped(path: Path, stamp: str) -> bool:
    return path.exists() and path.read_text() == stamp


def _run(record: Record, tests: str, stamp: str) -> str | None:
    """Run one file of tests; its name if it could not be run."""
    options = ["-q", "-m", "not heavy", "--durations=0", "--durations-min=0", "-p", "no:cacheprovider"]
    cover = ["--cov=dsp", "--cov=device", "--cov-context=test", "--cov-report="]
    environment = {
        **os.environ,
        "OPENBLAS_NUM_THREADS": "1",
        "COVERAGE_FILE": str(record.of(tests, "coverage")),
    }
    environment.pop("CI", None)
    command = [sys.executable, "-m", "pytest", *options, *cover, tests]
    with record.of(tests, "log").open("w") as out:
        status = subprocess.run(
            command, cwd=record.copy, env=environment, stdout=out, stderr=out, check=False
        ).returncode
    if status not in RECORDED:
        return tests
    record.of(tests, "stamp").write_text(stamp)
    return None
