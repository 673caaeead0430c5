"""Which file is read after which, where a line says so in words: `read after this = later.txt`, `then = panel.txt`, or a remark at a
file's head: `counts after the other`, `later.txt wins`.

What is read later overrides what stands before, whatever it is called there. Only a file that is here counts, and only words of
an order: a name alone may be a manual's. A remark that names no file speaks of all others that don't say the same of themselves.

This module looks at documents and names only. What the order does to values is the matter of `machine/precedence.py`, and to the
lights that of `plan/kept_by_board.py`. Include lines have an order of their own (`order.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State, readable
from cfgmigrate.ground.pattern import pattern

#: so many lines at the top of a file may tell when it is read
_HEAD_LINES = 12
_LONGEST_REMARK = 300
_REMARK = pattern(r"[ \t]*(?:[#;*!]|//|--)[ \t#;*/!-]*(?P<text>.*)")
_LINE_END = pattern(rb"\r\n?|\n")
#: words of a key by which the file that it names is read behind this one, and those that turn them round
_AFTER = pattern(
    r"(?i)(?<![a-z])(?:after(?:wards?)?|then|last|lastly|later|next|finally|behind|over|overrides?|overrul(?:es?|ing)|wins?|on top|follow(?:s|ed|ing)?)(?![a-z])"
)
_BEFORE = pattern(
    r"(?i)(?<![a-z])(?:before|first|earlier|overridden by|overruled by|below|under|saved?|written|keeps?)(?![a-z])"
)
#: what a remark says of a file that holds over others
_HOLDS = pattern(
    r"(?i)(?<![a-z])(?:(?:counts?|holds?|reads?|comes?|loaded|taken|applied|used|goes|is)(?:[ \t]+in)?[ \t]+(?:after|last|over|later|behind|on top)"
    r"|wins?|overrides?|overrules?|beats?)(?![a-z])"
)
_DENIED = pattern(
    r"(?i)(?<![a-z])(?:not|never|no longer|isn.?t|doesn.?t|don.?t|if|unless|should|could|used to)(?![a-z])"
)


class ReadAfter(Struct, frozen=True):
    """`later` is read after `earlier`, as `line` of the file `by` says."""

    earlier: str
    later: str
    by: str
    line: int

    @property
    def where(self) -> str:
        return f"{self.by}:{self.line}"


def read_after(documents: Sequence[Document]) -> Mapping[str, Mapping[str, ReadAfter]]:
    """For each file the ones that are read after it, and the line that says so of each; none that would go in a circle."""
    found: dict[str, dict[str, ReadAfter]] = {}
    for said in (*_by_settings(documents), *_by_remarks(documents)):
        if said.earlier in (said.later, *found.get(said.later, ())):
            continue
        before = [said.earlier, *(path for path, after in found.items() if said.earlier in after)]
        behind = {said.later: said, **found.get(said.later, {})}
        for path in before:
            for later, line in behind.items():
                if later != path:
                    found.setdefault(path, {}).setdefault(later, line)
    return found


def _by_settings(documents: Sequence[Document]) -> Iterator[ReadAfter]:
    """The files that settings name: each behind this one, and behind those that lines above it name."""
    for document in documents:
        above: list[str] = []
        for setting in document.settings:
            key = f"{setting.section} {setting.key}".replace("_", " ")
            active = setting.state is State.ACTIVE and "." in setting.value
            if not active or not _AFTER.search(key) or _BEFORE.search(key):
                continue
            if later := _path(setting.value, document.path, documents):
                yield from (
                    ReadAfter(path, later, document.path, setting.line) for path in (document.path, *above)
                )
                above.append(later)


def _by_remarks(documents: Sequence[Document]) -> Iterator[ReadAfter]:
    """What remarks at the heads say: of their own file, or of one that they name first."""
    alone: dict[str, int] = {}
    for document in documents:
        others = [each for each in documents if each.path != document.path]
        for number, text in _head(document):
            holds = _HOLDS.search(text)
            if holds is None or _DENIED.search(text):
                continue
            first = _named(text[: holds.start()], others)
            second = _named(text[holds.end() :], others)
            if first and not second:
                yield ReadAfter(document.path, first, document.path, number)
            elif second and not first:
                yield ReadAfter(second, document.path, document.path, number)
            elif not first and not _of_a_part(text[: holds.start()]):
                alone.setdefault(document.path, number)
    for path, number in alone.items():
        for document in documents:
            if document.path not in alone and document.dialect != "command":
                yield ReadAfter(document.path, path, path, number)


def _of_a_part(said: str) -> bool:
    """Whether a remark speaks of something that holds, `the narrower one counts over …`, and not of its file."""
    last = said.replace(",", ".").replace(";", ".").replace(":", ".").rpartition(".")[2]
    return bool(last.strip()) and not {"file", "this", "these", "mine"} & set(last.casefold().split())


def _head(document: Document) -> Iterator[tuple[int, str]]:
    if document.dialect == "command":
        return
    for number, line in enumerate(_LINE_END.split(document.data, _HEAD_LINES)[:_HEAD_LINES], 1):
        if found := _REMARK.fullmatch(readable(line[:_LONGEST_REMARK])):
            yield number, found["text"]


def _named(text: str, others: Sequence[Document]) -> str:
    """The path of the only other file that a text names by its whole name."""
    words = text.casefold()
    found = [each.path for each in others if each.path.rpartition("/")[2].casefold() in words]
    return found[0] if len(found) == 1 else ""


def _path(value: str, by: str, documents: Sequence[Document]) -> str:
    """The path of the file that a value names, beside who names it or at the root; "" for none that is read here."""
    plain = value.strip().strip("\"'").replace("\\", "/").removeprefix("./")
    folder = by.rpartition("/")[0]
    beside = f"{folder}/{plain}" if folder else plain
    there = {each.path for each in documents if each.dialect != "command"} - {by}
    return next((path for path in (beside, plain) if path in there), "")
