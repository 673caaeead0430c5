"""Where the grammars are, and how they are made into parsers.

The grammars lie beside the package in a checkout and inside it in an installed wheel; `data_folder` finds
both. Every grammar is LALR with Lark's contextual lexer, loaded once. Lark's strict mode, which proves that
no two tokens fit the same text, costs seconds and a library that only the tests bring: the program runs
without it, and a test loads every grammar with it.

This module deliberately knows nothing of what a grammar says.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from cfgmigrate.ground.cache import kept

if TYPE_CHECKING:
    from lark import Lark, Token, Tree
    from lark.lexer import BasicLexer

_START = re.compile(r"^// start: *(.+)$", re.MULTILINE)


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
def grammar(name: str, *, strict: bool = False, lexer: Literal["contextual", "basic"] = "contextual") -> Lark:
    """The parser for `grammars/NAME.lark`. `strict` needs the package `interegular`.

    A grammar with several start rules names them in a remark of its own line: `// start: one, other`.
    """
    from lark import Lark

    if strict:
        return _built(name, lexer, strict=True)
    return Lark.load(BytesIO(_tables(name, lexer)))


def _built(name: str, lexer: Literal["contextual", "basic"], strict: bool = False) -> Lark:
    from lark import Lark

    text = _text(name)
    said = _START.search(text)
    start = [rule.strip() for rule in said[1].split(",")] if said else ["start"]
    return Lark(text, parser="lalr", lexer=lexer, start=start, strict=strict, maybe_placeholders=False)


@kept
def _tables(name: str, lexer: Literal["contextual", "basic"]) -> bytes:
    """A parser's tables as Lark saves them, from which it is there at once."""
    saved = BytesIO()
    _built(name, lexer).save(saved)
    return saved.getvalue()


def parse(name: str, text: str) -> Tree[Token] | None:
    """The tree of a text by a grammar, None where it does not fit."""
    from lark.exceptions import UnexpectedInput

    try:
        return grammar(name).parse(text)
    except UnexpectedInput:
        return None


@cache
def _lexer(name: str) -> BasicLexer:
    from lark.lexer import BasicLexer

    return BasicLexer(grammar(name, lexer="basic").lexer_conf)


def tokens(name: str, text: str) -> Iterator[tuple[str, str]]:
    """The tokens of a text by a grammar of lines, each its kind and its text, in order; joined they are the text.

    Such a grammar takes its tokens in any sequence, so the parser has nothing to add; nor have Lark's counts
    of lines and columns, for offsets are all that is needed. So only the scanner of Lark's lexer runs, which is
    four times as fast. These grammars count on a line end behind the last line; where the text has none, the
    last token is one character longer than the text.
    """
    from lark.utils import TextSlice

    ended = text if text.endswith(("\n", "\r")) else text + "\n"
    whole, length = TextSlice.cast_from(ended), len(ended)
    match = _lexer(name).scanner.match
    at = 0
    while at < length:
        found = match(whole, at)
        assert found is not None, "a grammar of lines takes any text"
        token, kind = found
        at += len(token)
        yield kind, token
