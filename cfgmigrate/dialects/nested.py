"""The `nested` dialect: JSON (RFC 8259), objects in one another; or the same without brackets (`indented.py`).

A member whose value is a string, a number, a truth value or a list of nothing but such is a setting: its section
is the path of the objects it stands in, joined by dots, its key the member's name, its value what is written, quotes and
brackets included. An object in a list has its number in the path, from 0 on: `feeders.1`; where the
list is the whole file, this one's name stands before it: `filaments.0` of filaments.json. `null` is no
value, so its member is none. A member `include` (or `alsoRead`, `imports`) with paths, and a string `!include PATH`, take in
other files. Strings stay as they are written, with their escapes; a script in one has its line ends as `\\n`.

A file is read up to its first fault, which is a doubt with its place; what stands behind it has no settings, for
then nobody can say what it belongs to. C's comments and a comma behind the last member are no fault.

What this dialect deliberately does not do: name the same member's twin (the last one counts, as everywhere), or
take a lone value, or a list of anything but objects at the top, for a configuration.
"""

from __future__ import annotations

from msgspec import Struct, field

from cfgmigrate.dialects.document import Document, TakesIn, takes_in_nothing
from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.dialects.indented import is_indented, likelihood_of_lines, read_lines
from cfgmigrate.dialects.source import INCLUDE, Source, shown, takes_in_by_key
from cfgmigrate.ground.pattern import pattern

_SCALARS = frozenset(("STRING", "NUMBER", "WORD"))
_STRING = pattern(r'"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"')
#: what a path has and a mere word has not
_PATH = pattern(r"[./\\]")
_CLOSES = {"{": "}", "[": "]"}
#: a configuration has five levels or so
DEEPEST_NESTING = 100
_REMEDY = "mend the file there: it is JSON as in RFC 8259, with C's comments allowed"


class _Open(Struct):
    """An object or a list that is open. `section` is the path of what stands in it, `key` the member that waits
    for its `value`, and the value's span is one only when a comma or the end has come behind it; `plain` says that a list has had nothing but plain values; `wants` is what may come next."""

    bracket: str
    section: str
    start: int
    key: str = ""
    value: tuple[int, int] = (0, 0)
    plain: bool = True
    wants: str = "first"
    count: int = 0


class _NestedReader(Struct):
    """What is open while the tokens of one file go by."""

    source: Source
    open: list[_Open] = field(default_factory=list)
    done: bool = False
    faulty: bool = False

    @property
    def in_list(self) -> bool:
        """Whether what comes next stands in a list that is the whole file."""
        return len(self.open) == 1 and self.open[0].bracket == "["

    def take(self, kind: str, token: str, start: int, end: int) -> None:
        fault = "" if kind == "GAP" else self._fault(kind, token, start, end)
        if fault:
            self.faulty = True
            self.source.doubt(start, end, f"{fault}; what follows is not read", _REMEDY)

    def _fault(self, kind: str, token: str, start: int, end: int) -> str:
        """Takes one token; what is wrong with it, "" for nothing."""
        if kind == "UNCLOSED":
            return (
                "a comment is not closed" if token.startswith("/") else "a string is not closed on its line"
            )
        if not self.open:
            if self.done or token not in _CLOSES:
                return "there is something beside the one object" if self.done else "no object begins here"
            self.open.append(_Open(token, "" if token == "{" else _called(self.source.path), start))
            return ""
        inner = self.open[-1]
        ends = token == "]" and inner.count
        if self.in_list and inner.wants in ("first", "more") and token != "{" and not ends:
            return "no object begins here"
        if kind == "CLOSE":
            return self._close(inner, token, end)
        if inner.wants == "comma":
            if kind != "COMMA":
                return "a comma is missing"
            self._settle(inner)
            inner.wants = "more"
            return ""
        if inner.bracket == "{" and inner.wants in ("first", "more"):
            inner.key, inner.wants = token, "colon"
            return "" if kind == "STRING" else "a member's name in quotes is missing"
        if inner.wants == "colon":
            inner.wants = "value"
            return "" if kind == "COLON" else "a colon is missing"
        return self._value(inner, kind, token, start, end)

    def _value(self, inner: _Open, kind: str, token: str, start: int, end: int) -> str:
        if kind == "OPEN":
            if len(self.open) >= DEEPEST_NESTING:
                return f"objects and lists are nested more than {DEEPEST_NESTING} deep"
            self.open.append(_Open(token, self._path(inner), start))
            inner.plain = inner.plain and token == "["
        elif kind not in _SCALARS:
            return "a value is missing"
        else:
            inner.value = (start, end if token != "null" else start)
            inner.plain = inner.plain and token != "null"
        inner.wants = "comma"
        inner.count += 1
        return ""

    def _close(self, inner: _Open, token: str, end: int) -> str:
        if token != _CLOSES[inner.bracket] or inner.wants in ("colon", "value"):
            return f"`{token}` closes nothing that could end here"
        self._settle(inner)
        self.open.pop()
        self.done = not self.open
        if self.open and inner.bracket == "[":
            outer = self.open[-1]
            outer.plain = outer.plain and inner.plain
            if inner.plain and inner.count:
                outer.value = (inner.start, end)
        return ""

    def _settle(self, inner: _Open) -> None:
        """What stands before is complete: a setting, where it is a member's and a value."""
        start, end = inner.value
        inner.value = (0, 0)
        if inner.bracket == "{" and start < end:
            self.source.setting(inner.section, _name(inner.key), start, end)
            self._include(_name(inner.key), start, end)

    def _include(self, key: str, start: int, end: int) -> None:
        """Adds the files that a value names: a member `include` or `alsoRead` with paths, or a string
        `!include PATH`."""
        for found in _STRING.finditer(self.source.text, start, end):
            line = INCLUDE.match(self.source.text, found.start() + 1, found.end() - 1)
            if line:
                self.source.include(line.end(), found.end() - 1)
            elif _PATH.search(found[0]) and takes_in_by_key(key, found[0]):
                self.source.include(*found.span())

    def _path(self, inner: _Open) -> str:
        name = _name(inner.key) if inner.bracket == "{" else str(inner.count)
        return f"{inner.section}.{name}" if inner.section else name


def _called(path: str) -> str:
    """What the objects of a list that is the whole file are called: as the file is, without its ending."""
    return path.rpartition("/")[2].rpartition(".")[0].replace(".", " ")


def _name(quoted: str) -> str:
    return shown(quoted[1:-1])


def read(path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> Document:
    """Reads a file. Raises BadInput where it is not plain text; never where it is not JSON."""
    source = Source(path, data, takes_in)
    if is_indented(source.body):
        read_lines(source)
        return source.document("nested")
    reader = _NestedReader(source)
    end = source.base
    begun = end
    for kind, token in tokens("nested", source.body):
        start, end = end, min(end + len(token), len(data))
        if not reader.faulty and start < end:
            reader.take(kind, token, start, end)
            if reader.faulty or kind == "GAP":
                source.piece("members", begun, start)
                begun = start
            if kind == "GAP":
                source.piece("gap", start, end)
                begun = end
    source.piece("unplaced" if reader.faulty else "members", begun, end)
    if not reader.faulty and not reader.done:
        source.doubt(max(source.base, end - 1), end, "the file ends before its object does", _REMEDY)
    return source.document("nested")


def likelihood(text: str) -> float:
    """How much of a text reads as nested, 0 to 1: what stands before its first fault. Without a single setting
    it is not."""
    if is_indented(text):
        return likelihood_of_lines(text)
    source = Source("", text.encode("latin-1"))
    reader = _NestedReader(source)
    before = 0
    for kind, token in tokens("nested", text):
        reader.take(kind, token, before, before + len(token))
        if reader.faulty:
            break
        before += len(token)
    if reader.faulty and reader.in_list:
        return 0.0  # of objects and other things
    return min(1.0, before / len(text)) if source.keys else 0.0
