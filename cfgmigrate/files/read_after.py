"""Which file is read after which, where a line says so in words: `read after this = later.txt`, `then = panel.txt`, or a remark at a
file's head: `counts after the other`, `later.txt wins`.

What is read later overrides what stands before, whatever it is called there. Only a file that is here counts, and only words of
an order: a name alone may be a manual's. A remark that names no file speaks of all others that don't say the same of themselves;
one that speaks of somebody else than its own file says nothing (`who_wins.py`).

By which words is told in `dialects/last_word.yaml`, with those by which a text says in general that it counts in the end.

This module looks at documents and names only. What the order does to values is the matter of `machine/precedence.py`, and to the
lights that of `plan/kept_by_board.py`. Include lines have an order of their own (`order.py`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache

from msgspec import Struct

from cfgmigrate.dialects.document import Document, State, readable
from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.files.who_wins import is_of_its_own_file, names_nobody, unfinished
from cfgmigrate.ground.pattern import pattern

#: so many lines at the top of a file may tell when it is read
_HEAD_LINES = 12
_LONGEST_REMARK = 300
_REMARK = pattern(r"[ \t]*(?:[#;*!]|//|--)[ \t#;*/!-]*(?P<text>.*)")
_LINE_END = pattern(rb"\r\n?|\n")
#: `last read` and `next load` say what was or will be done, and no order
_DONE = pattern(r"(?:last|next) (?:read|load)")
_END = r"(?=[ \t]*(?:[.,;:()!]|$|- |(?:and|here|too|where|wherever|whatever)\b))"
_OTHERS = (
    r"(?:(?:his|hers|theirs|these|those|them|(?:all )?(?:the )?(?:others?|rest)|all|all of them|everything(?: else)?|every(?: other)?)"
    rf"(?: files?| ones?| texts?)?{_END}|(?:what|whatever) )"
)
_DENIED = pattern(
    r"(?<![a-z])(?:not|never|no longer|neither|nor|hardly|cannot|(?:is|does|do|ca|wo|are)n.?t|if|unless|until|till|instead|only where"
    r"|should|could|would|may|might|used to|was|were)(?![a-z])"
)
#: words before a file's name by which something else is spoken of
_PART_OF = tuple(f" {word}" for word in ("of", "from", "in", "than", "as", "to", "by", "for", "with", "like"))
_NO_MORE = pattern(rf"[\"'`]?{_END}")
_GAPS = str.maketrans("_-./", "    ")


class _OfAnOrder(Struct):
    """The expressions of an order. Of keys: that nothing else is spoken of, that an order is, and that reading is. Of remarks: that
    their own file holds over all others, that one named before holds over theirs, and that theirs does over one named behind."""

    known: re.Pattern[str]
    order: re.Pattern[str]
    reading: re.Pattern[str]
    holds: re.Pattern[str]
    behind_it: re.Pattern[str]
    before_it: re.Pattern[str]


@cache
def _words() -> _OfAnOrder:
    said = last_word().files
    order, turn, reading = (f"(?:{each})" for each in (said.order, said.turn, said.reading))
    way = f"(?:(?:{said.before}) ){{0,2}}(?:{said.ways})"
    over = f"(?:{way} (?:{said.over})|{said.verbs})"

    def holds(whom: str, ways: str, turns: str) -> str:
        return f"(?:{over} {whom}|(?:{ways}) (?:{turns}){_END}|wins{_END})"

    this = rf"(?:{_OTHERS}|(?:this|it|that)(?: file| one)?{_END})"
    return _OfAnOrder(
        re.compile(rf"(?:(?:{order}|{turn}|{reading}|{said.beside}|\d+)(?: |$))*"),
        re.compile(rf"\b{order}\b|^ ?{turn}$|\b{turn}\b.*\b{reading}\b|\b{reading}\b.*\b{turn}\b"),
        re.compile(rf"\b{reading}\b"),
        re.compile(rf"(?<![a-z]){holds(_OTHERS, way, said.turns_alone)}"),
        re.compile(holds(this, f"{way}|{said.beside_a_name}", said.turns)),
        re.compile(rf"(?<![a-z])({over})(?: the file)? $"),
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


def read_after(
    documents: Sequence[Document], *, perhaps: bool = False
) -> Mapping[str, Mapping[str, ReadAfter]]:
    """For each file the ones that are read after it, and the line that says so of each; none that would go in a circle. Where
    `perhaps` will do, a sentence at a head that names nobody is of its own file, and a file of codes may say so as well: enough
    to ask, and not to tell which value holds."""
    found: dict[str, dict[str, ReadAfter]] = {}
    for said in (*_by_settings(documents), *_by_remarks(documents, perhaps)):
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
            active = setting.state is State.ACTIVE and "." in setting.value
            if not active or not _says_order(setting.section, setting.key):
                continue
            if later := _path(setting.value, document.path, documents):
                yield from (
                    ReadAfter(path, later, document.path, setting.line) for path in (document.path, *above)
                )
                above.append(later)


def _says_order(section: str, key: str) -> bool:
    """Whether words speak of the order in which files are read, and of nothing else. In a section of something else the key has to
    say that a file is read."""
    said, above = (" ".join(name.casefold().translate(_GAPS).split()) for name in (key, section))
    if not _words().known.fullmatch(said) or _DONE.search(said):
        return False
    if _words().known.fullmatch(above):
        return bool(said and _words().order.search(f"{above} {said}"))
    return bool(_words().order.search(said) and _words().reading.search(said))


def _by_remarks(documents: Sequence[Document], perhaps: bool) -> Iterator[ReadAfter]:
    """What remarks at the heads say: of their own file, or of one that they name first."""
    alone: dict[str, int] = {}
    by_name = _by_name(documents)
    for document in documents:
        own = rf"(?<![\w.-]){re.escape(document.path.rpartition('/')[2].casefold())}(?![\w-])"
        above = ""
        for number, remark in _head(document, perhaps):
            text = re.sub(own, "this file", remark.casefold())
            over, above = above, f"{above} {text}"
            if _DENIED.search(f"{unfinished(over)} {text}"):
                continue
            named = list(_named(text, by_name, document.path))
            first = [path for path, *around in named if _holds_over_this(*around)]
            second = [path for path, before, behind in named if _holds_this_over(before, behind, over)]
            if len(first + second) == 1:
                earlier, later = (document.path, *first) if first else (*second, document.path)
                yield ReadAfter(earlier, later, document.path, number)
            elif (
                not first + second
                and (holds := _words().holds.search(text))
                and (
                    is_of_its_own_file(before := text[: holds.start()], over)
                    or (perhaps and names_nobody(before, over))
                )
            ):
                alone.setdefault(document.path, number)
    for path, number in alone.items():
        for document in documents:
            if document.path not in alone and (perhaps or document.dialect != "command"):
                yield ReadAfter(document.path, path, path, number)


def _by_name(documents: Iterable[Document]) -> Mapping[str, Sequence[str]]:
    """The paths of files by their whole name."""
    found: dict[str, list[str]] = {}
    for document in documents:
        found.setdefault(document.path.rpartition("/")[2].casefold(), []).append(document.path)
    return found


def _named(text: str, by_name: Mapping[str, Sequence[str]], besides: str) -> Iterator[tuple[str, str, str]]:
    """The files other than `besides` that a text names by a whole name of their own: the path, and what stands before the name and
    behind it."""
    for name, paths in by_name.items():
        others = [path for path in paths if path != besides]
        if (
            len(others) == 1
            and name in text
            and (at := re.search(rf"(?<![\w.-]){re.escape(name)}(?![\w-])", text))
        ):
            yield others[0], text[: at.start()], text[at.end() :]


def _holds_over_this(before: str, behind: str) -> bool:
    """Whether a remark says of the file named between the two, and not of something in it, that it holds over this one."""
    said = behind.lstrip("\"'` \t")
    return _words().behind_it.match(said) is not None and not before.rstrip("\"'` \t").endswith(_PART_OF)


def _holds_this_over(before: str, behind: str, above: str) -> bool:
    """Whether a remark says of this file that it holds over the one named between the two."""
    holds = _words().before_it.search(before.rstrip("\"'`"))
    return (
        holds is not None
        and _NO_MORE.match(behind) is not None
        and is_of_its_own_file(before[: holds.start()], above)
    )


def _head(document: Document, perhaps: bool) -> Iterator[tuple[int, str]]:
    if document.dialect == "command" and not perhaps:
        return
    for number, line in enumerate(_LINE_END.split(document.data, _HEAD_LINES)[:_HEAD_LINES], 1):
        if found := _REMARK.fullmatch(readable(line[:_LONGEST_REMARK])):
            yield number, found["text"]


def _path(value: str, by: str, documents: Sequence[Document]) -> str:
    """The path of the file that a value names, beside who names it or at the root; "" for none that is read here."""
    plain = value.strip().strip("\"'").replace("\\", "/").removeprefix("./")
    folder = by.rpartition("/")[0]
    beside = f"{folder}/{plain}" if folder else plain
    there = {each.path for each in documents if each.dialect != "command"} - {by}
    return next((path for path in (beside, plain) if path in there), "")
