"""A mutation run: puts one small fault at a time into a folder and asks whether a test notices.

    python -m tests.mutation device/runtime --sample 60

The faults come from the library cosmic-ray (a comparison turned round, `and` for `or`, a number changed,
`not` dropped, a sign changed). Each is put into a copy of the checkout, never into the checkout itself, and
only the tests that touch the line are run, the quickest first and as many as take `--seconds` together;
pytest-cov says which they are (`tests/mutation_record.py`), and `tests/mutation_server.py` runs them. A test
that fails, or a run that uses several times the processor time it should, has noticed the fault. What nobody
noticed is printed: a test that is missing, or a fault that changes nothing (`tests/mutations/table.md`).

A line that runs on import, such as a named constant, is tried with the tests that touch its file. A golden
file (`systemd/wallpeg.toml`) is held by a test that touches neither; `--also` names such tests. With `--only`
nothing is recorded: each fault is tried with all tests of the files named, the quickest first. The tests
must be green without a fault; with `--work DIR` the copy and the record are kept and used again. Exit status
0 when at least `--least` percent were noticed, else 1.
"""

import argparse
import json
import math
import os
import queue
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import cosmic_ray.plugins
from cosmic_ray.ast import get_ast
from cosmic_ray.mutating import mutate_code

from tests.mutation_record import CHECKOUT, copied, recorded
from tests.mutation_server import HUNG

# Judged by the kept pictures, pixel for pixel.
DRAWN = ("panel/drawing", "/page.py", "practice/signs.py", "_picture.py", "_pictures.py")
NO_TESTS = 5  # pytest's status
MOST_ONCE_S = 1800.0  # for all the tests that `--only` names, once
LEAST_CPU_S, TIMES_LONGER = 20.0, 4.0  # a run that needs this much more than it took in the record hangs

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


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of it: `noticed`, `hung`, `survived`, or `untouched` where no test runs the line."""

    fault: Fault
    outcome: str
    before: str
    after: str
    by: str = ""  # the test that noticed


class Bench:
    """One copy of the checkout and the process that runs its tests."""

    def __init__(self, checkout: Path, copy: Path) -> None:
        copied(checkout, copy)
        self.copy = copy
        self._version = 0
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
        environment.pop("CI", None)
        command = [sys.executable, "-P", str(Path(__file__).with_name("mutation_server.py"))]
        self._server = subprocess.Popen(
            command, cwd=copy, env=environment, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        self._line()

    def _line(self) -> str:
        assert self._server.stdout is not None
        line = self._server.stdout.readline()
        if not line:
            raise SystemExit(f"the process that runs the tests in {self.copy} ended")
        return line

    def run(
        self, tests: Iterable[str], *, first: bool, cpu_s: float
    ) -> tuple[int, list[str], dict[str, float]]:
        """Pytest's status, which tests failed, and how long the others took."""
        asked = {"tests": list(tests), "first": first, "cpu_s": cpu_s}
        assert self._server.stdin is not None
        self._server.stdin.write(json.dumps(asked) + "\n")
        self._server.stdin.flush()
        answer = json.loads(self._line())
        return answer["status"], answer["failed"], answer["passed"]

    def tried(self, fault: Fault, tests: list[str], cpu_s: float) -> Verdict:
        """Put the fault in, run the tests, and take it out again."""
        path = self.copy / fault.path
        code, stat = path.read_text(), path.stat()
        changed = mutated(code, fault)
        before, after = _line(code, fault.line), _line(changed or code, fault.line)
        if changed is None or not tests:
            return Verdict(fault, "untouched", before, after)
        self._version += 1
        path.write_text(changed)
        # Python knows compiled code by the second in which its source changed: every fault gets its own.
        os.utime(path, (stat.st_atime, stat.st_mtime + 10 + self._version))
        try:
            status, failed, _passed = self.run(tests, first=True, cpu_s=cpu_s)
        finally:
            path.write_text(code)
            os.utime(path, (stat.st_atime, stat.st_mtime))
        outcome = {0: "survived", HUNG: "hung", NO_TESTS: "untouched"}.get(status, "noticed")
        return Verdict(fault, outcome, before, after, failed[0] if failed else "")

    def close(self) -> None:
        """End the process."""
        self._server.communicate()


def _line(code: str, line: int) -> str:
    return code.splitlines()[line - 1].strip()


def _means_nothing(path: Path, line: int) -> bool:
    """`slots=False` of a decorator changes nothing that a test could see."""
    return _line(path.read_text(), line).startswith("@")


def chosen_faults(folder: str, sample: int, seed: int) -> list[Fault]:
    """A sample of the faults of a folder or file, the same for the same seed; drawings are judged by eye."""
    root = CHECKOUT / folder
    files = sorted(root.rglob("*.py")) if root.is_dir() else [root]
    faults = [
        fault
        for path in files
        for fault in faults_in(str(path.relative_to(CHECKOUT)), path.read_text())
        if not any(drawn in fault.path for drawn in DRAWN) and not _means_nothing(path, fault.line)
    ]
    if not faults:
        raise SystemExit(f"{folder} holds nothing to change; name a folder such as device/runtime")
    picked = random.Random(seed).sample(faults, min(sample, len(faults)))
    return sorted(picked, key=lambda fault: (fault.path, fault.line, fault.occurrence))


def quickest(tests: set[str], seconds: dict[str, float], most_s: float) -> list[str]:
    """The quickest tests, as many as take `most_s` together and one at least."""
    chosen, total = list[str](), 0.0
    for test in sorted(tests, key=lambda test: (seconds.get(test, 0.0), test)):
        total += seconds.get(test, 0.0)
        if chosen and total > most_s:
            break
        chosen.append(test)
    return chosen


@dataclass(frozen=True, slots=True)
class Trial:
    """How faults are tried."""

    jobs: int  # at a time
    most_s: float  # seconds of tests a fault
    also: tuple[str, ...] = ()  # files of tests for every fault
    only: tuple[str, ...] = ()  # files of tests for every fault, and no others; nothing is recorded


def run(sampled: dict[str, list[Fault]], work: Path, trial: Trial) -> dict[str, list[Verdict]]:
    """Try each folder's faults with a line of progress each."""
    jobs, record = trial.jobs, None if trial.only else recorded(work, trial.jobs)
    benches = queue.Queue[Bench]()
    for number in range(jobs):
        benches.put(Bench(record.copy if record else CHECKOUT, work / f"checkout-{number + 1}"))
    seconds = record.seconds() if record else timed(benches, trial.only)
    always = {test for test in seconds if test.split("::")[0] in {*trial.also, *trial.only}}

    def tried(fault: Fault, tests: list[str]) -> Verdict:
        cpu_s = LEAST_CPU_S + TIMES_LONGER * sum(seconds.get(test, 0.0) for test in tests)
        bench = benches.get()
        try:
            verdict = bench.tried(fault, tests, cpu_s)
        finally:
            benches.put(bench)
        print(told(verdict), flush=True)
        return verdict

    found = dict[str, list[Verdict]]()
    with ThreadPoolExecutor(jobs) as pool:
        for folder, faults in sampled.items():
            lines = {path: record.touching(path) for path in {f.path for f in faults}} if record else {}
            touching = [lines[f.path][f.line] if record else set[str]() for f in faults]
            chosen = [quickest(tests | always, seconds, trial.most_s) for tests in touching]
            asked = quickest({test for tests in chosen for test in tests}, seconds, math.inf)
            green = _green(benches, asked, seconds)
            print(f"{folder}: {len(faults)} faults, {len(green)} tests", flush=True)
            kept = [[test for test in tests if test in green] for tests in chosen]
            found[folder] = list(pool.map(tried, faults, kept))
    while not benches.empty():
        benches.get().close()
    return found


def timed(benches: "queue.Queue[Bench]", files: Iterable[str]) -> dict[str, float]:
    """How long each test of some files takes that is green; all are run once."""
    bench = benches.get()
    _status, failed, passed = bench.run(files, first=False, cpu_s=MOST_ONCE_S)
    benches.put(bench)
    return {test: took for test, took in passed.items() if test not in failed}


def _green(benches: "queue.Queue[Bench]", tests: list[str], seconds: dict[str, float]) -> set[str]:
    """The tests that pass with no fault in, in their order in one process; the others are left out.

    One that counts what slower tests have met is among those: it would be red for every fault.
    """
    bench = benches.get()
    limit = LEAST_CPU_S + TIMES_LONGER * sum(seconds.get(test, 0.0) for test in tests)
    _status, failed, passed = bench.run(tests, first=False, cpu_s=limit)
    benches.put(bench)
    red = sorted(set(tests) - (set(passed) - set(failed)))
    if red:
        print(f"left out, not green without a fault: {len(red)} tests, {', '.join(red[:3])} ..", flush=True)
    return set(passed) - set(failed)


def told(verdict: Verdict) -> str:
    """One fault in one line."""
    fault = verdict.fault
    by = f" ({verdict.by})" if verdict.by else ""
    return f"{verdict.outcome}: {fault.path}:{fault.line} `{verdict.before}` -> `{verdict.after}`{by}"


def table(found: dict[str, list[Verdict]]) -> str:
    """A row a folder, then every fault that nobody noticed."""
    rows = ["| folder | faults | noticed | survived | no test runs the line |", "|---|---|---|---|---|"]
    for folder, verdicts in found.items():
        own = [verdict.outcome for verdict in verdicts]
        share = f"{_noticed(verdicts)} ({100 * _noticed(verdicts) // max(len(own), 1)} %)"
        rows.append(
            f"| {folder} | {len(own)} | {share} | {own.count('survived')} | {own.count('untouched')} |"
        )
    left = [f"- {told(v)}" for own in found.values() for v in own if v.outcome in {"survived", "untouched"}]
    return "\n".join([*rows, "", *left])


def _noticed(verdicts: list[Verdict]) -> int:
    return sum(verdict.outcome in {"noticed", "hung"} for verdict in verdicts)


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation", description=(__doc__ or "").split("\n")[0]
    )
    add = parser.add_argument
    add("folders", nargs="+", metavar="FOLDER", help="a folder or file, such as device/runtime")
    add("--sample", type=int, default=60, metavar="N", help="faults a folder, drawn by the seed")
    add("--seed", type=int, default=1, metavar="N")
    add("--jobs", type=int, default=2, metavar="N", help="faults tried at a time")
    add("--seconds", type=float, default=30.0, metavar="S", help="of tests a fault, the quickest first")
    add("--also", nargs="*", default=[], metavar="TESTS", help="files of tests for every fault")
    add("--only", nargs="*", default=[], metavar="TESTS", help="files of tests for every fault, no others")
    add("--work", type=Path, metavar="DIR", help="keep the copy and the record here and use them again")
    add("--least", type=float, default=0.0, metavar="PERCENT", help="status 1 under this share")
    return parser


def main() -> int:
    """The command."""
    parser = _arguments()
    given = parser.parse_args()
    for folder in given.folders:
        if not (CHECKOUT / folder).exists():
            parser.error(f"{folder} is not in the checkout; name a folder such as device/runtime")
    with tempfile.TemporaryDirectory() as fresh:
        work = (given.work or Path(fresh)).resolve()
        work.mkdir(parents=True, exist_ok=True)
        sampled = {folder: chosen_faults(folder, given.sample, given.seed) for folder in given.folders}
        found = run(sampled, work, Trial(given.jobs, given.seconds, tuple(given.also), tuple(given.only)))
    print(table(found))
    verdicts = [verdict for own in found.values() for verdict in own]
    return 0 if 100.0 * _noticed(verdicts) >= given.least * len(verdicts) else 1


if __name__ == "__main__":
    sys.exit(main())
