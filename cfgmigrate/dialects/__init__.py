"""Reading: from a file's bytes to a `Document` with its settings and their byte spans.

`DIALECTS` is the registry. A dialect is a grammar in `grammars/`, a module here of the same name with
`read` and `likelihood`, and one entry below. Which dialect a file is in is decided by its content alone,
never by its name.
"""

from __future__ import annotations

import importlib
import re
from typing import Protocol, cast

from msgspec import Struct

from cfgmigrate.dialects.document import Document, TakesIn, takes_in_nothing
from cfgmigrate.dialects.source import HASH_REMARK, SLASH_REMARK
from cfgmigrate.ground.findings import BadInput, Place

#: A text is taken for a dialect from this likelihood on.
LIKELY_ENOUGH = 0.75
#: So much of a file is looked at to find its dialect.
LOOKED_AT = 64 * 1024


class _Module(Protocol):
    def read(self, path: str, data: bytes, takes_in: TakesIn) -> Document: ...
    def likelihood(self, text: str) -> float: ...


class Dialect(Struct, frozen=True):
    """A family of file syntax, whose module is loaded when a text is first held against it. `remark` finds the
    file's own remarks within a value of several lines, None where there can be none."""

    name: str
    sentence: str
    remark: re.Pattern[str] | None = None

    def _module(self) -> _Module:
        return cast(_Module, importlib.import_module(f"{__name__}.{self.name}"))

    def read(self, path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> Document:
        """The file's settings. Raises BadInput where the bytes are not plain text."""
        return self._module().read(path, data, takes_in)

    def likelihood(self, text: str) -> float:
        """How much of a text reads as this dialect, 0 to 1."""
        return self._module().likelihood(text)


DIALECTS = {
    dialect.name: dialect
    for dialect in (
        Dialect(
            "sectioned",
            "`[section]`, `key: value` or `key = value`, indented continuation lines",
            HASH_REMARK,
        ),
        Dialect("header", "C preprocessor lines: `#define NAME value`", SLASH_REMARK),
        Dialect("command", "word-address lines: a letter and a number"),
        Dialect("flat", "`key=value` or `key value`, one a line", HASH_REMARK),
        Dialect("nested", "JSON, or `key: value` lines with what belongs to them indented below"),
    )
}


def detect(data: bytes) -> Dialect | None:
    """The dialect that a file's content reads as, or None: it is no configuration in any of them."""
    if b"\0" in data or data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None
    text = data[:LOOKED_AT].decode("latin-1").removeprefix("\xef\xbb\xbf")
    if len(data) > LOOKED_AT:
        text = text[: max(text.rfind("\n"), text.rfind("\r")) + 1] or text
    best, sure = None, 0.0
    for each in DIALECTS.values():
        likely = each.likelihood(text)
        if likely > sure:
            best, sure = each, likely
        if sure == 1.0:  # of two alike the first is taken
            break
    return best if sure >= LIKELY_ENOUGH else None


def read(
    path: str, data: bytes, dialect: str | None = None, takes_in: TakesIn = takes_in_nothing
) -> Document:
    """Reads a file's bytes in the dialect named, or in the one its content reads as. `takes_in` says which files
    its include lines take in.

    Raises BadInput where the dialect is unknown or can't be told, or where the bytes are not plain text.
    """
    if dialect is not None:
        if dialect not in DIALECTS:
            raise BadInput(f"there is no dialect {dialect!r}", Place(path), f"choose one of {_names()}")
        return DIALECTS[dialect].read(path, data, takes_in)
    found = detect(data)
    if found is None:
        raise BadInput(
            "the content reads as none of the dialects",
            Place(path),
            f"say which it is with --dialect: {_names()}",
        )
    return found.read(path, data, takes_in)


def _names() -> str:
    return ", ".join(DIALECTS)
