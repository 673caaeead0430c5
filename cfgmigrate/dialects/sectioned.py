"""The `sectioned` dialect: `[section]`, `key: value` or `key = value`, indented continuation lines.

The model is that of CPython's configparser with comments after `#` and `;`, whole-line or behind a blank.
A file is a run of items. A line that stands deeper than the key above it goes on with that key's value,
over blank lines and comments; a line that does not, even an indented one, is a header or a key. The value
of a setting is the bytes from its first to its last character of content, so a value of several lines
holds its line ends, its indentation and the comments between, and none of what follows it.

Where this module differs from configparser, it is to read more or to hurt less: lines before the first
header have the section ""; the same section or key may stand twice; quotes protect a comment marker; names
keep their case; nothing is interpolated. A key without a separator is no setting but a doubt, because
there is no place to which a value could be written, and because it is mostly a forgotten separator.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.dialects.source import BLANKS, Source, content_end, shown, skip_blanks, span_of_rest

_LINE = re.compile(r"[^\r\n]+(?:\r\n?|\n|\Z)")
_NAME = re.compile(r"\[(.+)\]")
_PLAIN_HEADER = re.compile(r"""\[[^\[\]{}"',]{1,200}\]""")
_PLAIN_KEY = re.compile(r"""[^ \t"'{}()<>\\,]+(?:[ \t]+[^ \t"'{}()<>\\,]+){0,5}[ \t]*[=:]""")
_REMEDY = "write `key: value`, or put `#` before the line if it is a remark"


@dataclass(frozen=True, slots=True)
class _Item:
    """A line at the level of headers and keys, or a run of indented lines that may go on with a value.

    `start`..`end` is the whole item; a key ends at `split`, where the rest of its line begins.
    """

    kind: str
    start: int
    end: int
    indent: int = 0
    split: int = 0


class _Reader:
    """What is open while the items of one file go by: the section, and what an indented line may belong to.

    `above` is "value" below a key, "unplaced" below a line that could not be placed, else "".
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.text = source.text
        self.section = ""
        self.key = ""
        self.above = ""
        self.indent = 0
        self.start = self.end = 0

    def take(self, item: _Item) -> None:
        if item.kind == "GAP":
            self.source.piece("gap", item.start, item.end)
        elif item.kind == "INDENTED":
            self._indented(item)
        else:
            self.close()
            self.indent = item.indent
            if item.kind == "KEY":
                self._key(item)
            elif item.kind == "HEADER":
                self._header(item)
            else:
                self._unplaced(item, "the line is neither a section, nor a setting, nor a remark")

    def close(self) -> None:
        """Ends the open setting: its value is complete."""
        if self.above == "value":
            self.source.setting(self.section, self.key, self.start, self.end)
        self.above = ""

    def _key(self, item: _Item) -> None:
        before = item.split - 1
        name = self.text[item.start : before].rstrip(BLANKS)
        if content_end(self.text, item.start, before) < item.start + len(name):
            self._unplaced(item, "the separator stands behind a comment marker")
            return
        self.source.piece("key", item.start, item.split)
        self.source.piece("rest", item.split, item.end)
        self.key = shown(name)
        self.start, self.end = span_of_rest(self.text, item.split, item.end)
        self.above = "value"

    def _header(self, item: _Item) -> None:
        found = _NAME.match(self.text, item.start, content_end(self.text, item.start, item.end))
        if not found:
            self._unplaced(item, "the section's name is not closed by `]`")
            return
        self.source.piece("header", item.start, item.end)
        self.section = shown(found[1].strip(BLANKS))

    def _unplaced(self, item: _Item, why: str) -> None:
        self.source.piece("unplaced", item.start, item.end)
        self.source.doubt(item.start, item.end, why, _REMEDY)
        self.above = "unplaced"

    def _indented(self, item: _Item) -> None:
        """Lines that may belong to what stands above. Below a line at the left margin they all do."""
        if self.above and self.indent == 0:
            self._continue(item.start, item.end)
            return
        for line in _LINE.finditer(self.text, item.start, item.end):
            first = skip_blanks(self.text, line.start(), line.end())
            if self.above and first - line.start() > self.indent:
                self._continue(line.start(), line.end())
                continue
            self.source.piece("indent", line.start(), first)
            for part in _items(self.text[first : line.end()], first, first - line.start()):
                self.take(part)

    def _continue(self, start: int, end: int) -> None:
        if self.above == "unplaced":
            self.source.piece("unplaced", start, end)
            return
        self.source.piece("continuation", start, end)
        lines = self.text[start:end].rstrip("\r\n")
        last = start + max(lines.rfind("\n"), lines.rfind("\r")) + 1
        if self.start == self.end:
            self.start = skip_blanks(self.text, start, end)
        self.end = content_end(self.text, skip_blanks(self.text, last, end), end)


def _items(text: str, base: int = 0, indent: int = 0) -> Iterator[_Item]:
    """The items of a text that stands at `base` in the file and whose keys stand `indent` deep."""
    limit = base + len(text)
    end = base
    found = iter(tokens("sectioned", text))
    for token in found:
        start, end = end, min(end + len(token), limit)
        if token.type == "KEY":
            split, end = end, min(end + len(next(found)), limit)
            yield _Item("KEY", start, end, indent, split)
        else:
            yield _Item(token.type, start, end, indent)


def read(path: str, data: bytes) -> Document:
    """Reads a file. Raises BadInput where it is not plain text; never where a line is not understood."""
    source = Source(path, data)
    reader = _Reader(source)
    for item in _items(source.body, source.base):
        reader.take(item)
    reader.close()
    return source.document("sectioned")


def likelihood(text: str) -> float:
    """How much of a text reads as sectioned, 0 to 1. Without a single plain header it is not."""
    headers = settings = strangers = 0
    for item in _items(text):
        if item.kind == "HEADER":
            plain = _PLAIN_HEADER.fullmatch(text, item.start, content_end(text, item.start, item.end))
            headers, strangers = headers + bool(plain), strangers + (not plain)
        elif item.kind == "KEY":
            plain = _PLAIN_KEY.fullmatch(text, item.start, item.split)
            settings, strangers = settings + bool(plain), strangers + (not plain)
        elif item.kind == "UNPLACED":
            strangers += 1
    if not headers or text.startswith("#!"):
        return 0.0
    return (headers + settings) / (headers + settings + strangers)
