"""Reading: from a file's bytes to a `Document` with its settings and their byte spans.

`DIALECTS` is the registry. A dialect is a grammar in `grammars/`, a module here of the same name with
`read` and `likelihood`, and one entry below. Which dialect a file is in is decided by its content alone,
never by its name.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from msgspec import Struct

from cfgmigrate.dialects import command, flat, header, nested, sectioned
from cfgmigrate.dialects.document import Document, TakesIn, takes_in_nothing
from cfgmigrate.dialects.source import HASH_REMARK
from cfgmigrate.ground.findings import BadInput, Place

#: A text is taken for a dialect from this likelihood on.
LIKELY_ENOUGH = 0.75
#: So much of a file is looked at to find its dialect.
LOOKED_AT = 64 * 1024


class Dialect(Struct, frozen=True):
    """A family of file syntax. `likelihood` says how much of a text reads as it, 0 to 1; `remark` finds the
    file's own remarks within a value of several lines, None where there can be none."""

    name: str
    sentence: str
    read: Callable[[str, bytes, TakesIn], Document]
    likelihood: Callable[[str], float]
    remark: re.Pattern[str] | None


DIALECTS = {
    dialect.name: dialect
    for dialect in (
        Dialect(
            "sectioned",
            "`[section]`, `key: value` or `key = value`, indented continuation lines",
            sectioned.read,
            sectioned.likelihood,
            HASH_REMARK,
        ),
        Dialect(
            "header",
            "C preprocessor lines: `#define NAME value`",
            header.read,
            header.likelihood,
            header.REMARK,
        ),
        Dialect(
            "command", "word-address lines: a letter and a number", command.read, command.likelihood, None
        ),
        Dialect("flat", "`key=value` or `key value`, one a line", flat.read, flat.likelihood, HASH_REMARK),
        Dialect(
            "nested",
            "JSON, or `key: value` lines with what belongs to them indented below",
            nested.read,
            nested.likelihood,
            None,
        ),
    )
}


def detect(data: bytes) -> Dialect | None:
    """The dialect that a file's content reads as, or None: it is no configuration in any of them."""
    if b"\0" in data or data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None
    text = data[:LOOKED_AT].decode("latin-1").removeprefix("\xef\xbb\xbf")
    if len(data) > LOOKED_AT:
        text = text[: max(text.rfind("\n"), text.rfind("\r")) + 1] or text
    best, sure = max(((each, each.likelihood(text)) for each in DIALECTS.values()), key=lambda pair: pair[1])
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
