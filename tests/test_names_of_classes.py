"""A class's name means one thing in the whole tree, so that it can be looked up and talked about."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "cfgmigrate"
#: to be told apart yet; nothing is ever added here
STILL_SHARED = {"Fault", "Line"}  # fmt: skip


def test_no_two_classes_have_one_name() -> None:
    found = Counter(
        node.name
        for path in PACKAGE.rglob("*.py")
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.ClassDef)
    )
    assert {name for name, times in found.items() if times > 1} <= STILL_SHARED
