"""A mutation run: puts one small fault at a time into a folder and asks whether a test notices.

    python -m tests.mutation device/runtime --sample 60

The faults come from the library cosmic-ray (a comparison turned round, `and` for `or`, a number changed,
`not` dropped, a sign changed). Each is put into a copy of the checkout, never into the checkout itself, and
only the tests that touch the line are run, the quickest first; pytest-cov says which they are. A test that
fails, or a run that hangs, has noticed the fault. What nobody noticed is printed with its line, and is either
a test that is missing or a fault that changes nothing (say which beside the table in `tests/mutations/`).

A line that runs on import, such as a named constant, is tried with every test that touches its file. The
first run of the tests, which records which test touches which line, must be green; with `--work DIR` the
copy and that record are kept and used again while the checkout's files are the same. Exit status 0 when at
least `--least` percent were noticed, else 1.
"""

import argparse
import hashlib
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cosmic_ray.plugins
from cosmic_ray.ast import get_ast
from cosmic_ray.mutating import mutate_code
from coverage import CoverageData

CHECKOUT = Path(__file__).resolve().parent.parent
ROOMS = ("dsp", "device", "demo", "tests", "systemd")
LONGEST_S = 90.0  # a fault whose tests take longer hangs; the tests of one line take some seconds
MOST_TESTS = (
    400  # of the tests that touch a line, the quickest: more make a command line too long to be useful
)

OPERATORS = (
    *(f"core/ReplaceComparisonOperator_{pair}" for pair in ("Lt_Gt", "LtE_Gt", "Gt_Lt", "GtE_Lt")),
    *(f"core/ReplaceComparisonOperator_{pair}" for pair in ("Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is")),
    *(f"core/ReplaceBinaryOperator_{pair}" for pair in ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul")),
    *(f"core/ReplaceUnaryOperator_{pair}" for pair in ("Delete_USub", "Delete_Not")),
    *(f"core/{name}" for name in ("ReplaceTrueWithFalse", "ReplaceFalseWithTrue")),
    *(f"core/{name}" for name in ("ReplaceAndWithOr", "ReplaceOrWithAnd", "NumberReplacer")),
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One change of one line."""

    path: str  # relative to the checkout
    line: int
    operator: str
    occurrence: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of it: `noticed`, `survived`, or `untouched` where no test runs the line."""

    fault: Fault
    outcome: str
    before: str
    after: str


def faults_in(path: str, code: str) -> Iterator[Fault]:
    """Every fault that the operators can put into `code`, in the order of the library's own count."""
    for name in OPERATORS:
        operator = cosmic_ray.plugins.get_operator(name)()
        occurrence = 0
        for node in _nodes(get_ast(code)):
            for (line, _column), _end in operator.mutation_positions(node):
                yield Fault(path, line, name, occurrence)
                occurrence += 1


def _nodes(node: object) -> Iterator[object]:
    """The tree from above and from left to right, as the library walks it."""
    yield node
    for child in getattr(node, "children", ()):
        yield from _nodes(child)


def mutated(code: str, fault: Fault) -> str | None:
    """The code with the fault in it; None where the library makes none."""
    operator = cosmic_ray.plugins.get_operator(fault.operator)()
    changed: str | None = mutate_code(code, operator, fault.occurrence)
    return changed


def copied(work: Path) -> Path:
    """A copy of the checkout with its coverage by test; made anew where a file has changed since."""
    digest = hashlib.sha256()
    for path in sorted(p for room in ROOMS for p in (CHECKOUT / room).rglob("*.py")):
        digest.update(path.read_bytes())
    copy, stamp = work / "checkout", work / "stamp"
    if stamp.exists() and stamp.read_text() == digest.hexdigest():
        return copy
    shutil.rmtree(copy, ignore_errors=True)
    ignore = shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".*_cache", ".hypothesis", "bundle")
    shutil.copytree(CHECKOUT, copy, ignore=ignore)
    print("recording which test touches which line (once)", flush=True)
    options = ["--cov=dsp", "--cov=device", "--cov-context=test", "--cov-report=", "-p", "no:cacheprovider"]
    status = _pytest(copy, ["-m", "not heavy", "--durations=0", "--durations-min=0", *options], work / "log")
    if status:
        last = (work / "log").read_text(errors="replace").splitlines()[-1:]
        raise SystemExit(f"the tests fail before any fault is put in: {' '.join(last)}; see {work / 'log'}")
    stamp.write_text(digest.hexdigest())
    return copy


def _pytest(copy: Path, arguments: list[str], log: Path | None, timeout_s: float | None = None) -> int:
    """Pytest's exit status; 124 where it hung."""
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONDONTWRITEBYTECODE": "1"}
    environment.pop("CI", None)
    with (log or Path(os.devnull)).open("w") as out:
        try:
            command = [sys.executable, "-m", "pytest", *arguments]
            return subprocess.run(
                command, cwd=copy, env=environment, stdout=out, stderr=out, timeout=timeout_s, check=False
            ).returncode
        except subprocess.TimeoutExpired:
            return 124


def touching(copy: Path, path: str) -> dict[int, set[str]]:
    """The tests that run each line of a file, by their pytest names."""
    data = CoverageData(str(copy / ".coverage"))
    try:
        data.read()
    except sqlite3.Error as why:
        raise SystemExit(
            f"the coverage of {copy} could not be read ({why}); remove it and run again"
        ) from why
    contexts = data.contexts_by_lineno(str(copy / path))
    lines = {line: {name.split("|")[0] for name in names if name} for line, names in contexts.items()}
    whole = set[str]().union(*lines.values())
    return {line: tests or whole for line, tests in lines.items()}


def durations(log: Path) -> dict[str, float]:
    """Seconds that each test took in the first run."""
    seconds = dict[str, float]()
    for line in log.read_text(errors="replace").splitlines():
        words = line.split(maxsplit=2)
        if len(words) == 3 and words[1] == "call" and words[0].endswith("s"):
            seconds[words[2]] = float(words[0][:-1])
    return seconds


def tried(copy: Path, fault: Fault, tests: set[str], seconds: dict[str, float]) -> Verdict:
    """Put the fault in, run the tests that touch its line, and take it out again."""
    path = copy / fault.path
    code = path.read_text()
    changed = mutated(code, fault)
    before, after = _line(code, fault.line), _line(changed or code, fault.line)
    if changed is None or not tests:
        return Verdict(fault, "untouched", before, after)
    chosen = sorted(tests, key=lambda test: (seconds.get(test, 0.0), test))[:MOST_TESTS]
    path.write_text(changed)
    try:
        status = _pytest(copy, ["-q", "-x", "-p", "no:cacheprovider", *chosen], None, LONGEST_S)
    finally:
        path.write_text(code)
    return Verdict(fault, "survived" if status == 0 else "noticed", before, after)


def _line(code: str, line: int) -> str:
    return code.splitlines()[line - 1].strip()


def _of_a_decorator(path: Path, line: int) -> bool:
    """`slots=False` changes nothing that a test could see."""
    return _line(path.read_text(), line).startswith("@")


def chosen_faults(folder: str, sample: int, seed: int) -> list[Fault]:
    """A sample of the faults of a folder or file, the same for the same seed; drawings are judged by eye."""
    root = CHECKOUT / folder
    files = sorted(root.rglob("*.py")) if root.is_dir() else [root]
    faults = [
        fault
        for path in files
        for fault in faults_in(str(path.relative_to(CHECKOUT)), path.read_text())
        if "panel/drawing" not in fault.path and not _of_a_decorator(path, fault.line)
    ]
    if not faults:
        raise SystemExit(f"{folder} holds nothing to change; name a folder such as device/runtime")
    picked = random.Random(seed).sample(faults, min(sample, len(faults)))
    return sorted(picked, key=lambda fault: (fault.path, fault.line, fault.occurrence))


def run(folders: list[str], sample: int, seed: int, work: Path) -> list[Verdict]:
    """Try a sample of each folder's faults, with a line of progress each."""
    copy = copied(work)
    seconds = durations(work / "log")
    verdicts = list[Verdict]()
    for folder in folders:
        faults = chosen_faults(folder, sample, seed)
        lines = {path: touching(copy, path) for path in {fault.path for fault in faults}}
        for number, fault in enumerate(faults, 1):
            verdict = tried(copy, fault, lines[fault.path].get(fault.line, set()), seconds)
            verdicts.append(verdict)
            mark = f"{folder} {number}/{len(faults)} {verdict.outcome}"
            print(mark if verdict.outcome == "noticed" else f"{mark}: {told(verdict)}", flush=True)
    return verdicts


def told(verdict: Verdict) -> str:
    """One fault in one line."""
    fault = verdict.fault
    return f"{fault.path}:{fault.line} `{verdict.before}` -> `{verdict.after}`"


def table(folders: list[str], verdicts: list[Verdict]) -> str:
    """A row a folder, then every fault that nobody noticed."""
    rows = ["| folder | faults | noticed | survived | no test runs the line |", "|---|---|---|---|---|"]
    for folder in folders:
        own = [v.outcome for v in verdicts if v.fault.path.startswith(folder)]
        noticed, survived = own.count("noticed"), own.count("survived")
        share = f"{noticed} ({100 * noticed // max(len(own), 1)} %)"
        rows.append(f"| {folder} | {len(own)} | {share} | {survived} | {own.count('untouched')} |")
    left = [f"- {v.outcome}: {told(v)}" for v in verdicts if v.outcome != "noticed"]
    return "\n".join([*rows, "", *left])


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation", description=(__doc__ or "").split("\n")[0]
    )
    parser.add_argument(
        "folders", nargs="+", metavar="FOLDER", help="a folder or file, such as device/runtime"
    )
    parser.add_argument(
        "--sample", type=int, default=60, metavar="N", help="faults a folder, drawn by the seed"
    )
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--work", type=Path, metavar="DIR", help="keep the copy here and use it again")
    parser.add_argument(
        "--least", type=float, default=0.0, metavar="PERCENT", help="status 1 under this share"
    )
    given = parser.parse_args()
    for folder in given.folders:
        if not (CHECKOUT / folder).exists():
            parser.error(f"{folder} is not in the checkout; name a folder such as device/runtime")
    with tempfile.TemporaryDirectory() as fresh:
        work = given.work or Path(fresh)
        work.mkdir(parents=True, exist_ok=True)
        verdicts = run(given.folders, given.sample, given.seed, work)
    print(table(given.folders, verdicts))
    noticed = sum(verdict.outcome == "noticed" for verdict in verdicts)
    return 0 if 100.0 * noticed >= given.least * len(verdicts) else 1


if __name__ == "__main__":
    sys.exit(main())
