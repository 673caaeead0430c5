"""The `flat` dialect: one setting a line and no sections.

`key=value`, `key = value`, `key: value` and `key value` are all read, in one file side by side; a key may
have dots (`feeder.gear.teeth`) and, where a separator or a number ends it, several words
(`run current = 0.8`, `z max travel 190`). A leading `export` is no part of the key. Comments stand behind `#` or `;`, whole-line or after a blank; quotes protect a marker,
and stay part of the value. The section is always "".

What this dialect deliberately does not do: join lines that end in a backslash, put values in for `$names`,
or take a key without a value for a setting (there is no place to write to): such a line is a doubt.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.dialects.source import BLANKS, Source, content_end, shown, span_of_rest

_EXPORT = re.compile(r"export[ \t]+")
_PLAIN_KEY = re.compile(r"[A-Za-z_][\w.\-/\[\]]*(?:[ \t]+[\w.\-/\[\]]+){0,5}", re.ASCII)
#: a value that stands behind a bare blank as often in prose as in a file of settings
_PLAIN_VALUE = re.compile(
    r"""[^\s,;:{}()]+(?:[ \t]*,[ \t]*[^\s,;:{}()]+)*|"[^"]*"|'[^']*'|[-+.\d][-+.\d \t]*"""
)
_REMEDY = "write `key = value`, or put `#` before the line if it is a remark"


def read(path: str, data: bytes) -> Document:
    """Reads a file. Raises BadInput where it is not plain text; never where a line is not understood."""
    source = Source(path, data)
    for kind, start, split, end in _items(source.body, source.base):
        if kind != "KEY":
            source.piece(kind.lower(), start, end)
            if kind == "UNPLACED":
                source.doubt(start, end, "the line is neither a setting nor a remark", _REMEDY)
            continue
        source.piece("key", start, split)
        source.piece("rest", split, end)
        source.setting("", shown(_key(source.text, start, split)), *span_of_rest(source.text, split, end))
    return source.document("flat")


def _key(text: str, start: int, split: int) -> str:
    """The key within what the grammar calls KEY: without separator, surrounding blanks and `export`."""
    key = text[start:split].rstrip(BLANKS).removesuffix("=").removesuffix(":").strip(BLANKS)
    return _EXPORT.sub("", key, count=1) if key.startswith("export") else key


def _items(text: str, base: int = 0) -> Iterator[tuple[str, int, int, int]]:
    """Kind, start, split (where the rest of a key's line begins) and end of each item of the text."""
    limit = base + len(text)
    end = base
    found = iter(tokens("flat", text))
    for token in found:
        start, end = end, min(end + len(token), limit)
        if token.type == "KEY":
            split, end = end, min(end + len(next(found)), limit)
            yield token.type, start, split, end
        else:
            yield token.type, start, end, end


def likelihood(text: str) -> float:
    """How much of a text reads as flat, 0 to 1.

    `key: value` alone says nothing, since other formats and prose are full of it; `key value` counts only
    where the value looks like one.
    """
    settings = strangers = 0
    for kind, start, split, end in _items(text):
        if kind == "GAP":
            continue
        value = text[split : content_end(text, split, end)].strip(BLANKS)
        if kind == "KEY" and _is_plain(text[start:split], _key(text, start, split), value):
            settings += 1
        else:
            strangers += 1
    if not settings or text.startswith("#!"):
        return 0.0
    return settings / (settings + strangers)


def _is_plain(token: str, key: str, value: str) -> bool:
    if not _PLAIN_KEY.fullmatch(key):
        return False
    if token.endswith("="):
        return not value.endswith(("{", "(", ";", "=", "&&", "|"))
    return not token.endswith(":") and bool(_PLAIN_VALUE.fullmatch(value))
