"""A value that may be one number with a comma in it, or two numbers: `5,5`.

Half of the world writes five and a half so, and a list of two fives looks the same. Where one number
belongs, nothing is taken from such a value until it is known which it is. `5, 5`, `[5,5]` and `5,5,5` are lists and nothing
else, unless the file is known to have decimal commas.

That is known of a whole file, and asked once: the site file says it (`decimals: {reel.txt: comma}`), the file's own remark
says it in words, or the file shows it: several values for one number each are written so, on a machine with one feeder, they
can't all be pairs (`1,05`; or some rise and some fall), and nothing in the file is written otherwise. In doubt it is asked:
whoever takes a list of two for a number writes half a line.

Whoever names a single line as one quantity says that it is one number, and of no other line anything: then it is read, and its
new value is set by hand.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace as replaced
from glob import has_magic
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cfgmigrate.dialects.decimal_commas import divided_by_commas, looks_like_thousands, with_decimal_commas
from cfgmigrate.dialects.document import Document, State
from cfgmigrate.dialects.value import Items, Number, Value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.remarks import Remarks

if TYPE_CHECKING:
    from cfgmigrate.machine.model import Unread
    from cfgmigrate.machine.spots import Spot

#: what is known of a file's numbers: they have commas, or points; the last where a packet has it that nothing was known
COMMA, POINT, DECIMALS_UNTOLD = "comma", "point", ""
WHY = "this may be one number with a comma in it, or two numbers; nothing was taken from it"
MIXED = "the file's numbers have decimal commas, and this one is written otherwise; nothing was taken from it"
WRITE_ANEW = (
    "write it with one comma and no point: 5,2; numbers of a list with a semicolon or a blank between"
)
IN_A_LIST = "commas divide its list, in a file with decimal commas: set it by hand"
_WITH_COMMA = pattern(r"[+-]?[0-9]+,[0-9]+")
_PAIR = pattern(r"([+-]?[0-9]+),([0-9]+)")
#: so many values of one number each show how a file writes its numbers
FEWEST_SHOWN = 3
_SHOWN = pattern(r"[+-]?[0-9]+,[0-9]{1,2}(?![0-9.,]).{0,12}")
#: what no file has that is known to have decimal commas by what it shows alone
_OTHERWISE = pattern(r"[0-9]\.[0-9]|[0-9],[ \t]+[+-]?[0-9]|[0-9],[0-9]+,")
#: words of a remark that say it, and those with which it may say anything else
_SAYS_IT = pattern(
    r"\bdecimal commas?\b|\bcommas? (?:numbers|decimals)\b|\bnumbers? (?:with|w/|have|has|are with|use) (?:an? )?(?:decimal )?commas?\b"
    r"|\bcommas? (?:for|instead of|in place of) (?:an? |the )?(?:decimal )?points?\b",
    re.I,
)
_ELSE_SAID = pattern(
    r"\b(?:not?|never|n't|without|but|other|others|list|lists|between|separat\w*|divid\w*|thousands?|files?|was|were|used to)\b",
    re.I,
)
_THIS_FILE = pattern(r"\b(?:in )?this file\b|\ball files\b", re.I)
#: in which a comma is never a decimal one, whatever it shows
_OF_LETTERS, _OF_C = "command", "header"

WITH_A_COMMA = (
    "its number has a comma for a point: say in cfgmigrate.yaml, under decimals, that this file's numbers have (FILE: comma), or "
    "set it by hand, written as the machine takes it"
)


def known_commas(documents: Sequence[Document], decimals: Mapping[str, str]) -> tuple[Document, ...]:
    """The documents, those in points of which it is said that their numbers have commas: by `decimals`, which says what is
    known of files, else by a remark of their own."""
    return tuple(
        with_decimal_commas(each)
        if decimals.get(each.path, _said_by_itself(each)) == COMMA
        and each.dialect != _OF_LETTERS
        and not each.own_words
        else each
        for each in documents
    )


def _said_by_itself(document: Document) -> str:
    """COMMA where a remark at the top of the file says so of it, and no number there is written otherwise."""
    if _never(document) or not any(_WITH_COMMA.match(v) for v in _values(document)):
        return DECIMALS_UNTOLD
    if any(_OTHERWISE.search(value) for value in _values(document)):
        return DECIMALS_UNTOLD
    opening = Remarks(document).opening
    for line in opening.split(" . "):
        if _SAYS_IT.search(line) and not _ELSE_SAID.search(_THIS_FILE.sub("", line)):
            return COMMA
    return DECIMALS_UNTOLD


def shown_commas(
    documents: Iterable[Document], doubts: Iterable[Doubt], taken: Iterable[tuple[str, str]]
) -> frozenset[str]:
    """The files that show beyond doubt that their numbers have commas. `doubts` are those of the machine, `taken` the file
    and the whole value of each reading: a list of two that was read may be what the others are too."""
    asked: dict[str, set[str]] = {}
    for doubt in doubts:
        if doubt.why == WHY and _SHOWN.fullmatch(doubt.text.partition(" = ")[2]):
            asked.setdefault(doubt.place.file, set()).add(doubt.about)
    lists = {file for file, value in taken if _WITH_COMMA.match(value)}
    return frozenset(
        each.path
        for each in documents
        if len(asked.get(each.path, ())) >= FEWEST_SHOWN
        and each.path not in lists
        and not _never(each)
        and not any(_OTHERWISE.search(v) or looks_like_thousands(v) for v in _values(each))
        and _no_pairs([found for v in _values(each) if (found := _PAIR.match(v))])
    )


def _no_pairs(found: Sequence[re.Match[str]]) -> bool:
    """Whether such values can't all be pairs of a least and a most, or of two of a kind."""
    numbers = [(*sorted((int(each[1]), int(each[2]))), int(each[2]) > int(each[1])) for each in found]
    # two of a kind are alike: `40,35` may be a pair, `0,45` and `137,5` are none
    rises = {up for low, high, up in numbers if high > 4 * low}
    return len(rises) > 1 or any(each[2][0] == "0" and len(each[2]) > 1 for each in found)


def _never(document: Document) -> bool:
    """Whether a comma is no decimal one in a file whatever it shows: it is in letters and numbers, or in C."""
    return document.dialect in (_OF_LETTERS, _OF_C) or bool(document.own_words)


def _values(document: Document) -> Iterator[str]:
    return (each.value for each in document.settings if each.state is not State.INACTIVE)


def of_whole_files(
    doubts: Sequence[Doubt], documents: Sequence[Document], decimals: Mapping[str, str]
) -> list[Doubt]:
    """The doubts, those about commas with what settles all of a file's; of a file that is said to have points each is no
    question any more, but a list where one number belongs."""
    asked = Counter(doubt.place.file for doubt in doubts if doubt.why == WHY)
    of_letters = {each.path for each in documents if each.dialect == _OF_LETTERS}
    keys = asked_together(doubts, documents)
    found = []
    for doubt in doubts:
        path = doubt.place.file
        if doubt.why == WHY and decimals.get(path) == POINT:
            doubt = replaced(doubt, why=_A_LIST, remedy="write one number there")
        elif doubt.why == WHY and path not in of_letters:
            for_all = f"{AS_NUMBERS}: {entry_for(keys[path], COMMA)}"
            lists = f"; if they are lists of two: {entry_for(keys[path], POINT)}"
            remedy = f"{for_all}{lists}" if asked[path] > 1 else f"{doubt.remedy}; {for_all}"
            doubt = replaced(doubt, remedy=remedy)
        found.append(doubt)
    return found


def asked_together(doubts: Iterable[Doubt], documents: Iterable[Document]) -> Mapping[str, str]:
    """For each file that is asked about, what names it in the answer: itself, or the pattern of the files of one ending in
    one folder, where several are asked about and none of them has a number written otherwise."""
    asked = {doubt.place.file for doubt in doubts if doubt.why == WHY}
    alike: dict[str, list[Document]] = {}
    for each in documents:
        alike.setdefault(_pattern_of(each.path), []).append(each)
    found = {path: path for path in asked}
    for pattern_, several in alike.items():
        mine = [each.path for each in several if each.path in asked]
        if pattern_ and len(mine) > 1 and all(_may_have_commas(each, each.path in asked) for each in several):
            found |= dict.fromkeys(mine, pattern_)
    return found


def _pattern_of(path: str) -> str:
    """The pattern of the files beside this one with the same ending; "" for one that lies in no folder of its own, or has no
    ending."""
    folder, _, name = path.rpartition("/")
    _, dot, ending = name.rpartition(".")
    return f"{folder}/*.{ending}" if folder and dot and not has_magic(path) else ""


def _may_have_commas(document: Document, asked: bool) -> bool:
    """Whether nothing in a file speaks against it; where nothing is asked, no comma stands between its digits either."""
    return document.commas or not any(
        _OTHERWISE.search(value) or (not asked and _WITH_COMMA.search(value)) for value in _values(document)
    )


_A_LIST = "a list stands where one number belongs"
AS_NUMBERS = "if the file's numbers have decimal commas, say it once in cfgmigrate.yaml"


def once_a_file(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """The doubts in their order, those that commas raise in one file as one, with its other lines."""
    asked: dict[str, list[Doubt]] = {}
    for doubt in doubts:
        if doubt.why == WHY:
            asked.setdefault(doubt.place.file, []).append(doubt)
    return tuple(
        _with_lines(asked[doubt.place.file]) if doubt.why == WHY else doubt
        for doubt in doubts
        if doubt.why != WHY or doubt is asked[doubt.place.file][0]
    )


def _with_lines(alike: Sequence[Doubt]) -> Doubt:
    first = alike[0]
    lines = sorted({each.place.line for each in alike} - {first.place.line})
    return replaced(first, why=f"{WHY}; likewise line {', '.join(map(str, lines))}") if lines else first


def lessons_of_commas(doubts: Sequence[Doubt], documents: Sequence[Document]) -> list[str]:
    """The lines of the site file, out of force, that say of files that their numbers have commas."""
    keys = asked_together(doubts, documents)
    asked = {keys[each.place.file]: each.text for each in reversed(doubts) if AS_NUMBERS in each.remedy}
    return [f"# {_entry(key, COMMA)}    # {text}" for key, text in reversed(asked.items())]


def entry_for(path: str, decimals: str) -> str:
    """The line of the site file that says how a file's numbers are written."""
    return f"decimals: {{{_entry(path, decimals)}}}"


def _entry(path: str, decimals: str) -> str:
    quoted = path.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{quoted}": {decimals}'


def as_the_files_have_it(unread: Iterable[Unread], documents: Iterable[Document]) -> tuple[Unread, ...]:
    """What was not understood, each line as it stands in its file."""
    with_commas = {each.path: each for each in documents if each.commas}
    return tuple(
        replace(
            each,
            text=each.text.replace(each.setting.value, there.slice(each.setting.start, each.setting.end)),
        )
        if (there := with_commas.get(each.place.file)) and "\n" not in each.setting.value
        else each
        for each in unread
    )


def decided(documents: Iterable[Document], decimals: Mapping[str, str]) -> Mapping[str, str]:
    """What a machine's documents were found to be, for reading them again with other contents."""
    return {
        each.path: COMMA if each.commas else decimals.get(each.path, DECIMALS_UNTOLD) for each in documents
    }


def in_such_a_list(spot: Spot) -> str:
    """Why a number is not edited that stands in a list divided by commas, where numbers have commas; "" for any other."""
    written = spot.document.slice(spot.setting.start, spot.setting.end) if spot.document.commas else ""
    return IN_A_LIST if divided_by_commas(written) else ""


def as_one(value: Value, text: str) -> Number | None:
    """The one number that such a value is, where it is said to be one; None for any other, and for one that may as well have
    its thousands set apart: `1,500`."""
    if not isinstance(value, Items) or not how_to_write(value, text) or len(value.items) != 2:
        return None
    first, second = value.items
    if not isinstance(first, Number) or not isinstance(second, Number) or len(second.text) == 3:
        return None
    written = text[first.start : second.end]
    return Number(float(written.replace(",", ".")), written, first.start, second.end, second.unit)


def how_to_write(value: Items, text: str) -> str:
    """What to write instead of such a value, which stands in `text`; "" where it is no such value."""
    if len(value.items) != 2:
        return ""
    first, second = value.items
    if not isinstance(first, Number) or not isinstance(second, Number) or value.start != first.start:
        return ""
    written = text[first.start : second.end]
    if not _WITH_COMMA.fullmatch(written):
        return ""
    one = written.replace(",", ".")
    if len(second.text) == 3:
        one += f" or {written.replace(',', '')}"
    return f"if it is one number, write {one}; or say in cfgmigrate.yaml, under meanings, what it is; if it is two, put a blank behind the comma"
