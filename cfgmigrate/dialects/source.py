"""A file's bytes as text to parse, and what every dialect does with that text in the same way.

Bytes become Latin-1 text, so that a character offset is a byte offset. A byte-order mark is a piece of its
own that no grammar has to know. Lines end with LF, CRLF or a lone CR, mixed as the file has them, and
with nothing else: Python's own line splitting knows more line ends than configuration files do, and it
would cut letters in two.

This module deliberately knows no syntax but blanks, quotes, include lines and the usual marks of remarks. A dialect
reads its own grammar's tokens in order and says `piece` of each, `setting` of each value, `doubt` of each line that it
can't place, and gives `document` at the end.
"""

from __future__ import annotations

import re
from array import array
from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property
from sys import intern

from cfgmigrate.dialects.document import (
    Document,
    Include,
    MadeWhenAsked,
    Piece,
    Setting,
    State,
    TakesIn,
    readable,
    takes_in_nothing,
)
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.ground.pattern import pattern

BLANKS = " \t\f\v"
BOM = b"\xef\xbb\xbf"
_BEHIND = BLANKS + "\r\n"
#: values as short as this stand again and again in a large file, and then are one object
_OFTEN_THE_SAME = 4
#: a remark that begins with `#`, wherever on a line
HASH_REMARK = pattern(r"(?:^|(?<=[ \t]))#[^\r\n]*", re.MULTILINE)
#: a remark of C
SLASH_REMARK = pattern(r"/\*.*?\*/|//[^\r\n]*", re.DOTALL)
#: what an include line begins with
INCLUDE = pattern(
    r"[ \t]*(?P<bracket>\[[ \t]*)?[!@%]?include(?:[ \t]*[:=][ \t]*|[ \t]+)(?=[^ \t\r\n])", re.IGNORECASE
)
_PATH_SIGN = pattern(r"[^ \t\r\n][./\\][^ \t\r\n]")
#: the key of a setting that may take in files: `include` in its spellings, whatever the value, and other words for it,
#: with blanks, `_`, `-` or nothing between; these count where the value names files by an ending
_INCLUDE_KEY = pattern(
    r"[!@%$]?(?:(?P<plain>includes?)|includ(?:es?|ed)[ _-]?files?|imports?|reads|(?:also|then)[ _-]?(?:reads?|loads?|takes?|uses?)"
    r"|(?:reads?|loads?|takes?|uses?)[ _-]?(?:also|too|in|from|next|as[ _-]?well)|(?:pulls?|brings?)[ _-]?in|(?:continued|goes[ _-]?on|more)[ _-]?in"
    r"|(?:other|further|more)[ _-]?files)",
    re.IGNORECASE,
)
_FILE_NAME = pattern(r"""["']?[^"'\r\n,:]*[^"'\r\n,: .]\.[A-Za-z][A-Za-z0-9]{0,5}["']?""")
#: a line of words for that and a file's name: `bring in feeders.txt`
_INCLUDE_WORDS = pattern(
    r"[ \t]*(?:(?:brings?|reads?|loads?|takes?|uses?|pulls?|calls?|fetch(?:es)?|gets?)[ \t]+(?:also|too|in|from|next)"
    r"|(?:also|then)[ \t]+(?:reads?|loads?|takes?|uses?|brings?))[ \t]+(?=[\"']?[^\"'\r\n,:=; ]*[^\"'\r\n,:=; .]\.[A-Za-z][A-Za-z0-9]{0,5}[\"']?[ \t]*(?:[#;\r\n]|//|\Z))",
    re.IGNORECASE,
)
_LINE_END = pattern(r"\r\n?|\n")
_PATH = pattern(r"[^ \t\f\v\r\n,](?:[^\r\n,]*[^ \t\f\v\r\n,])?")
#: a quoted string that opens where a word could, or a comment behind a blank; whichever comes first
_QUOTED_OR_COMMENT = pattern(
    r"""(?<![^ \t\f\v\r\n,(\[{=:])(?:"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"|'[^'\\\r\n]*(?:\\.[^'\\\r\n]*)*')"""
    r"""|(?<![^ \t\f\v\r\n])(?P<comment>[#;])"""
)
#: the same on a line without quotes
_QUOTE, _COMMENT = pattern("[\"']"), pattern(r"(?P<comment>[#;])(?<![^ \t\f\v\r\n].)")
#: a value in which no mark and no quote stands, with what may follow it
_PLAIN_REST = pattern(
    r"[ \t\f\v]*+([^ \t\f\v\r\n#;\"']++(?:[ \t\f\v]++[^ \t\f\v\r\n#;\"']++)*+)(?=[ \t\f\v\r\n]*+\Z|[ \t\f\v]++[#;])"
)
#: the same where two dashes begin a remark, too
_QUOTED_OR_DASHES = pattern(_QUOTED_OR_COMMENT.pattern.removesuffix("[#;])") + r"[#;]|--(?![^ \t\f\v\r\n]))")
_DASHES = pattern(r"^[ \t]*--[ \t]+[^\s-][^\r\n]*", re.MULTILINE)


def _offsets() -> array[int]:
    """Byte offsets of one file: four bytes each, where a number of Python's takes thirty."""
    return array("I")


class Source:
    """One file while it is being read: its text for the parser and what was found in it so far.

    Pieces and settings are kept as columns. Of a setting nothing is kept that its place in the text tells.
    """

    def __init__(self, path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> None:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise BadInput("the file is UTF-16", Place(path), "save it as UTF-8 and give it again")
        zero = data.find(b"\0")
        if zero >= 0:
            line = len(_LINE_END.findall(data[:zero].decode("latin-1"))) + 1
            raise BadInput(
                "the file holds zero bytes: it is not plain text",
                Place(path, line),
                "give the text form of the configuration",
            )
        self.path = path
        self.data = data
        self.takes_in = takes_in
        self.base = len(BOM) if data.startswith(BOM) else 0
        self.text = data.decode("latin-1")
        self.kinds: list[str] = []
        self.piece_starts, self.piece_ends = _offsets(), _offsets()
        self.sections: list[str] = []
        self.keys: list[str] = []
        self.states: list[State] = []
        self.starts, self.ends = _offsets(), _offsets()
        #: what a setting's value comes to, and whether it stands in a block that the machine wrote, by its number
        self.resolved: dict[int, str] = {}
        self.saved: set[int] = set()
        #: where the text of a setting stands that an alias brings in, by its number
        self.behind: dict[int, tuple[int, int]] = {}
        self.doubts: list[Doubt] = []
        self.includes: list[Include] = []
        self.piece("bom", 0, self.base)

    @property
    def body(self) -> str:
        """The text behind the byte-order mark; it stands at `base` in the file."""
        return self.text[self.base :]

    @cached_property
    def dashes(self) -> bool:
        """Whether two dashes begin a remark here, as the file's own lines show."""
        return remarks_by_dashes(self.text)

    @cached_property
    def _line_starts(self) -> array[int]:
        return array("I", [self.base]) + array("I", (found.end() for found in _LINE_END.finditer(self.text)))

    def where(self, offset: int) -> tuple[int, int]:
        """Line and column (in characters, from 1) of a byte offset."""
        line = bisect_right(self._line_starts, offset)
        before = self.text[self._line_starts[line - 1] : offset]
        return line, (len(before) if before.isascii() else len(shown(before))) + 1

    def place(self, offset: int) -> Place:
        return Place(self.path, *self.where(offset))

    def piece(self, kind: str, start: int, end: int) -> None:
        """Adds a stretch of the file; an empty one is left out."""
        if start < end:
            self.kinds.append(kind)
            self.piece_starts.append(start)
            self.piece_ends.append(end)

    def pieces(self) -> Iterator[Piece]:
        """The stretches so far."""
        return map(Piece, self.kinds, self.piece_starts, self.piece_ends)

    def take_back_piece(self) -> Piece:
        """Takes out the last stretch."""
        return Piece(self.kinds.pop(), self.piece_starts.pop(), self.piece_ends.pop())

    def setting(self, section: str, key: str, start: int, end: int, state: State = State.ACTIVE) -> None:
        """Adds a setting whose value stands at `start`..`end`."""
        self.sections.append(section)
        self.keys.append(key)
        self.starts.append(start)
        self.ends.append(end)
        self.states.append(state)

    def value(self, number: int) -> str:
        """The value of the setting of that number as a person reads it."""
        start, end = self.behind.get(number) or (self.starts[number], self.ends[number])
        value = shown(self.text[start:end])
        return intern(value) if len(value) <= _OFTEN_THE_SAME else value

    def settings(self) -> Iterator[Setting]:
        """The settings so far."""
        for number, start in enumerate(self.starts):
            yield Setting(
                self.sections[number],
                self.keys[number],
                self.value(number),
                start,
                self.ends[number],
                *self.where(start),
                self.states[number],
                self.resolved.get(number, ""),
                number in self.saved,
                self.behind.get(number),
            )

    def include(self, start: int, end: int) -> None:
        """Adds a line that takes in other files; their path stands at `start`..`end`, perhaps in quotes."""
        target = shown(self.text[start:end])
        if len(target) > 1 and target[0] == target[-1] and target[0] in "\"'":
            target = target[1:-1]
        if target:
            files = self.takes_in(self.path, target)
            self.includes.append(Include(target, start, end, *self.where(start), files))

    def include_line(self, start: int, end: int) -> bool:
        """Adds what the line `start`..`end` takes in, where it is an include line and nothing else:
        `include FILE`, perhaps in brackets, with a colon, an equals sign or one of `!@%` before the word.
        False where it is not."""
        found = INCLUDE.match(self.text, start, end)
        if not found:
            return self._include_words(start, end)
        last = content_end(self.text, found.end(), end, self.dashes)
        if found["bracket"] and self.text[last - 1] == "]":
            last = content_end(self.text, found.end(), last - 1)
        self.include_each(found.end(), last)
        return True

    def _include_words(self, start: int, end: int) -> bool:
        found = _INCLUDE_WORDS.match(self.text, start, end)
        if found:
            self.include_each(found.end(), content_end(self.text, found.end(), end, self.dashes))
        return found is not None

    def include_each(self, start: int, end: int) -> None:
        """Adds the files that a value names, one a line or with commas between."""
        for found in _PATH.finditer(self.text, start, end):
            self.include(found.start(), found.end())

    def doubt(self, start: int, end: int, why: str, remedy: str = "") -> None:
        """Adds a doubt about the first line of `start`..`end`."""
        text = shown(_LINE_END.split(self.text[start:end], maxsplit=1)[0].strip(BLANKS))
        self.doubts.append(Doubt(self.place(start), text, why, remedy))

    def document(self, dialect: str) -> Document:
        return Document(
            self.path,
            self.data,
            dialect,
            MadeWhenAsked(len(self.kinds), self.pieces),
            MadeWhenAsked(len(self.keys), self.settings),
            tuple(self.doubts),
            tuple(self.includes),
        )


def takes_in_by_key(key: str, value: str) -> bool:
    """Whether a setting takes in the file, or the first of the files, that its value names."""
    if "include" not in key.lower() and not any(each[:1].isalpha() for each in value.split(".")[1:]):
        return False  # neither the one word that needs no file's name nor such a name
    named = _INCLUDE_KEY.fullmatch(key)
    found = _PATH.search(value) if named else None
    return bool(named and (named["plain"] or (found and _FILE_NAME.fullmatch(found[0]))))


def names_a_path(text: str) -> bool:
    """Whether a line is an include line whose target looks like a path, which prose has not."""
    found = INCLUDE.match(text)
    return bool(found and _PATH_SIGN.search(text, found.end())) or _INCLUDE_WORDS.match(text) is not None


def shown(text: str) -> str:
    """Latin-1 text of the parser as a person reads it."""
    return text if text.isascii() else readable(text.encode("latin-1"))


def remarks_by_dashes(text: str) -> bool:
    """Whether a file has a line that is a remark behind two dashes; `-- feeder --` is a title."""
    if "--" not in text:
        return False
    return any(not found[0].rstrip().endswith("--") for found in _DASHES.finditer(text))


def content_end(text: str, start: int, end: int, dashes: bool = False) -> int:
    """Where the content of the one line `start`..`end` ends: before a comment that follows a blank, and
    before blanks. `#` and `;` inside a quoted string are content; `dashes` begin a comment where a file shows it."""
    line = text[start:end].rstrip(_BEHIND)
    end = start + len(line)
    if "#" in line or ";" in line or (dashes and "--" in line):
        comments = _QUOTED_OR_DASHES if dashes else _QUOTED_OR_COMMENT if _QUOTE.search(line) else _COMMENT
        for found in comments.finditer(text, start, end):
            if found["comment"]:
                return start + len(text[start : found.start()].rstrip(BLANKS))
    return end


def skip_blanks(text: str, start: int, end: int) -> int:
    """The offset of the first character from `start` on that is no blank."""
    while start < end and text[start] in BLANKS:
        start += 1
    return start


def span_of_rest(text: str, start: int, end: int, dashes: bool = False) -> tuple[int, int]:
    """The span of the value within the rest of a line, `start` being just behind the separator.

    An empty value stands one blank behind the separator where that keeps a blank before what follows, so
    that putting a value there never makes a comment part of it.
    """
    if not dashes and (plain := _PLAIN_REST.match(text, start, end)):
        return plain.span(1)
    first = skip_blanks(text, start, end)
    last = content_end(text, first, end, dashes)
    if last > first:
        return first, last
    needed = 2 if text[first : first + 1] in ("#", ";") or (dashes and text.startswith("--", first)) else 1
    at = start + 1 if first - start >= needed else start
    return at, at
