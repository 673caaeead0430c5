"""Files that a line of a script has read: in a word-address file, in a value of several lines, in a branch.

`dialects` follow include lines that stand by themselves. Within a script a line may say it in other words (`run lamp.nc`), behind
its condition (`if lamp include lamp.nc`), or by a code with the file's name in quotes; and a script may stand in a value.
Whether the branch is ever taken doesn't matter here: what the file sets is not known while it isn't there.

A remark or a message that names a file has nothing read. This module looks at one document only; whether a file is there
is the matter of `gaps.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State, readable
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern

_LONGEST_LINE = 400
_LINE_END = pattern(r"\r\n?|\n")
_PATH = r"[^\s\"'<>;#(){}=,|*?]{1,200}\.[A-Za-z][A-Za-z0-9]{0,7}"
_VERBS = "include|run|runs|call|calls|do|play|perform|execute|use|load|read"
_END = r"[ \t]*(?:[;#(].*|//.*)?"
#: a line that has a file read, perhaps behind its number or its condition
_HAS_READ = pattern(
    rf"[ \t]*(?:N\d{{1,7}}[ \t]+)?(?:(?:\W?[ \t]*(?:if|else|elif|when|unless|otherwise|on)\b|[{{\[])[^;#\r\n]{{0,100}}?[ \t:\])}}])?"
    rf"[ \t]*[!@%$]?(?:{_VERBS})[ \t]*[ \t:=(][ \t]*[\"'<]?(?P<path>{_PATH})[\"'>]?[ \t]*\)?{_END}",
    re.IGNORECASE,
    needs=tuple(_VERBS.split("|")),
)
#: a code whose word is a file's name in quotes
_BY_A_CODE = pattern(
    rf"[ \t]*(?:N\d{{1,7}}[ \t]+)?[A-Za-z]\d{{1,4}}[ \t]+(?:[A-Za-z][ \t]*)?[\"'](?P<path>{_PATH})[\"']{_END}"
)


class NamedFile(Struct, frozen=True):
    """A file that a script has read, as its line writes it. `sure` where the line says so in words, and not by a code."""

    place: Place
    path: str
    sure: bool


def named_in_scripts(document: Document) -> Iterator[NamedFile]:
    """The files that the scripts of a document have read, without those of its include lines."""
    taken = {include.line for include in document.includes}
    for line, text in _lines(document):
        if line in taken or "." not in text:
            continue
        text = text[:_LONGEST_LINE].strip(" \t\"'\\,")
        for way in (_HAS_READ, _BY_A_CODE):
            if found := way.fullmatch(text) or way.fullmatch(text + '"'):
                yield NamedFile(Place(document.path, line, 1), found["path"], way is _HAS_READ)
                break


def _lines(document: Document) -> Iterator[tuple[int, str]]:
    """The lines of scripts, each with its number in the file."""
    if document.dialect == "command":
        yield from enumerate(_LINE_END.split(readable(document.data)), 1)
        return
    verbs = frozenset(_VERBS.split("|"))
    for setting in document.settings:
        if setting.state is State.INACTIVE:
            continue
        if setting.key.lower() in verbs:
            yield setting.line, f"{setting.key} {setting.value}"
        for down, rows in enumerate(_LINE_END.split(setting.value)):
            lines = rows.split("\\n")
            if down or len(lines) > 1:
                yield from ((setting.line + down, text) for text in lines)
