"""Where the values that were changed stand in a file that was edited since, and what to put back there.

For every changed span the question is: is what was installed still there? Three answers are tried in turn.

    its line    the line is as it was left, perhaps at another place: lines are aligned as a diff does
    its name    the file is read again in its dialect, and the setting has the same section and key
    its rest    where the file can't be read any more, the rest of the line is as it was left

A value found is still what was installed, is back at what was there before, or was changed again: that
last one is a conflict, and so is a value that can't be found. Nothing is settled here in silence.

This module is pure: bytes in, findings and bytes out. It uses no rule and no list of quantities.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from enum import StrEnum
from functools import lru_cache
from itertools import accumulate, takewhile

from msgspec import Struct

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.align import align
from cfgmigrate.plan.edits import Draft, FileStep, Span

_TOKEN = pattern(rb"[^\s,;:=\[\](){}]+")

_NUMBER = pattern(rb"[+-]?\.?[0-9][0-9.]*(?:[eE][+-]?[0-9]+)?$")


class SpanState(StrEnum):
    """How a changed value stands now."""

    INSTALLED = "as installed"
    OLD = "as it was before"
    CHANGED = "changed since"
    GONE = "not found now"


class LocatedSpan(Struct, frozen=True):
    """One changed span in the present file. `start` and `end` hold `present` there; putting it back means
    `old` in its place, and what was installed there is `installed`. For GONE the span is empty."""

    span: Span
    state: SpanState
    start: int
    end: int
    old: bytes
    installed: bytes
    present: bytes


class HandEdit(Struct, frozen=True):
    """Lines of the present file (from `line`, counted from 1, and from the byte `start`) that somebody edited
    since."""

    line: int
    start: int
    installed: bytes
    present: bytes


def locate(step: FileStep, present: bytes) -> tuple[LocatedSpan, ...]:
    """Every span of `step` in the present file, in the order of the step."""
    if present == step.after:
        return tuple(_found(step, span, present, span.after_start) for span in step.spans)
    search = _Search(step, present)
    return tuple(search.find(span) for span in step.spans)


def undo(draft: Draft, found: Iterable[LocatedSpan], name: Callable[[LocatedSpan], str]) -> None:
    """Put the old text of these values back into a draft of the file in which they were found; `name` says how the
    draft is to call each. Of two that lie over each other the later one is put back."""
    reached = len(draft.data) + 1
    for each in sorted(found, key=lambda each: (each.start, each.end), reverse=True):
        if each.end <= reached and each.start < reached:
            draft.replace(name(each), each.start, each.end, each.old)
            reached = each.start


def hand_edits(step: FileStep, present: bytes, found: Iterable[LocatedSpan]) -> tuple[HandEdit, ...]:
    """What was edited since outside of the changed values."""
    values = [each for each in found if each.state is not SpanState.GONE]
    left, now = _lines(step.after), _lines(present)
    left_starts, now_starts = _starts(left), _starts(now)
    edits: list[HandEdit] = []
    for tag, i1, i2, j1, j2 in align(left, now):
        was = step.after[left_starts[i1] : left_starts[i2]]
        start, end = now_starts[j1], now_starts[j2]
        inside = [each for each in values if start <= each.start and each.end <= end]
        parts = [(each.start - start, each.end - start, each.installed) for each in inside]
        if tag != "equal" and (undone := _replaced(present[start:end], parts)) != was:
            head, tail = _alike(_lines(was), _lines(undone))
            edits.append(
                HandEdit(
                    j1 + 1 + head,
                    now_starts[j1 + head],
                    step.after[left_starts[i1 + head] : left_starts[i2 - tail]],
                    present[now_starts[j1 + head] : now_starts[j2 - tail]],
                )
            )
    return tuple(edits)


def _alike(one: list[bytes], other: list[bytes]) -> tuple[int, int]:
    """How many lines are the same at the beginning and, of the rest, at the end."""
    head = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))
    rest = zip(reversed(one[head:]), reversed(other[head:]), strict=False)
    return head, sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], rest))


def put_back(edit: HandEdit, found: Iterable[LocatedSpan]) -> bytes:
    """The edited lines as they are once these values have their old text again."""
    end = edit.start + len(edit.present)
    inside = [each for each in found if edit.start <= each.start and each.end <= end]
    return _replaced(
        edit.present, ((each.start - edit.start, each.end - edit.start, each.old) for each in inside)
    )


def line_of(data: bytes, offset: int) -> int:
    """The number of the line, from 1, in which a byte stands; LF, CR and CRLF each end one."""
    before = data[:offset]
    return before.count(b"\n") + before.count(b"\r") - before.count(b"\r\n") + 1


def _replaced(data: bytes, parts: Iterable[tuple[int, int, bytes]]) -> bytes:
    """`data` with parts replaced; parts that are named twice alike count once."""
    pieces: list[bytes] = []
    reached = 0
    for start, end, new in sorted(set(parts)):
        if start < reached:
            continue
        pieces += [data[reached:start], new]
        reached = end
    return b"".join([*pieces, data[reached:]])


def _lines(data: bytes) -> list[bytes]:
    return data.splitlines(keepends=True)


def _old(step: FileStep, span: Span) -> bytes:
    return (step.before or b"")[span.before_start : span.before_end]


def _installed(step: FileStep, span: Span) -> bytes:
    return step.after[span.after_start : span.after_end]


def _found(step: FileStep, span: Span, present: bytes, start: int, length: int | None = None) -> LocatedSpan:
    """The span at `start` of the present file, whatever stands there."""
    old, installed = _old(step, span), _installed(step, span)
    end = start + (len(installed) if length is None else length)
    here = present[start:end]
    return LocatedSpan(span, _state(here, installed, old), start, end, old, installed, here)


def _state(here: bytes, installed: bytes, old: bytes) -> SpanState:
    """How a value stands that is `here`; one number written otherwise is the same one."""
    if here == installed or (here != old and _one_number(here, installed)):
        return SpanState.INSTALLED
    return SpanState.OLD if here == old or _one_number(here, old) else SpanState.CHANGED


def _one_number(one: bytes, other: bytes) -> bool:
    return bool(_NUMBER.match(one) and _NUMBER.match(other)) and _number(one) == _number(other)


def _number(text: bytes) -> float | bytes:
    try:
        return float(text)
    except ValueError:  # two points
        return text


class _Search:
    """The comparison of one file as it was left with the same file now."""

    def __init__(self, step: FileStep, present: bytes) -> None:
        self.step = step
        self.present = present
        self.left_lines = _lines(step.after)
        self.now_lines = _lines(present)
        self.left_starts = _starts(self.left_lines)
        self.now_starts = _starts(self.now_lines)
        self.opcodes = align(self.left_lines, self.now_lines)
        self.left = _document(step.path, step.after, step.dialect)
        self.now = _document(step.path, present, step.dialect)

    def find(self, span: Span) -> LocatedSpan:
        return (
            self._by_line(span)
            or self._by_name(span)
            or self._by_rest(span)
            or LocatedSpan(
                span, SpanState.GONE, 0, 0, _old(self.step, span), _installed(self.step, span), b""
            )
        )

    def _by_line(self, span: Span) -> LocatedSpan | None:
        """The lines of the span, unchanged, at their place or another."""
        for tag, i1, i2, j1, _ in self.opcodes:
            if tag != "equal" or i1 == i2:
                continue
            start, end = self.left_starts[i1], self.left_starts[i2]
            if start <= span.after_start and span.after_end <= end:
                moved = self.now_starts[j1] + span.after_start - start
                if self._named_alike(span, moved):
                    return _found(self.step, span, self.present, moved)
        return None

    def _named_alike(self, span: Span, moved: int) -> bool:
        if self.left is None or self.now is None:
            return True
        then, now = _setting(self.left, span.after_start), _setting(self.now, moved)
        if then is None or now is None:
            return then is now
        return (then.section, then.key, then.state) == (now.section, now.key, now.state)

    def _by_name(self, span: Span) -> LocatedSpan | None:
        """The setting of the same name. Where a name stands several times, as many must stand there now."""
        if self.left is None or self.now is None:
            return None
        then = _setting(self.left, span.after_start)
        if then is None:
            return None
        mine = [each for each in self.left.settings if _same(each, then)]
        others = [each for each in self.now.settings if _same(each, then)]
        if len(others) != len(mine):
            return None
        now = others[mine.index(then)]
        return self._in_value(span, then, now)

    def _in_value(self, span: Span, then: Setting, now: Setting) -> LocatedSpan:
        """The span within its setting's value: as the same word of it, or else the whole value."""
        left, here = self.step.after[then.start : then.end], self.present[now.start : now.end]
        words, others = list(_TOKEN.finditer(left)), list(_TOKEN.finditer(here))
        start, end = span.after_start - then.start, span.after_end - then.start
        for word, other in zip(words, others, strict=False):
            if not (word.start() <= start and end <= word.end() and _comparable(words, others)):
                continue
            head, tail = left[word.start() : start], left[end : word.end()]
            length = len(other.group()) - len(head) - len(tail)
            if length >= 0 and other.group().startswith(head) and other.group().endswith(tail):
                return _found(self.step, span, self.present, now.start + other.start() + len(head), length)
        return self._whole_value(span, then, now)

    def _whole_value(self, span: Span, then: Setting, now: Setting) -> LocatedSpan:
        left, here = self.step.after[then.start : then.end], self.present[now.start : now.end]
        old = self._value_before(then)
        return LocatedSpan(span, _state(here, left, old), now.start, now.end, old, left, here)

    def _value_before(self, then: Setting) -> bytes:
        """A setting's value with all of its changed spans put back."""
        spans = [
            span for span in self.step.spans if then.start <= span.after_start and span.after_end <= then.end
        ]
        return _replaced(
            self.step.after[then.start : then.end],
            (
                (span.after_start - then.start, span.after_end - then.start, _old(self.step, span))
                for span in spans
            ),
        )

    def _by_rest(self, span: Span) -> LocatedSpan | None:
        """A changed line whose rest is as it was; only where the file can't be read in its dialect."""
        if self.left is not None and self.now is not None:
            return None
        for tag, i1, i2, j1, j2 in self.opcodes:
            if tag != "replace" or i2 - i1 != j2 - j1:
                continue
            for i, j in zip(range(i1, i2), range(j1, j2), strict=True):
                start, line, here = self.left_starts[i], self.left_lines[i], self.now_lines[j]
                if not start <= span.after_start <= span.after_end <= start + len(line):
                    continue
                head, tail = line[: span.after_start - start], line[span.after_end - start :]
                length = len(here) - len(head) - len(tail)
                if length >= 0 and head.strip() and here.startswith(head) and here.endswith(tail):
                    return _found(self.step, span, self.present, self.now_starts[j] + len(head), length)
        return None


def _starts(lines: Iterable[bytes]) -> list[int]:
    """Where each line begins, and where the last one ends."""
    return [0, *accumulate(len(line) for line in lines)]


@lru_cache(maxsize=4)  # many entries of a history left the same file
def _document(path: str, data: bytes, dialect: str) -> Document | None:
    """The file read in its dialect, None where it can't be, or where none is told."""
    try:
        return read(path, data, dialect)
    except CfgError:
        return None


def _setting(document: Document, offset: int) -> Setting | None:
    """The setting whose value holds a byte."""
    return next((each for each in document.settings if each.start <= offset <= each.end), None)


def _comparable(words: list[re.Match[bytes]], others: list[re.Match[bytes]]) -> bool:
    """Whether two values have as many words, and the same ones where they are no numbers (units, say)."""
    return len(words) == len(others) and all(
        word.group() == other.group() or (_NUMBER.match(word.group()) and _NUMBER.match(other.group()))
        for word, other in zip(words, others, strict=True)
    )


def _same(one: Setting, other: Setting) -> bool:
    return (one.section, one.key, one.state) == (other.section, other.key, other.state)
