"""The `header` dialect: C preprocessor lines, as ISO C has them.

`#define NAME value` is a setting, with the section "". Its value runs from the first to the last character
of content: comments around it are left out, line ends that are escaped stay in. A name without a value is
a setting with an empty one; a name with arguments is none. What is commented out never is.

Conditions are worked out as far as the files go (`macros.py`, `condition.py`): each setting is active,
inactive, or undecided. `#ifndef NAME` directly before the `#define` of that name, a guard or a default, is
taken to hold where nothing says otherwise. `#undef` makes the settings of a name inactive. A value that
names other names keeps its text; `Setting.resolved` is what it comes to at the end of the files.

Several files are read together (`read_together`), because what one defines another asks for: each that
another takes in is read where its `#include` stands, once, as its guard has it; the rest in the given order.
Which file an `#include` names is said by who reads them; one in angle brackets that is not among the files
belongs to the compiler, and is passed over.

Constants that are declared are settings too (`declarations.py`). This module deliberately knows nothing else of C: other
code is skipped.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from sys import intern

from msgspec import Struct

from cfgmigrate.dialects.declarations import Declarations, declares
from cfgmigrate.dialects.document import Document, State, TakesIn, takes_in_nothing
from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.dialects.macros import Macros
from cfgmigrate.dialects.source import BLANKS, Source, shown
from cfgmigrate.ground.pattern import pattern

_COMMENT = r"/\*[^*]*(?:\*+[^/*][^*]*)*(?:\*+/)?|//(?:[^\r\n\\]|\\(?:\r\n|[^\r]|\r)?)*"
_SKIPPED = rf"[ \t\f\v\r\n]+|\\(?:\r\n?|\n)|{_COMMENT}"
_PART = pattern(
    rf"(?P<skipped>(?:{_SKIPPED})+)"
    r"""|(?P<content>"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"|'[^'\\\r\n]*(?:\\.[^'\\\r\n]*)*'|[^ \t\f\v\r\n\\/"']+|.)""",
    re.DOTALL,
)
_HEAD = pattern(
    rf"#(?:{_SKIPPED})*(?P<word>[a-z]+)(?:{_SKIPPED})*(?P<name>[A-Za-z_$\x80-\xff][\w$\x80-\xff]*)?", re.ASCII
)
#: a `#define` at the start of a line, perhaps commented out
_SPOKEN_OF = pattern(
    r"(?:^|[\r\n])[ \t]*(?:(?:/[/*]+|\*)[ \t]*)?#[ \t]*define[ \t]+([A-Za-z_$\x80-\xff][\w$\x80-\xff]*)",
    re.ASCII,
)
#: an `#include` of a file of one's own; within a comment too, where it does no harm
_TAKES_IN = pattern(r'(?:^|[\r\n])[ \t]*#[ \t]*include[ \t]*(?:"([^"\r\n]+)"|<([^<>\r\n]+)>)')
#: without one of these a text ends at the first `//`
_INTRICATE = pattern(r"""[\\"']|/\*""")
_RUN = pattern(r"[ \t\f\v\r\n]{2,}|[\t\f\v\r\n]")
_QUOTED = pattern(r'"[^"\r\n]+"|<[^<>\r\n]+>')
_NAMES_OR_SPLICES = pattern(r"[^\W\d]|[\\$]|/[/*]")
_KINDS = {
    kind: kind.lower() for kind in ("GAP", "DEFINE", "UNDEF", "CONDITION", "INCLUDE", "DIRECTIVE", "CODE")
}
#: so many constants make a file without a `#define` a file of settings
SEVERAL = 3
_NOT = {True: False, False: True, None: None}
_STATE = {True: State.ACTIVE, False: State.INACTIVE, None: State.UNDECIDED}


class _Branch(Struct):
    """One `#if` that is open: what holds around it, this branch's condition, and whether one before held."""

    around: bool | None
    condition: bool | None
    before: bool | None = False

    @property
    def counts(self) -> bool | None:
        return _both(self.around, _both(_NOT[self.before], self.condition))

    def turn(self, condition: bool | None) -> None:
        """Goes on to the next branch."""
        self.before = _either(self.before, self.condition)
        self.condition = condition


def _both(one: bool | None, other: bool | None) -> bool | None:
    if one is False or other is False:
        return False
    return True if one and other else None


def _either(one: bool | None, other: bool | None) -> bool | None:
    return _NOT[_both(_NOT[one], _NOT[other])]


class _HeaderReader:
    """Reads files as the preprocessor comes to them; what one defines the next one knows."""

    def __init__(self, sources: Sequence[Source]) -> None:
        self.sources = sources
        self.numbers = {source.path: number for number, source in enumerate(sources)}
        spoken_of = (found[1] for source in sources for found in _SPOKEN_OF.finditer(source.text))
        self.macros = Macros(own=frozenset(map(_name, spoken_of)))
        self.unread = dict.fromkeys(self.numbers)
        self.source = sources[0]
        self.declared = Declarations("")
        self.open: list[_Branch] = []
        #: whether the file that is being read is taken in at all, and whether what stands here is in force
        self.around: bool | None = True
        self.counts: bool | None = True
        #: the last setting of a name that is in force so far, and of a setting the one before it; each is one number
        #: for it and its file
        self.last: dict[str, int] = {}
        self.before: dict[int, int] = {}

    def read(self) -> None:
        taken_in = {
            target
            for source in self.sources
            for found in _TAKES_IN.finditer(source.text)
            for target in self._targets(source, shown(found[1] or found[2]))
            if target != source.path
        }
        for path in sorted(self.numbers, key=lambda path: path in taken_in):
            self._read(path, around=True)
        self.last.clear()
        for source in self.sources:
            self._resolve(source)

    def _read(self, path: str, around: bool | None) -> None:
        """Reads a file, unless that was done; comes back to where the one that takes it in goes on."""
        if path not in self.unread:
            return
        del self.unread[path]
        behind = self.source, self.open, self.around, self.counts
        self.source = source = self.sources[self.numbers[path]]
        self.open, self.around, self.counts = [], around, around
        declared, self.declared = self.declared, Declarations(source.text)
        end, limit, piece, take = source.base, len(source.data), source.piece, self._take
        for kind, token in tokens("header", source.body):
            start, end = end, min(end + len(token), limit)
            piece(_KINDS[kind], start, end)
            if kind != "GAP":
                take(kind, token, start)
        for _ in self.open:
            source.doubt(end, end, "an `#if` is not closed", "add the `#endif`")
        self.source, self.open, self.around, self.counts = behind
        self.declared = declared

    def _targets(self, source: Source, written: str) -> list[str]:
        """The files that are read here of those that an `#include` names."""
        return [path for path in source.takes_in(source.path, written) if path in self.numbers]

    def _take(self, kind: str, token: str, start: int) -> None:
        if kind == "CONDITION":
            self._condition(token, start)
            self.counts = self.open[-1].counts if self.open else self.around
        elif self.counts is False and kind != "DEFINE":
            return
        elif kind == "DEFINE":
            self._define(token, start)
        elif kind == "CODE":
            for section, name, first, last in self.declared.take(
                start, min(start + len(token), len(self.source.data))
            ):
                self.source.setting(section, _name(name), first, last, _STATE[self.counts])
        elif kind == "UNDEF":
            name = shown(_head(token)["name"])
            self.macros.undefine(name, surely=self.counts is True)
            self._take_back(name, _STATE[_NOT[self.counts]])
        elif kind == "INCLUDE" and (found := _QUOTED.search(token)):
            own = found[0][0] == '"'
            written = shown(found[0][1:-1])
            if own or self.source.takes_in(self.source.path, written):
                self.source.include(start + found.start() + 1 - own, start + found.end() - 1 + own)
            for target in self._targets(self.source, written):
                self._read(target, self.counts)

    def _define(self, token: str, start: int) -> None:
        head, counts = _head(token), self.counts
        name, behind = _name(head["name"]), head.end()
        with_arguments = token[behind : behind + 1] == "("
        first, last = _content(token, behind)
        if counts is not False:
            if counts is None:
                self._take_back(name, State.UNDECIDED)
            text = None if with_arguments else shown(plain_text(token[first:last]))
            self.macros.define(name, text, surely=counts is True)
        if not with_arguments:
            state = _STATE[counts]
            if first == behind < last and counts is not False:
                why = "there is no blank between the name and its text, so an edit might reach into the name"
                self.source.doubt(start + first, start + last, why, "put a blank between them")
                state = State.UNDECIDED
            elif counts:
                number = len(self.source.keys) * len(self.sources) + self.numbers[self.source.path]
                if name in self.last:
                    self.before[number] = self.last[name]
                self.last[name] = number
            self.source.setting("", name, start + first, start + last, state)

    def _take_back(self, name: str, state: State) -> None:
        """Marks all settings of a name that were in force so far."""
        number = self.last.pop(name, None)
        while number is not None:
            at, file = divmod(number, len(self.sources))
            self.sources[file].states[at] = state
            number = self.before.pop(number, None)

    def _condition(self, token: str, start: int) -> None:
        head = _head(token)
        word = head["word"]
        if word.startswith("if"):
            self.open.append(_Branch(self.counts, self._holds(word, token[head.end("word") :])))
        elif not self.open:
            self.source.doubt(start, start + len(token), f"`#{word}` has no `#if` before it", "take it out")
        elif word == "endif":
            self.open.pop()
        else:
            behind = token[head.end("word") :]
            self.open[-1].turn(True if word == "else" else self._holds(word.removeprefix("el"), behind))

    def _holds(self, word: str, behind: str) -> bool | None:
        text = shown(plain_text(behind))
        if word == "if":
            return self.macros.holds(text)
        known = self.macros.defined(text.split(maxsplit=1)[0] if text else "")
        return known if word == "ifdef" else _NOT[known]

    def _resolve(self, source: Source) -> None:
        """Adds what the values of settings come to, where that is not what is written."""
        for number, state in enumerate(source.states):
            if state is State.INACTIVE or not _NAMES_OR_SPLICES.search(value := source.value(number)):
                continue
            resolved = self.macros.resolve(source.keys[number], plain_text(value))
            if resolved != value:
                source.resolved[number] = resolved


def _head(token: str) -> re.Match[str]:
    found = _HEAD.match(token)
    assert found is not None, "the grammar says that a directive begins so"
    return found


def _name(text: str) -> str:
    """A name as people read it, the same object wherever the files have it: a large file has it often."""
    return intern(shown(text))


def _content(token: str, behind: int) -> tuple[int, int]:
    """From the first to the last character of content behind a name; an empty span just behind it for none."""
    if not _INTRICATE.search(token, behind):
        text = token[behind:].partition("//")[0].rstrip(BLANKS + "\r\n")
        return (
            (behind + len(text) - len(text.lstrip(BLANKS)), behind + len(text)) if text else (behind, behind)
        )
    content = [part for part in _PART.finditer(token, behind) if part["content"]]
    return (content[0].start(), content[-1].end()) if content else (behind, behind)


def plain_text(text: str) -> str:
    """A text with each comment and each escaped line end as one blank."""
    if text.isalnum():
        return text
    if not _INTRICATE.search(text):
        return _RUN.sub(" ", text.partition("//")[0]).strip()
    return "".join(part["content"] or " " for part in _PART.finditer(text)).strip()


def read_together(
    files: Sequence[tuple[str, bytes]], takes_in: TakesIn = takes_in_nothing
) -> tuple[Document, ...]:
    """Reads files, each a path and its bytes, in the order in which the preprocessor comes to them; gives
    them in the given order. Raises BadInput where one is not plain text."""
    sources = [Source(path, data, takes_in) for path, data in files]
    if sources:
        _HeaderReader(sources).read()
    return tuple(source.document("header") for source in sources)


def read(path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> Document:
    """Reads a file by itself. Raises BadInput where it is not plain text; never where C is not understood."""
    return read_together([(path, data)], takes_in)[0]


def likelihood(text: str) -> float:
    """How much of a text reads as preprocessor lines and constants, 0 to 1. Without a `#define` or several constants
    it is not.

    Other code beside them counts a little against it: a file of declarations of other things holds no settings.
    """
    count = dict.fromkeys(_KINDS, 0)
    constants = 0
    for kind, token in tokens("header", text):
        count[kind] += 1
        constants += kind == "CODE" and declares(token)
    known = count["DEFINE"] + count["UNDEF"] + count["CONDITION"] + count["INCLUDE"] + constants
    code = count["CODE"] - constants
    holds = count["DEFINE"] or constants >= SEVERAL
    return known / (known + 2 * count["DIRECTIVE"] + code / 4) if holds else 0.0
