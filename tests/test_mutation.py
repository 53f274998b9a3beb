"""The mutation run itself: it puts real faults where it says, and tells noticed from not noticed."""

import queue

import pytest

pytest.importorskip("cosmic_ray", reason="the extra `mutation` is not installed")
pytest.importorskip("coverage", reason="the extra `mutation` is not installed")

from tests import mutation, mutation_record

CODE = """\
LIMIT = 3.0


def over(value: float, on: bool) -> bool:
    return on and value > LIMIT
"""


def test_every_fault_changes_the_line_it_names_and_no_other():
    faults = list(mutation.faults_in("a.py", CODE))
    assert {fault.line for fault in faults} == {1, 5}
    assert len(faults) >= 4  # a number twice, a comparison, `and`
    for fault in faults:
        changed = mutation.mutated(CODE, fault)
        assert changed is not None
        pairs = zip(CODE.splitlines(), changed.splitlines(), strict=True)
        assert [n for n, (old, new) in enumerate(pairs, 1) if old != new] == [fault.line], fault


CHECKS = """\
import pytest

from a import over


def test_over():
    assert over(4.0, True)


def test_nothing():
    assert over
"""


@pytest.fixture
def bench(tmp_path):
    checkout = tmp_path / "from"
    checkout.mkdir()
    (checkout / "a.py").write_text(CODE)
    (checkout / "test_a.py").write_text(CHECKS)
    (checkout / "pytest.ini").write_text(
        "[pytest]\npythonpath = .\nfilterwarnings = error\nmarkers = heavy: long\n"
    )
    bench = mutation.Bench(checkout, tmp_path / "copy")
    yield bench
    bench.close()


def test_a_fault_counts_as_noticed_only_where_a_test_fails(bench):
    (fault,) = (f for f in mutation.faults_in("a.py", CODE) if f.operator.endswith("Gt_Lt"))
    seen = [bench.tried(fault, [f"test_a.py::{name}"], 20.0) for name in ("test_over", "test_nothing") * 2]
    assert [verdict.outcome for verdict in seen] == ["noticed", "survived"] * 2
    assert {verdict.after for verdict in seen} == {"return on and value < LIMIT"}
    assert (bench.copy / "a.py").read_text() == CODE
    # The code without the fault is what runs again, not what was compiled with it.
    assert bench.run(["test_a.py::test_over"], first=True, cpu_s=20.0)[0] == 0


def test_a_file_of_tests_that_is_named_itself_is_run_whole(bench):
    status, failed, passed = bench.run(["test_a.py"], first=False, cpu_s=20.0)
    assert (status, failed, sorted(passed)) == (0, [], ["test_a.py::test_nothing", "test_a.py::test_over"])
    waiting = queue.Queue()
    waiting.put(bench)
    assert set(mutation.timed(waiting, ["test_a.py"])) == set(passed)


def test_a_run_that_never_ends_is_ended_and_said(bench):
    (bench.copy / "test_b.py").write_text("def test_b():\n    while True:\n        pass\n")
    assert bench.run(["test_b.py::test_b"], first=True, cpu_s=1.0)[0] == mutation.HUNG


def test_a_statement_of_several_lines_has_the_tests_of_all_of_them():
    body = "    if x:\n        return (\n            2 +\n            x\n        )\n    return A\n"
    code = f"A = 1\n\n\ndef f(x):\n{body}"
    lines = {1: set[str](), 4: set(), 5: {"a", "b"}, 6: {"a"}, 8: set(), 10: {"b"}}
    found = mutation_record.spread(code, lines)
    assert found[1] == found[4] == {"a", "b"}  # runs on import, so for every test of the file
    assert [found[line] for line in (5, 6, 7, 8, 9, 10)] == [{"a", "b"}, *[{"a"}] * 4, {"b"}]


def test_the_quickest_tests_are_taken_first_and_one_at_least():
    seconds = {"slow": 9.0, "quick": 1.0, "middling": 3.0}
    assert mutation.quickest(set(seconds), seconds, 5.0) == ["quick", "middling"]
    assert mutation.quickest({"slow"}, seconds, 5.0) == ["slow"]


def test_a_line_no_test_runs_is_said():
    (fault, *_) = mutation.faults_in("a.py", CODE)
    verdict = mutation.Verdict(fault, "untouched", "LIMIT = 3.0", "LIMIT = 4.0")
    assert "| a.py | 1 | 0 (0 %) | 0 | 1 |" in mutation.table({"a.py": [verdict]})
    assert "- untouched: a.py:5" in mutation.table({"a.py": [verdict]})
