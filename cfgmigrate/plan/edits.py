"""Edits put into a file's bytes, and where each byte stands afterwards.

An edit replaces exactly the bytes of one value: the result is the original sliced and joined again, and
nothing is printed anew. Each edit says what it expects to find, and is refused where that is not there. Where a
byte goes under edits is asked of `Offsets`, which nothing else works out for itself.

This module deliberately knows no dialect and no disk.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import Struct

from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.plan.model import Change, Edit


class Span(Struct, frozen=True, array_like=True, gc=False):
    """Where the value of that `name` (`identity.py`) stood in the file before (bytes), and where it stands after."""

    name: str
    before_start: int
    before_end: int
    after_start: int
    after_end: int

    @property
    def growth(self) -> int:
        return self.after_end - self.after_start - (self.before_end - self.before_start)

    def to_json(self) -> list[Any]:
        return [self.name, self.before_start, self.before_end, self.after_start, self.after_end]


class Offsets(Struct, frozen=True):
    """Where the places between the spans of an edited file go, and where they came from."""

    spans: Sequence[Span]

    def after(self, at: int) -> int:
        """Where a place of the file before, outside of every span or at an end of one, is after."""
        return at + sum(span.growth for span in self.spans if span.before_end <= at)

    def before(self, at: int) -> int:
        """Where a place of the file after, outside of every span or at an end of one, was before."""
        return at - sum(span.growth for span in self.spans if span.after_end <= at)


class FileStep(Struct, frozen=True):
    """One file's way from `before` to `after`, which differ in `spans` and nowhere else.

    `before` is None where there was no such file. Spans stand in the order of the file.
    """

    path: str
    dialect: str
    before: bytes | None
    after: bytes
    spans: tuple[Span, ...]


def apply_edits(data: bytes, edits: Sequence[Edit]) -> bytes:
    """`data` with every edit carried out. Spans count bytes of `data`; their order does not matter.

    Raises Refused where a span does not hold the edit's old text, or two spans overlap.
    """
    pieces: list[bytes] = []
    reached = 0
    for edit in sorted(edits, key=lambda edit: (edit.start, edit.end)):
        place = Place(edit.file, edit.line, edit.column)
        if edit.start < reached:
            raise Refused("two changes want the same text", place)
        if not edit.start <= edit.end <= len(data):
            raise Refused("the change points past the end of the file", place)
        found = readable(data[edit.start : edit.end])
        if found != edit.old:
            raise Refused(f"expected {edit.old!r}, found {found!r}", place)
        pieces += [data[reached : edit.start], new_bytes(edit)]
        reached = edit.end
    return b"".join([*pieces, data[reached:]])


def new_bytes(edit: Edit) -> bytes:
    """The bytes an edit puts in."""
    return edit.new.encode("utf-8", "surrogateescape")


def edits_by_file(changes: Iterable[Change]) -> dict[str, list[Edit]]:
    """The edits of some changes, by file."""
    found: dict[str, list[Edit]] = {}
    for change in changes:
        for edit in change.edits:
            found.setdefault(edit.file, []).append(edit)
    return found


def spans_of(changes: Iterable[Change], path: str) -> tuple[Span, ...]:
    """Where the edits of `changes` to the file `path` stand before and after, in the file's order."""
    mine = [(edit, change.id) for change in changes for edit in change.edits if edit.file == path]
    spans: list[Span] = []
    shift = 0
    for edit, name in sorted(mine, key=lambda pair: (pair[0].start, pair[0].end)):
        start = edit.start + shift
        end = start + len(new_bytes(edit))
        spans.append(Span(name, edit.start, edit.end, start, end))
        shift = end - edit.end
    return tuple(spans)


class Draft:
    """A file while values in it are replaced, one after another; it knows where each stood at first.

    What is replaced over an earlier replacement, or beside one of which nothing is left, joins it: between two
    empty stretches at one place it can't be told which came first."""

    def __init__(self, data: bytes) -> None:
        self.original = data
        self.data = data
        self._spans: list[Span] = []

    def replace(self, name: str, start: int, end: int, new: bytes) -> None:
        """Put `new` in place of the bytes `start`..`end` of the draft as it is now."""
        joined = [span for span in self._spans if _meets(span, start, end)]
        offsets = Offsets(self._spans)
        first = min(
            [(start, offsets.before(start)), *((each.after_start, each.before_start) for each in joined)]
        )
        last = max([(end, offsets.before(end)), *((each.after_end, each.before_end) for each in joined)])
        growth = len(new) - (end - start)
        self.data = self.data[:start] + new + self.data[end:]
        moved = [
            span if span.after_end <= start else _shifted(span, growth)
            for span in self._spans
            if span not in joined
        ]
        self._spans = [*moved, Span(name, first[1], last[1], first[0], last[0] + growth)]

    def net_spans(self) -> tuple[Span, ...]:
        """Where the draft differs from the file, in the file's order."""
        differing = (
            span
            for span in self._spans
            if self.original[span.before_start : span.before_end]
            != self.data[span.after_start : span.after_end]
        )
        return tuple(
            sorted(differing, key=lambda span: (span.after_start, span.after_end, span.before_start))
        )


def _meets(span: Span, start: int, end: int) -> bool:
    overlaps = span.after_start < end and start < span.after_end
    nothing_left = span.after_start == span.after_end and start <= span.after_start <= end
    return overlaps or nothing_left or (span.after_start, span.after_end) == (start, end)


def _shifted(span: Span, growth: int) -> Span:
    return Span(
        span.name, span.before_start, span.before_end, span.after_start + growth, span.after_end + growth
    )
