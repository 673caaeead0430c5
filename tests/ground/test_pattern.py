"""Expressions that are compiled late are expressions, and do what Python's do."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

import cfgmigrate
from cfgmigrate.ground import pattern as module
from cfgmigrate.ground.pattern import pattern

PACKAGE = Path(cfgmigrate.__file__).parent
LATE = sorted(
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    for path in PACKAGE.rglob("*.py")
    if "= pattern(" in path.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("name", LATE)
def test_what_is_compiled_when_it_is_used_can_be(name: str) -> None:
    found = [each for each in vars(importlib.import_module(name)).values() if isinstance(each, module._Later)]
    for each in found:
        assert each.groups >= 0


def test_it_is_what_python_compiles() -> None:
    late, own = pattern(r"(a+)(b)?", re.IGNORECASE), re.compile(r"(a+)(b)?", re.IGNORECASE)
    for _ in range(2):
        assert late.findall("xAAb a") == own.findall("xAAb a")
        assert late.sub("-", "aab") == own.sub("-", "aab")
        assert (late.pattern, late.flags, late.groups) == (own.pattern, own.flags, own.groups)
