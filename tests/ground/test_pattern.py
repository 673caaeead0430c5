"""Expressions that are compiled late are expressions, and do what Python's do."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from re import _constants as op  # type: ignore[attr-defined]
from re import _parser
from typing import Any

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


def late(values: Iterable[object]) -> Iterator[Any]:
    """The expressions among values, and among those of tuples."""
    for each in values:
        if isinstance(each, tuple):
            yield from late(each)
        elif isinstance(each, module._Later):
            yield each


NO_LETTERS = frozenset({""})


def ends_without(parts: Iterable[Any], needs: tuple[str, ...], runs: frozenset[str]) -> frozenset[str]:
    """The letters that may stand last in what fits the parts of an expression and has none of the needs in it; `runs` are
    those that may stand right before. "" where anything may."""
    for kind, of in parts:
        match kind, of:
            case op.LITERAL, _:
                runs = frozenset(run + chr(of).lower() for run in runs)
            case op.IN, _ if len(of) <= 4 and all(each[0] is op.LITERAL for each in of):
                runs = frozenset(run + chr(each[1]).lower() for run in runs for each in of)
            case ((op.MAX_REPEAT | op.MIN_REPEAT | op.POSSESSIVE_REPEAT), (least, most, whole)):
                once = ends_without(whole, needs, runs)
                again = once if most == 1 else once and NO_LETTERS
                runs = again if least else runs | again
            case ((op.AT | op.ASSERT_NOT), _):
                pass
            case op.ASSERT, (direction, ahead):
                runs = runs if direction < 0 or ends_without(ahead, needs, runs) else frozenset()
            case op.SUBPATTERN, (_, _, _, whole):
                runs = ends_without(whole, needs, runs)
            case op.BRANCH, (_, ways):
                runs = frozenset().union(*(ends_without(way, needs, runs) for way in ways))
            case _:
                runs = runs and NO_LETTERS
        runs = frozenset(run[-20:] for run in runs if not any(need in run for need in needs))
    return runs


def never_without(expression: tuple[str | bytes, int], needs: tuple[str | bytes, ...]) -> bool:
    """Whether whatever fits an expression has one of the needs in it."""
    words = tuple(need.decode() if isinstance(need, bytes) else need for need in needs)
    return not ends_without(_parser.parse(*expression), words, NO_LETTERS)


@pytest.mark.parametrize("name", LATE)
def test_what_is_compiled_when_it_is_used_can_be(name: str) -> None:
    for each in late(vars(importlib.import_module(name)).values()):
        assert re.compile(each.pattern, each._given[1]).groups >= 0
        if isinstance(each, module._Needing):
            assert never_without(each._given, each.needs), (each.pattern, each.needs)


def test_what_needs_a_word_is_not_compiled_before_it_is_there() -> None:
    own = re.compile(r"feeds? \d", re.I)
    for text in ("FEED 1", "push 1", "feeds 2, Feed 3", "x feed 1"):
        wary = pattern(own.pattern, re.I, needs=("feed",))
        for way in ("search", "match", "fullmatch"):
            for span in ((), (2,), (0, 4)):
                found, told = getattr(wary, way)(text, *span), getattr(own, way)(text, *span)
                assert (found and found.span()) == (told and told.span())
        assert wary.findall(text) == own.findall(text)
        assert [each[0] for each in wary.finditer(text)] == [each[0] for each in own.finditer(text)]
        assert wary.sub("-", text) == own.sub("-", text)
        assert ("flags" in vars(wary)) == ("feed" in text.lower())


def test_an_expression_may_not_leave_its_needs_out() -> None:
    needs = ("feed", "draw")
    for text, sure in (
        ("feeds?|drawn", True),
        ("feeds?|push", False),
        ("(?:feed)?er", False),
        ("[fd]eed", False),
    ):
        assert never_without((text, 0), needs) == sure


def test_it_is_what_python_compiles() -> None:
    late, own = pattern(r"(a+)(b)?", re.IGNORECASE), re.compile(r"(a+)(b)?", re.IGNORECASE)
    for _ in range(2):
        assert late.findall("xAAb a") == own.findall("xAAb a")
        assert late.sub("-", "aab") == own.sub("-", "aab")
        assert (late.pattern, late.flags, late.groups) == (own.pattern, own.flags, own.groups)
