"""Where the grammars are, and how they are made into parsers.

The grammars lie beside the package in a checkout and inside it in an installed wheel; `data_folder` finds
both. Every grammar is LALR with Lark's contextual lexer, loaded once; of one that takes its tokens in any
sequence only the tokens' patterns are needed, and Lark itself is not even loaded. Lark's strict mode, which proves that
no two tokens fit the same text, costs seconds and a library that only the tests bring: the program runs
without it, and a test loads every grammar with it.

This module deliberately knows nothing of what a grammar says.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.pattern import pattern

if TYPE_CHECKING:
    from lark import Lark, Token, Tree

#: the grammars that texts are parsed by; of the others only the tokens are used
TREES = ("condition", "formula", "value")
_ENDLESS = 2**63 - 1
_START = pattern(r"^// start: *(.+)$", re.MULTILINE)


@cache
def data_folder(name: str) -> Path:
    """The folder `name` of data files: inside the package when it was installed, else beside it.

    Raises FileNotFoundError where there is neither, which means a broken installation.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"the folder {name!r} of this installation is missing; install it again")


def _text(name: str) -> str:
    return (data_folder("grammars") / f"{name}.lark").read_text(encoding="utf-8")


@cache
def grammar(name: str, *, strict: bool = False) -> Lark:
    """The parser for `grammars/NAME.lark`. `strict` needs the package `interegular`.

    A grammar with several start rules names them in a remark of its own line: `// start: one, other`.
    """
    import lark

    if strict:
        return build_grammar(name, strict=True)
    found = _tables(name)
    if found["lark"] != lark.__version__:
        return build_grammar(name)
    return lark.Lark.load(found["tables"])


def build_grammar(
    name: str, lexer: Literal["contextual", "basic"] = "contextual", strict: bool = False
) -> Lark:
    """The parser made from the grammar's text, with none of what is compiled."""
    from lark import Lark

    text = _text(name)
    said = _START.search(text)
    start = [rule.strip() for rule in said[1].split(",")] if said else ["start"]
    return Lark(text, parser="lalr", lexer=lexer, start=start, strict=strict, maybe_placeholders=False)


@compiled(each=lambda: [(name,) for name in TREES])
def _tables(name: str) -> dict[str, Any]:
    """A parser's tables, from which Lark has it at once. They hold for one version of Lark."""
    import lark
    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    data, memo = build_grammar(name).memo_serialize([TerminalDef, Rule])
    return {"lark": lark.__version__, "tables": {"data": _packable(data), "memo": _packable(memo)}}


def _packable(found: Any) -> Any:
    """The same without numbers of more than 64 bits: as such Python gives the width of an endless pattern."""
    match found:
        case dict():
            return {key: _packable(value) for key, value in found.items()}
        case list() | tuple():
            return [_packable(value) for value in found]
        case int() if found > _ENDLESS:
            return _ENDLESS
        case _:
            return found


def parse(name: str, text: str) -> Tree[Token] | None:
    """The tree of a text by a grammar, None where it does not fit."""
    from lark.exceptions import UnexpectedInput

    try:
        return grammar(name).parse(text)
    except UnexpectedInput:
        return None


def _of_lines() -> Iterator[tuple[str]]:
    """The grammars of which only the tokens are used."""
    for path in sorted(data_folder("grammars").glob("*.lark")):
        if path.stem not in TREES:
            yield (path.stem,)


@compiled(each=_of_lines)
def _any_token(name: str) -> str:
    """The terminals of a grammar as Lark has them, as one pattern: the first that fits counts."""
    terminals = sorted(build_grammar(name, "basic").terminals, key=lambda each: -each.priority)
    return "|".join(f"(?P<{each.name}>{each.pattern.to_regexp()})" for each in terminals)


@cache
def _scanner(name: str) -> re.Pattern[str]:
    return re.compile(_any_token(name))


def tokens(name: str, text: str) -> Iterator[tuple[str, str]]:
    """The tokens of a text by a grammar of lines, each its kind and its text, in order; joined they are the text.

    Such a grammar takes its tokens in any sequence, so the parser has nothing to add; nor have Lark's counts
    of lines and columns, for offsets are all that is needed. So the patterns that Lark makes of the grammar are run
    in one go, which is many times as fast as Lark's lexer; a test holds the two beside each other. These grammars
    count on a line end behind the last line; where the text has none, the last token is one character longer than the text.
    """
    ended = text if text.endswith(("\n", "\r")) else text + "\n"
    for found in _scanner(name).finditer(ended):
        yield found.lastgroup or "", found[0]
