"""Lines of a file before and after its edits, cut into marked and unmarked pieces.

Everything here follows from the old bytes and the edits: a changed line stands twice, as it was and as it
becomes, and only the replaced span is marked. `excerpt` gives the lines around some edits, `side_by_side`
pairs the lines of the whole file.

This module deliberately compares nothing: what changed is known, it is not found again by guessing.
Texts of the pieces are inert already.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from enum import StrEnum

from msgspec import Struct

from cfgmigrate.dialects.document import readable
from cfgmigrate.plan.edits import new_bytes
from cfgmigrate.plan.model import Edit
from cfgmigrate.reports.safe_text import LIMIT, inert

CONTEXT = 2
WHOLE_FILE_LINES = 4000
"""Above this many lines what lies further from the edits is folded away."""
WIDE_CONTEXT = 40


class Side(StrEnum):
    """Which file a line stands in."""

    BOTH = "same"
    OLD = "old"
    NEW = "new"


class Part(Struct, frozen=True):
    """A stretch of a line; `marked` where an edit replaces it or has put it there."""

    text: str
    marked: bool = False


class Line(Struct, frozen=True):
    """One line as shown. `number` counts from 1 in the file that the line stands in."""

    number: int
    side: Side
    parts: tuple[Part, ...]

    @property
    def text(self) -> str:
        return "".join(part.text for part in self.parts)


class Pair(Struct, frozen=True):
    """A line of the old file beside its counterpart. Where both are None, `folded` is a stretch of lines, as
    the old file has them, that are the same in both and may be shown folded away."""

    old: Line | None
    new: Line | None
    folded: tuple[Line, ...] = ()

    @property
    def same(self) -> bool:
        return self.old is not None and self.old.side is Side.BOTH


class _Block(Struct, frozen=True):
    """Neighbouring lines `first`..`last` (indices, inclusive) that edits touch."""

    first: int
    last: int
    edits: tuple[Edit, ...]


def excerpt(before: bytes, edits: Sequence[Edit], context: int = CONTEXT) -> list[list[Line]]:
    """The edited lines with `context` lines around them: one list of lines for each group of edits."""
    starts = _line_starts(before)
    groups: list[list[Line]] = []
    shown_to = -1
    blocks = _blocks(before, starts, edits)
    for index, block in enumerate(blocks):
        from_line = max(block.first - context, 0)
        if not groups or from_line > shown_to + 1:
            groups.append([])
        lines = groups[-1]
        lines += _same(before, starts, range(max(from_line, shown_to + 1), block.first))
        lines += _old_lines(before, starts, block)
        lines += _new_lines(before, starts, block, shift=0)
        after = blocks[index + 1].first if index + 1 < len(blocks) else len(starts)
        shown_to = min(block.last + context, after - 1)
        lines += _same(before, starts, range(block.last + 1, shown_to + 1))
    return groups


def side_by_side(before: bytes, edits: Sequence[Edit]) -> Iterator[Pair]:
    """Every line of the file, old beside new; in a very long file those far from the edits are folded."""
    starts = _line_starts(before)
    whole = len(starts) <= WHOLE_FILE_LINES
    shift = 0
    position = 0
    for block in _blocks(before, starts, edits):
        yield from _stretch(before, starts, position, block.first, shift, whole)
        old = _old_lines(before, starts, block)
        new = _new_lines(before, starts, block, shift)
        for index in range(max(len(old), len(new))):
            yield Pair(
                old[index] if index < len(old) else None,
                new[index] if index < len(new) else None,
            )
        shift += len(new) - len(old)
        position = block.last + 1
    yield from _stretch(before, starts, position, len(starts), shift, whole)


def _stretch(
    before: bytes, starts: Sequence[int], first: int, end: int, shift: int, whole: bool
) -> Iterator[Pair]:
    """Equal lines `first`..`end` (exclusive); in a long file those in the middle are folded."""
    head = first if first == 0 else first + WIDE_CONTEXT
    tail = end if end == len(starts) else end - WIDE_CONTEXT
    if whole or head >= tail:
        head = tail = end
    for line in _same(before, starts, range(first, head)):
        yield Pair(line, Line(line.number + shift, Side.BOTH, line.parts))
    if head < tail:
        yield Pair(None, None, tuple(_same(before, starts, range(head, tail))))
        for line in _same(before, starts, range(tail, end)):
            yield Pair(line, Line(line.number + shift, Side.BOTH, line.parts))


def _line_starts(data: bytes) -> list[int]:
    starts: list[int] = []
    position = 0
    for line in data.splitlines(keepends=True):
        starts.append(position)
        position += len(line)
    return starts


def _span(data: bytes, starts: Sequence[int], index: int) -> tuple[int, int]:
    """A line's bytes without its line end."""
    start = starts[index]
    end = starts[index + 1] if index + 1 < len(starts) else len(data)
    return start, start + len(data[start:end].rstrip(b"\r\n"))


def _blocks(data: bytes, starts: Sequence[int], edits: Iterable[Edit]) -> list[_Block]:
    """The edits grouped by the lines they touch, in the order of the file."""
    blocks: list[_Block] = []
    for edit in sorted(edits, key=lambda edit: edit.start):
        first = max(bisect_right(starts, edit.start) - 1, 0)
        last = max(bisect_right(starts, max(edit.end - 1, edit.start)) - 1, first)
        if blocks and first <= blocks[-1].last:
            joined = blocks.pop()
            blocks.append(_Block(joined.first, max(joined.last, last), (*joined.edits, edit)))
        else:
            blocks.append(_Block(first, last, (edit,)))
    return blocks


def _same(data: bytes, starts: Sequence[int], indices: range) -> list[Line]:
    return [
        Line(index + 1, Side.BOTH, (Part(inert(readable(data[slice(*_span(data, starts, index))]))),))
        for index in indices
    ]


def _old_lines(data: bytes, starts: Sequence[int], block: _Block) -> list[Line]:
    raw = _pieces(data, starts, block, lambda edit: data[edit.start : edit.end])
    return _as_lines(raw, block.first + 1, Side.OLD)


def _new_lines(data: bytes, starts: Sequence[int], block: _Block, shift: int) -> list[Line]:
    raw = _pieces(data, starts, block, lambda edit: new_bytes(edit))
    return _as_lines(raw, block.first + 1 + shift, Side.NEW)


def _pieces(
    data: bytes, starts: Sequence[int], block: _Block, put: Callable[[Edit], bytes]
) -> list[tuple[bytes, bool]]:
    """The block's bytes as (bytes, marked), with `put(edit)` where an edit stands."""
    position = starts[block.first] if starts else 0
    end = _span(data, starts, block.last)[1] if starts else 0
    pieces: list[tuple[bytes, bool]] = []
    for edit in block.edits:
        pieces += [(data[position : edit.start], False), (put(edit), True)]
        position = edit.end
    return [*pieces, (data[position:end], False)]


def _as_lines(pieces: Sequence[tuple[bytes, bool]], number: int, side: Side) -> list[Line]:
    lines: list[list[tuple[bytes, bool]]] = [[]]
    for raw, marked in pieces:
        first, *rest = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
        lines[-1].append((first, marked))
        lines += [[(more, marked)] for more in rest]
    return [Line(number + index, side, _parts(line)) for index, line in enumerate(lines)]


def _parts(pieces: Sequence[tuple[bytes, bool]]) -> tuple[Part, ...]:
    """The pieces of one line as inert text. Of a long piece that part stays which is next to a mark."""
    budget = LIMIT if len(pieces) == 1 else LIMIT // 2
    parts: list[Part] = []
    for index, (raw, marked) in enumerate(pieces):
        before_a_mark = index == 0 and len(pieces) > 1
        text = inert(readable(raw), budget, "end" if before_a_mark else "start")
        if text:
            parts.append(Part(text, marked))
    return tuple(parts)
