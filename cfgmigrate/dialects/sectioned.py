"""The `sectioned` dialect: `[section]`, `key: value` or `key = value`, indented continuation lines.

The model is that of CPython's configparser with comments after `#` and `;`, whole-line or behind a blank.
A file is a run of items. A line that stands deeper than the key above it goes on with that key's value,
over blank lines and comments; a line that does not, even an indented one, is a header or a key. The value
of a setting is the bytes from its first to its last character of content, so a value of several lines
holds its line ends, its indentation and the comments between, and none of what follows it.

Where this module differs from configparser, it is to read more or to hurt less: lines before the first
header have the section ""; the same section or key may stand twice; quotes protect a comment marker; names
keep their case; nothing is interpolated; the key `include`, and lines such as `include FILE` or `!include FILE`, in
brackets or not, take in other files; a value that says of each of its numbers what it is (`largest = x:300 y:220`) is a
setting for each, `largest x`; a block that the machine wrote at the end (`saved.py`) is read. A key without a separator is no setting but a doubt, because
there is no place to which a value could be written, and because it is mostly a forgotten separator.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects.by_path import by_their_paths
from cfgmigrate.dialects.document import Document, TakesIn, takes_in_nothing
from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.dialects.labelled import labelled
from cfgmigrate.dialects.saved import SavedBlock, find_saved_block
from cfgmigrate.dialects.source import (
    BLANKS,
    Source,
    content_end,
    names_a_path,
    remarks_by_dashes,
    shown,
    skip_blanks,
    span_of_rest,
    takes_in_by_key,
)
from cfgmigrate.ground.pattern import pattern

#: a line and how far it is blank
_LINE = pattern(r"([ \t\f\v]*)[^\r\n]+(?:\r\n?|\n|\Z)")
_NAME = pattern(r"\[(.+)\]")
#: a comment marker within the brackets is part of the name
_NAME_WITH_MARKER = pattern(r"\[([^\]\r\n]+)\]")
_INCLUDE = pattern(r"[ \t]*[!@%]?include[ \t]+(?=[^ \t])", re.IGNORECASE)
_PLAIN_HEADER = pattern(r"""\[(?:[^\[\]{}"',]{1,200}|[A-Za-z][^\W_]* [^\[\]{}"]{1,100})\]""")
_PLAIN_KEY = pattern(
    r"""[^ \t"'{}()<>\\,]+(?:[ \t]+[^ \t"'{}()<>\\,]+){0,5}(?:[ \t]+\([^()\r\n=:]{1,40}\))?[ \t]*[=:]"""
)
#: a key that says the thing first and its kind behind a comma, `speed, most : 200`; its value is a number or one word
_KIND_LAST = pattern(
    r"[A-Za-z][\w/-]*(?:[ \t]+[\w/-]+){0,3}(?:,[ \t]+[\w/-]+(?:[ \t]+[\w/-]+){0,2}){1,2}[ \t]*:[ \t]*"
    r"(?:[-+]?\d[\w.%/²]*(?:[ \t]+[\w.%/²]+)?|\w+)[ \t]*(?:[ \t][#;][^\r\n]*)?[\r\n]*"
)
#: a key of prose has words before a comma, a bracket or a question mark, and a value that no statement ends
_PROSE_KEY = pattern(
    r"""[A-Za-z][\w'-]*+(?:[ \t]+[\w'.&/-]++|[ \t]*,[ \t]+[\w'.&/-]++|[ \t]+\([^()\r\n=:]{1,40}\),?|\?){0,24}+[ \t]*=[ \t]*[^=\r\n{}();]+(?:[#;][^\r\n]*)?[\r\n]*"""
)
_SWALLOWED = pattern(
    r"(?:\r\n?|\n)[ \t]+((?:[^\W\d][\w .-]{0,60}[=:](?!//)|\[[^\W\d][^\],\r\n]{0,80}\])[^\r\n]*)"
)
_REMEDY = "write `key: value`, or put `#` before the line if it is a remark"


class _Reader:
    """What is open while the lines of one file go by: the section, and what an indented line may belong to.

    `above` is "value" below a key, "unplaced" below a line that could not be placed, else "". `beside` is where
    the value ends on the line of its key.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.text = source.text
        self.section = ""
        self.key = ""
        self.above = ""
        self.saved = False
        self.indent = 0
        self.start = self.beside = self.end = 0

    def take(self, kind: str, start: int, end: int, indent: int = 0) -> None:
        """Reads one token of the grammar; `indent` is how deep a header or key stands."""
        if kind == "GAP":
            self.source.piece("gap", start, end)
        elif kind == "INDENTED":
            self._indented(start, end)
        else:
            self.close()
            self.indent = indent
            if kind == "SETTING":
                self._setting(start, end)
            elif kind == "HEADER":
                self._header(start, end)
            elif self.source.include_line(start, end):
                self.source.piece("include", start, end)
            else:
                self._unplaced(start, end, "the line is neither a section, nor a setting, nor a remark")

    def close(self) -> None:
        """Ends the open setting: its value is complete."""
        if self.above == "value":
            parts = labelled(self.text, self.start, self.end)
            for label, start, end in parts or [("", self.start, self.end)]:
                if self.saved:
                    self.source.saved.add(len(self.source.keys))
                self.source.setting(self.section, f"{self.key} {label}".rstrip(), start, end)
            if self.start < self.beside < self.end:
                self._doubt_swallowed()
            if takes_in_by_key(self.key, self.source.text[self.start : self.end]):
                self.source.include_each(self.start, self.end)
        self.above = ""

    def _doubt_swallowed(self) -> None:
        """A doubt where a value that began beside its key goes on with lines that look like lines of their own."""
        found = list(_SWALLOWED.finditer(self.text, self.start, self.end))
        if found:
            more = f", and {len(found) - 1} more below it" if len(found) > 1 else ""
            why = f"it stands deeper than `{self.key}` above, so it is read as part of that value{more}"
            remedy = f"if it is a line of its own, begin it where `{self.key}` begins"
            self.source.doubt(found[0].start(1), found[0].end(1), why, remedy)

    def take_saved(self, block: SavedBlock) -> None:
        """Reads the block that the machine wrote at the end of the file."""
        self.section, self.saved = "", True
        for start, content, end in block.lines:
            self.source.piece("marker", start, content)
            for kind, _ in tokens("sectioned", self.text[content:end]):
                self.take(kind, content, end)
        self.close()

    def _setting(self, start: int, end: int) -> None:
        text = self.text
        separator = _separator(text, start, end)
        name = text[start:separator].rstrip(BLANKS)
        if content_end(text, start, separator) < start + len(name):
            self._unplaced(start, end, "the separator stands behind a comment marker")
            return
        self.source.piece("setting", start, end)
        self.key = shown(name)
        self.start, self.end = span_of_rest(text, separator + 1, end, self.source.dashes)
        self.beside = self.end
        self.above = "value"

    def _header(self, start: int, end: int) -> None:
        found = _NAME.match(self.text, start, content_end(self.text, start, end, self.source.dashes))
        found = found or _NAME_WITH_MARKER.match(self.text, start, end)
        if not found:
            self._unplaced(start, end, "the section's name is not closed by `]`")
            return
        self.source.piece("header", start, end)
        self.section = shown(found[1].strip(BLANKS))
        if include := _INCLUDE.match(found[1]):
            at = found.start(1) + include.end()
            self.source.include(at, content_end(self.text, at, found.end(1)))
            self.section = ""

    def _unplaced(self, start: int, end: int, why: str) -> None:
        self.source.piece("unplaced", start, end)
        self.source.doubt(start, end, why, _REMEDY)
        self.above = "unplaced"

    def _indented(self, start: int, end: int) -> None:
        """Lines that may belong to what stands above. Below a line at the left margin they all do."""
        if self.above and self.indent == 0:
            self._continue(start, end)
            return
        lines = [(*found.span(), found.end(1)) for found in _LINE.finditer(self.text, start, end)]
        margin = "".join([self.text[first:end] for _, end, first in lines])
        for (kind, _), (start, end, first) in zip(tokens("sectioned", margin), lines, strict=True):
            if self.above and first - start > self.indent:
                self._continue(start, end)
            else:
                self.source.piece("indent", start, first)
                self.take(kind, first, end, first - start)

    def _continue(self, start: int, end: int) -> None:
        if self.above == "unplaced":
            self.source.piece("unplaced", start, end)
            return
        self.source.piece("continuation", start, end)
        lines = self.text[start:end].rstrip("\r\n")
        last = start + max(lines.rfind("\n"), lines.rfind("\r")) + 1
        if self.start == self.end:
            self.start = skip_blanks(self.text, start, end)
        self.end = content_end(self.text, skip_blanks(self.text, last, end), end, self.source.dashes)


def _separator(text: str, start: int, end: int) -> int:
    """Where the first `=` or `:` stands; there is one."""
    equal, colon = text.find("=", start, end), text.find(":", start, end)
    return min(equal, colon) if equal >= 0 and colon >= 0 else max(equal, colon)


def read(path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> Document:
    """Reads a file. Raises BadInput where it is not plain text; never where a line is not understood."""
    source = Source(path, data, takes_in)
    reader = _Reader(source)
    end = source.base
    for kind, token in tokens("sectioned", source.body):
        start, end = end, min(end + len(token), len(data))
        reader.take(kind, start, end)
    reader.close()
    _take_saved(source, reader)
    by_their_paths(source)
    return source.document("sectioned")


def _take_saved(source: Source, reader: _Reader) -> None:
    """Reads the machine-written block, if the blank and comment lines at the end of the file are one; doubts
    what comes close to one, there or above."""
    pieces = zip(source.kinds, source.piece_starts, source.piece_ends, strict=True)
    with_section = [span for kind, *span in pieces if kind == "gap" and source.text.find("[", *span) >= 0]
    for start, end in with_section:
        found = find_saved_block(source.text, start, end)
        if isinstance(found, SavedBlock) and end == len(source.data):
            source.take_back_piece()
            source.piece("gap", start, found.start)
            source.piece("announcement", found.start, found.lines[0][0])
            reader.take_saved(found)
        elif isinstance(found, SavedBlock):
            _doubt_saved(source, found.start, found.lines[0][0], "it does not stand at the end of the file")
        elif found:
            _doubt_saved(source, found.start, found.end, found.why)


def _doubt_saved(source: Source, start: int, end: int, why: str) -> None:
    source.doubt(
        start,
        end,
        f"this looks like a block that the machine wrote, but {why}: it is taken for remarks",
        "if the machine reads it, put that right first: its values win over those above; else nothing has to be done",
    )


def likelihood(text: str) -> float:
    """How much of a text reads as sectioned, 0 to 1. Without a single plain header it is not."""
    headers = settings = strangers = 0
    dashes = remarks_by_dashes(text)
    for kind, token in tokens("sectioned", text):
        if kind == "HEADER":
            plain = _PLAIN_HEADER.fullmatch(token, 0, content_end(token, 0, len(token), dashes))
            headers, strangers = headers + bool(plain), strangers + (not plain)
        elif kind == "SETTING":
            plain = _PLAIN_KEY.match(token) or _PROSE_KEY.fullmatch(token) or _KIND_LAST.fullmatch(token)
            settings, strangers = settings + bool(plain), strangers + (not plain)
        elif kind == "UNPLACED":
            strangers += not names_a_path(token)
    if not headers or text.startswith("#!"):
        return 0.0
    return (headers + settings) / (headers + settings + strangers)
