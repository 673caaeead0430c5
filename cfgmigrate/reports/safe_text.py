"""Text from files and sheets, made harmless before anything shows it.

A comment may hold terminal escape codes, marks that turn the reading direction round, line ends that
would break a table, or ten thousand characters. `inert` shows each of these as a visible escape such as
`\\x1b` or `\\u202e`, the way `dialects.document.readable` shows bytes that are no UTF-8, and cuts what
is too long while saying how much was cut, where that saves anything. Letters of every script stay as they are.

This module deliberately knows nothing of HTML, Markdown or rich: what is special there is escaped there,
after this.
"""

from __future__ import annotations

import unicodedata
from typing import Literal

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.plain_json import HARMFUL

LIMIT = 240
#: what whole sentences may have, which may quote a file or a sheet
PROSE_LIMIT = 2000
MARKS_IN_A_ROW = 3
"""More combining marks than this on one letter climb into the neighbouring lines."""
#: beyond these blocks of Unicode, in which none is, a letter may be a combining mark
_MAY_CLIMB = pattern("[^\x00-\u02ff\u2000-\u20cf\u2100-\u2bff]")


def inert(text: str, limit: int = LIMIT, keep: Literal["start", "end"] = "start") -> str:
    """`text` on one line, without anything that acts on what shows it, at most `limit` characters of it
    (0: all). `keep` says which end survives the cut. A tab stays a tab."""
    total = len(text)
    note = f"[{total - limit:,} more characters]"
    if limit and total > limit + len(note):
        kept = text[:limit] if keep == "start" else text[total - limit :]
        shown = _visible(kept)
        return f"{shown} … {note}" if keep == "start" else f"{note} … {shown}"
    return _visible(text)


def shell_word(text: object) -> str:
    """A path as one word of a POSIX shell, to be copied into a command line: quoted where it needs to be. What a
    quote can't hold on one line stays an escape, so that a pasted command then finds no file and does nothing."""
    import shlex

    return shlex.quote(inert(str(text), limit=0))


def plain_ascii(text: str) -> bool:
    """Whether `text` is printable ASCII or tabs only, which is most of every file."""
    return text.isascii() and text.replace("\t", " ").isprintable()


def _visible(text: str) -> str:
    if plain_ascii(text) or (text.isprintable() and not _MAY_CLIMB.search(text)):
        return text
    shown: list[str] = []
    marks = 0
    for letter in text:
        category = unicodedata.category(letter)
        marks = marks + 1 if category in {"Mn", "Me"} else 0
        harmful = category in HARMFUL and letter != "\t"
        shown.append(_escape(letter) if harmful or marks > MARKS_IN_A_ROW else letter)
    return "".join(shown)


def _escape(letter: str) -> str:
    named = {"\n": "\\n", "\r": "\\r"}
    code = ord(letter)
    if letter in named:
        return named[letter]
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
