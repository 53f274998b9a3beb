"""The mutation run itself: it puts real faults where it says, and tells noticed from not noticed."""

import pytest

pytest.importorskip("cosmic_ray", reason="the extra `mutation` is not installed")
pytest.importorskip("coverage", reason="the extra `mutation` is not installed")

from tests import mutation

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


@pytest.mark.parametrize(("check", "outcome"), [("over(4.0, True)", "noticed"), ("True", "survived")])
def test_a_fault_counts_as_noticed_only_where_a_test_fails(tmp_path, check, outcome):
    (tmp_path / "a.py").write_text(CODE)
    (tmp_path / "test_a.py").write_text(
        f"from a import over\n\n\ndef test_over():\n    assert {check} and over\n"
    )
    (tmp_path / "pytest.ini").write_text("[pytest]\npythonpath = .\n")
    (fault,) = (f for f in mutation.faults_in("a.py", CODE) if f.operator.endswith("Gt_Lt"))
    verdict = mutation.tried(tmp_path, fault, {"test_a.py::test_over"}, {})
    assert verdict.outcome == outcome
    assert verdict.after == "return on and value < LIMIT"
    assert (tmp_path / "a.py").read_text() == CODE


def test_a_line_no_test_runs_is_said():
    (fault, *_) = mutation.faults_in("a.py", CODE)
    verdict = mutation.Verdict(fault, "untouched", "LIMIT = 3.0", "LIMIT = 4.0")
    assert "| a.py | 1 | 0 (0 %) | 0 | 1 |" in mutation.table(["a.py"], [verdict])
    assert "- untouched: a.py:5" in mutation.table(["a.py"], [verdict])
