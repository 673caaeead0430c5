"""A configuration file as it is: its bytes, and where in them each setting stands.

A `Document` never re-prints anything. It keeps the file's own bytes and says, as byte spans, what each
stretch of them is (`pieces`, which joined are the whole file) and where the value of each setting stands
(`settings`). An edit replaces one such span and leaves every other byte alone.

Files are decoded as Latin-1 for parsing, because there one character is one byte: positions from the
parser are byte offsets, bytes that are not UTF-8 survive, and no line end is changed. The text handed to
people (`Setting.key`, `.value`) is decoded again as UTF-8, with bytes that don't fit shown as escapes.

This module deliberately knows no syntax (that is in `grammars/` and the dialect modules) and no meaning
(that is in `machine/`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from enum import StrEnum
from functools import cached_property
from typing import Any, TypeVar

from msgspec import Struct

from cfgmigrate.ground.findings import Doubt, Place

T = TypeVar("T")


class State(StrEnum):
    """Whether a setting is in force. Only an active one may be edited."""

    ACTIVE = "active"
    INACTIVE = "inactive"
    UNDECIDED = "undecided"


class Piece(Struct, frozen=True):
    """A stretch of the file, `start` to `end` in bytes, and what the grammar calls it."""

    kind: str
    start: int
    end: int


class Setting(Struct, frozen=True):
    """One key with its value.

    `section` is "" where the dialect has none. `value` is the value as a person reads it, without a
    trailing comment; `start` and `end` are its byte span in the file; `line` and `column` (in
    characters, from 1) are where that span begins. A value that runs over several lines keeps its line
    ends and indentation. `state` says whether it is in force. In the `command` dialect `section` is the
    line's code and `key` the word's letter.

    `resolved` is what the value comes to where it is not what is written: the text behind a name that was
    defined elsewhere, a number written with blanks in it; else "". `saved` is true in a block that the
    machine itself wrote behind comment markers at the end of the file. `behind` is the byte span where the value's
    text stands if that is not at `start`: an alias stands there, and the setting is never edited.
    """

    section: str
    key: str
    value: str
    start: int
    end: int
    line: int
    column: int
    state: State = State.ACTIVE
    resolved: str = ""
    saved: bool = False
    behind: tuple[int, int] | None = None

    @property
    def at(self) -> int:
        """A number that no other setting of the file has: where it begins, and of those of one alias where their texts are."""
        return self.start if self.behind is None else self.start + (self.behind[0] + 1 << 32)

    @property
    def name(self) -> str:
        """The setting as a names file spells it: `[section] key`, or the key alone."""
        return f"[{self.section}] {self.key}" if self.section else self.key


class Include(Struct, frozen=True):
    """A line that takes in other files: their path or pattern as written, where it stands, and which `files` it
    takes in (paths relative to the root, in their order; none where they are not there)."""

    target: str
    start: int
    end: int
    line: int
    column: int
    files: tuple[str, ...] = ()


#: Which files an include line takes in, by the path of the file it stands in and its target as written. Where
#: files are looked for is said in `files/`; a dialect only asks.
TakesIn = Callable[[str, str], tuple[str, ...]]


def takes_in_nothing(_: str, __: str) -> tuple[str, ...]:
    """For a file that is read by itself: what it includes is not looked for."""
    return ()


class MadeWhenAsked(Sequence[T]):
    """A sequence of which the length is known, and the rest is made, once, when it is asked for.

    A setting with its place takes ten times the room of the line it stands in, and of a large file, such as a long
    script, most are never looked at.
    """

    def __init__(self, length: int, make: Callable[[], Iterable[T]]) -> None:
        self._length = length
        self._make = make

    @cached_property
    def _made(self) -> tuple[T, ...]:
        return tuple(self._make())

    def __len__(self) -> int:
        return self._length

    def __iter__(self) -> Iterator[T]:
        return iter(self._made)

    def __getitem__(self, at: Any) -> Any:
        return self._made[at]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._made == tuple(other)

    def __hash__(self) -> int:
        return hash(self._made)


class Document(Struct, frozen=True, dict=True):
    """A file that was read. `path` is relative to the configuration's root, with forward slashes. `own_words` is what
    words of its scripts mean that no standard has, as the user said it; `feeds_by` is the letter that moves the filament in its
    scripts, where that alone was said. `commas` is true where its numbers have a comma for
    a point; the settings' values are then in points (`decimal_commas.py`)."""

    path: str
    data: bytes
    dialect: str
    pieces: Sequence[Piece]
    settings: Sequence[Setting]
    doubts: tuple[Doubt, ...] = ()
    includes: tuple[Include, ...] = ()
    own_words: tuple[tuple[str, str], ...] = ()
    commas: bool = False
    feeds_by: str = ""

    @property
    def lines(self) -> int:
        """How many lines the file has; a last line without a line end counts."""
        ends = self.data.count(b"\n") + self.data.count(b"\r") - self.data.count(b"\r\n")
        return ends + (1 if self.data and self.data[-1:] not in b"\r\n" else 0)

    def place(self, setting: Setting) -> Place:
        return Place(self.path, setting.line, setting.column)

    def slice(self, start: int, end: int) -> str:
        """The text of a byte span, as a person reads it."""
        return readable(self.data[start:end])


def readable(raw: bytes) -> str:
    """Bytes as text: UTF-8 where they are that, and escapes such as `\\xb5` where they are not."""
    return raw.decode("utf-8", errors="backslashreplace")
