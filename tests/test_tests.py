"""Every test is sure to assert: outside a loop or an `if`, or in a loop that is known to meet something."""

import ast
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
FILES = sorted(TESTS.rglob("test_*.py"))


def meets_something(loop: ast.AST) -> bool:
    """Whether a `for` is certain to run: over `each(...)`, a display with elements, or a range of numbers."""
    if not isinstance(loop, ast.For):
        return False
    if isinstance(loop.iter, ast.Call):
        name = getattr(loop.iter.func, "id", "")
        return name == "each" or (
            name == "range" and all(isinstance(a, ast.Constant) for a in loop.iter.args)
        )
    return isinstance(loop.iter, ast.Tuple | ast.List | ast.Set) and bool(loop.iter.elts)


def asserts_surely(node: ast.AST) -> bool:
    """Whether something is asserted, or an error demanded, whatever the values are."""
    if isinstance(node, ast.Assert) or (
        isinstance(node, ast.With) and "pytest." in ast.unparse(node.items[0])
    ):
        return True
    if isinstance(node, ast.For | ast.While) and not meets_something(node):
        return False
    branches = (ast.If, ast.ExceptHandler, ast.Match)
    return not isinstance(node, branches) and any(map(asserts_surely, ast.iter_child_nodes(node)))


def asserts_nowhere(node: ast.AST) -> bool:
    """A test may leave asserting to a helper that it calls."""
    return not any(isinstance(child, ast.Assert) for child in ast.walk(node))


def unsure(text: str) -> list[str]:
    """Names of the tests of a module that may assert nothing."""
    tests = [
        n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef) and n.name.startswith("test_")
    ]
    return [test.name for test in tests if not asserts_surely(test) and not asserts_nowhere(test)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_test_is_sure_to_assert(path):
    assert unsure(path.read_text()) == []


@pytest.mark.parametrize(
    ("body", "sure"),
    [
        ("for case in cases():\n        assert case", False),
        ("if case:\n        assert case", False),
        ("while case:\n        assert case", False),
        ("for case in ():\n        assert case", False),
        ("for case in each(cases()):\n        assert case", True),
        ("for case in (1, 2):\n        assert case", True),
        ("for _ in range(3):\n        if case:\n            assert case", False),
        ("for case in cases():\n        assert case\n    assert cases()", True),
    ],
)
def test_a_planted_test_that_may_assert_nothing_is_found(body, sure):
    assert (unsure(f"def test_it():\n    {body}\n") == []) is sure
