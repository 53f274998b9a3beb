"""One name for one thing: a public name is defined once in the tree, and a module is one idea."""

import ast
from collections import defaultdict

import pytest

from tests.test_layers import MODULES

EACH_HAS_ITS_OWN = {
    "configure": "the adding of arguments, which every command has",
    "main": "the start of a command",
    "WIDTH": "a size of one drawing, always read as `module.WIDTH`",
    "HEIGHT": "a size of one drawing, always read as `module.HEIGHT`",
    "TOP": "a row of one drawing, always read as `module.TOP`",
}
LONGEST = 300  # lines; a table of figures may be longer


def public(text: str) -> set[str]:
    """Names that a module defines at its top level for others to use."""
    names: set[str] = set()
    for node in ast.parse(text).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names |= {n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name)}
    return {name for name in names if not name.startswith("_")}


def defined() -> dict[str, list[str]]:
    places: dict[str, list[str]] = defaultdict(list)
    for module, text in MODULES.items():
        for name in public(text):
            places[name].append(module)
    return places


def test_a_public_name_is_defined_once():
    places = defined()
    assert len(places) > 800
    twice = {name: where for name, where in places.items() if len(where) > 1}
    assert {name: where for name, where in twice.items() if name not in EACH_HAS_ITS_OWN} == {}
    assert twice.keys() >= EACH_HAS_ITS_OWN.keys(), "an exception that is no longer needed"


@pytest.mark.parametrize("module", MODULES)
def test_a_module_is_one_idea(module):
    text = MODULES[module]
    functions = [n for n in ast.parse(text).body if isinstance(n, ast.FunctionDef | ast.ClassDef)]
    assert len(text.splitlines()) <= LONGEST or not functions


@pytest.mark.parametrize("module", MODULES)
def test_a_heading_says_in_a_sentence_what_the_module_does(module):
    heading = ast.get_docstring(ast.parse(MODULES[module])) or ""
    first = heading.split("\n\n")[0]
    assert first[:1].isupper() or first[:1] == "`"
    assert first.endswith((".", ":", "?"))
