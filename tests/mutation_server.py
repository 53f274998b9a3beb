"""Runs chosen tests again and again in forked processes, so that the libraries are imported only once.

Started by `tests.mutation` with the copy of the checkout as its folder and no module of it imported. It
reads one JSON object a line from its input, `{"tests": [...], "first": true, "cpu_s": 60}`, and answers
with one: `{"status": 1, "failed": ["tests/test_a.py::test_b"], "passed": {"tests/test_a.py::test_c": 0.1}}`.
`first` ends the run at the first failure. The status is pytest's own; 124 says that the run used up its
processor time, or ten times as much by the clock.
"""

import json
import os
import resource
import signal
import sys
import time
from importlib import import_module

HUNG = 124
WALL = 10  # a loaded machine is slow; a test that waits for ever uses no processor time at all
POLLED_S = 0.01
# What the tests load from outside the project, so that a fork has it already. Not the sound, pin and panel
# libraries: tests put stand-ins in their place, or ask that nothing imports them.
EARLY = "ignore:Module already imported"  # pytest would rather load hypothesis itself
LIBRARIES = ("numpy", "numpy.testing", "PIL.Image", "PIL.ImageDraw", "PIL.ImageFont", "hypothesis", "pytest")


class Outcomes:
    """A pytest plugin that runs some tests of the collected files, in their order, and notes how each ended.

    A file that is named itself is run whole.

    Naming them on a command line would end the whole run where one of them is not there any more.
    """

    def __init__(self, tests: list[str]) -> None:
        self.failed = list[str]()
        self.passed = dict[str, float]()
        self._place = {test: place for place, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items) -> None:  # type: ignore[no-untyped-def]
        """Keep the chosen tests only."""
        places = ((self._place.get(i.nodeid, self._place.get(i.nodeid.split("::")[0])), i) for i in items)
        kept = [(place, item) for place, item in places if place is not None]
        items[:] = [item for _, item in sorted(kept, key=lambda pair: pair[0])]

    def pytest_collectreport(self, report) -> None:  # type: ignore[no-untyped-def]
        """Note a file that could not be read."""
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_runtest_logreport(self, report) -> None:  # type: ignore[no-untyped-def]
        """Note a failure of any phase, and the seconds of a test that ran."""
        if report.failed:
            self.failed.append(report.nodeid)
        elif report.when == "call" and report.passed:
            self.passed[report.nodeid] = report.duration


def run_in_child(asked: dict[str, object], answer: int) -> None:
    """Run the tests in this (forked) process and write what became of them."""
    os.setsid()
    quiet = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(quiet, number)
    seconds = int(float(str(asked["cpu_s"])))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
    tests = asked["tests"]
    assert isinstance(tests, list)
    pytest, outcomes = import_module("pytest"), Outcomes(tests)
    files = dict.fromkeys(test.split("::")[0] for test in tests)
    options = [
        "-q",
        "-p",
        "no:cacheprovider",
        "-m",
        "not heavy",
        "-W",
        EARLY,
        "-x" if asked["first"] else "--continue-on-collection-errors",
    ]
    status = int(pytest.main([*options, *files], plugins=[outcomes]))
    with os.fdopen(answer, "w") as out:
        json.dump({"status": status, "failed": outcomes.failed, "passed": outcomes.passed}, out)


def answered(asked: dict[str, object]) -> dict[str, object]:
    """Fork, wait, and end the whole group of a run that hangs."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            run_in_child(asked, writing)
        finally:
            os._exit(0)
    os.close(writing)
    until = time.monotonic() + WALL * float(str(asked["cpu_s"]))
    os.set_blocking(reading, False)
    text, ended = b"", False
    while not ended and time.monotonic() < until:
        ended = os.waitpid(child, os.WNOHANG)[0] == child
        text += _available(reading)
        if not ended:
            time.sleep(POLLED_S)
    text += _available(reading)
    os.close(reading)
    _end_group(child)
    if not ended:
        os.waitpid(child, 0)
    found: dict[str, object] = json.loads(text) if text else {"status": HUNG, "failed": [], "passed": {}}
    return found


def _available(reading: int) -> bytes:
    text = b""
    while True:
        try:
            piece = os.read(reading, 65536)
        except BlockingIOError:
            return text
        if not piece:
            return text
        text += piece


def _end_group(child: int) -> None:
    """End what the run left behind, so that no program of a test goes on beside the next fault."""
    try:
        os.killpg(child, signal.SIGKILL)
    except ProcessLookupError:
        return


def main() -> None:
    """Answer until the input ends."""
    for name in LIBRARIES:
        import_module(name)
    print("ready", flush=True)
    for line in sys.stdin:
        print(json.dumps(answered(json.loads(line))), flush=True)


if __name__ == "__main__":
    main()
