"""The name of a class, or of a constant that others may use, means one thing in the whole tree: it can be looked up
and talked about."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "cfgmigrate"
#: to be told apart yet; nothing is ever added here
STILL_SHARED: set[str] = set()
STILL_SHARED_CONSTANTS: set[str] = set()
#: every trial's module has one; the registry takes them by this name
BY_PROTOCOL = {"TRIAL"}


def names_of(node: ast.stmt) -> list[str]:
    """The public constants that a statement gives a value."""
    targets = (
        node.targets
        if isinstance(node, ast.Assign)
        else [node.target]
        if isinstance(node, ast.AnnAssign)
        else []
    )
    names = [name.id for target in targets for name in ast.walk(target) if isinstance(name, ast.Name)]
    return [name for name in names if len(name) > 1 and name.isupper() and not name.startswith("_")]


def shared(given: Iterable[str]) -> set[str]:
    return {name for name, times in Counter(given).items() if times > 1}


STATEMENTS = [
    node for path in PACKAGE.rglob("*.py") for node in ast.parse(path.read_text(encoding="utf-8")).body
]


def test_no_two_classes_have_one_name() -> None:
    assert shared(node.name for node in STATEMENTS if isinstance(node, ast.ClassDef)) <= STILL_SHARED


def test_no_two_constants_have_one_name() -> None:
    found = shared(name for node in STATEMENTS for name in names_of(node))
    assert found - BY_PROTOCOL <= STILL_SHARED_CONSTANTS
