"""Two lists of the same settings in one file, one below the other, each under a heading that says when it was taken down.

    ; === 9 November 2025 ===
    M715 L6.2 V40
    ; === spring, before the new nozzle ===
    M715 L6.8 V45

A person keeps what the board showed, and what it showed at another time below it. By its place the lower list would be the later
word, and its lines would be written, too. So where the text says which list holds, at its head or in a heading (`the board has only
the first`, `history`), the others are out of force, and that is told. Where the lists go from an old date to a new one, the last of
them is both the newest and the later word; what it does not have holds as it stood, and then its place alone decides. In any other order of dates nobody knows, so no list overrules another, none is
edited, and a person is asked.

Lists are parts of which the smaller one repeats at least half of its names, and two of them. A heading is a remark of its own line
that is set off, or is a date; what is said of a nozzle, a drive or a material is none of a time. In a text that moves, what stands
below has its turn, so scripts are left alone. Two parts of which each is of another axis or feeder, by its heading or the tool that is
selected there, are no lists of the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations, pairwise

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State, readable
from cfgmigrate.files.content import AXIS_LETTERS, known_words
from cfgmigrate.files.for_comparing import NOT_IN_FORCE
from cfgmigrate.files.heads import head_of
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT

#: so many names, and such a part of the smaller list's, make two parts lists of the same
_FEWEST_AGAIN, _PART_AGAIN = 2, 0.5
_TWO, _MOST_LISTS, _LONGEST_HEADING = 2, 12, 160
_DIALECTS = ("command", "flat", "sectioned")
_LINE = pattern(rb"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+\Z")
_REMARK = pattern(r"[ \t]*(?:;+|#+|//+|\()[ \t]*(?P<text>[^\r\n]*?)[ \t)]*")
_SET_OFF = pattern(
    r"[-=*#~_+]{2,}[ \t]*(?P<before>.*?[^\W_].*?)[ \t]*[-=*#~_+]*|(?P<behind>.*?[^\W_].*?)[ \t]*(?:[-=*#~_+]{2,}|:)"
)
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sept?|oct|nov|dec)(?:[a-z]{0,6}\b)\.?"
_DATES = (
    pattern(r"(?<![\d.])(?P<y>(?:19|20)\d\d)[-./](?P<m>\d{1,2})(?:[-./](?P<d>\d{1,2}))?(?![\d.]*\d)"),
    pattern(r"(?<![\d.])(?P<d>\d{1,2})[-./](?P<m>\d{1,2})[-./](?P<y>(?:19|20)\d\d)(?!\d)"),
    pattern(
        rf"(?i)\b(?:(?P<d>\d{{1,2}})(?:st|nd|rd|th)?\.?[ ]+)?(?:of )?(?P<n>{_MONTH})(?:,?[ ]+(?P<y>(?:19|20)\d\d)\b)?"
    ),
    pattern(rf"(?i)\b(?P<n>{_MONTH})[ ]+(?P<d>\d{{1,2}})(?:st|nd|rd|th)?,?[ ]+(?P<y>(?:19|20)\d\d)\b"),
)
_SEASON = pattern(
    r"(?i)\b(?P<s>spring|summer|autumn|winter)\b(?:(?: of)?,? (?P<y>(?:19|20)\d\d)\b)?",
    needs=("spring", "summer", "autumn", "winter"),
)
#: that a list was in force before, of the list itself: `old` alone, and not the old drive's
_HISTORY = pattern(
    r"(?i)\b(?:history|historic(?:al)?|superseded|obsolete|out of date|outdated|no longer in force|formerly|as (?:it|they) (?:was|were)(?: before)?"
    r"|old(?=$|[ ]*[,;:.()=-]| (?:lists?|values?|settings?|numbers|state|cop(?:y|ies)|memory|readings?)\b)"
    r"|(?:former|previous|earlier) (?:lists?|values?|settings?|numbers|state|memory|readings?)"
    r"|before(?=$|[ ]*[;:.()=-]| (?:the )?(?:swap|change|repair|calibration|tuning|service|new)\b))",
)
_DENIED = pattern(r"(?i)\b(?:not|no|never|isn.?t|aren.?t|than|unlike|instead of|like|as in|see)\b[^.;,]*$")
_WHICH = r"(?P<which>first|upper|top|uppermost|last|lower|bottom|lowest|second|lowermost)"
_ONE = r"(?:lists?|ones?|blocks?|parts?|half|section|set)"
_HOLDS = r"(?:counts?|holds|is in force|is (?:what|the one)(?: that)? (?:the board has|holds|counts|runs)|is (?:live|valid|current|in use)|runs|is used)"
_ONLY = (
    pattern(
        rf"(?i)\b(?:board|machine|printer|controller|memory|it) (?:itself )?(?:now )?(?:has|holds|keeps|uses|knows|goes by|reads|runs|runs on|stores)"
        rf" (?:only |just |nothing but )?the {_WHICH}(?: {_ONE})?(?= only\b| alone\b|[ ]*(?:[.;,:!)=]|$|--))"
    ),
    pattern(rf"(?i)\b(?:only )?the {_WHICH} (?:{_ONE} )?(?:alone |only )?{_HOLDS}\b"),
)
_NOT_THIS = pattern(
    rf"(?i)\bthe {_WHICH}(?: {_ONE})? is (?:only |just )?(?:history|old|out of date|outdated|superseded|no longer in force|(?:kept )?for (?:the )?records?)\b"
)
#: each setting by itself is as it was said last: that is what the order of the lines says anyway, and no list is dropped
_EACH_AS_LAST_SAID = pattern(
    r"(?i)\b(?:later|subsequent|further) (?:lines?|ones?|values?|entries|settings?|words?)\b[^.;]{0,30}\b(?:beats?|wins?|overrides?|overrules?|replaces?|counts?|holds?)\b"
    r"|\b(?:twice|more than once|again|repeated)\b[^.;]{0,40}\b(?:last|later|lower|newer)\b|\b(?:last|later|lower|newer)\b[^.;]{0,40}\b(?:twice|more than once)\b"
)
#: what settings of the same names may be of beside one another
_PARTS = AXIS_LETTERS | LEFT_AND_RIGHT | {"front", "rear", "feeder", "extruder"}
_NUMBERED = pattern(r"(?i)\b(?:feeder|extruder|tool|drive|head|t|e)[ \t#]*(\d)\b")
_FIRST = frozenset(("first", "upper", "top", "uppermost"))
#: what may stand beside a date and is no other thing than the time
_BESIDE_DATES = frozenset(
    [
        "the",
        "of",
        "on",
        "from",
        "in",
        "at",
        "as",
        "is",
        "was",
        "list",
        "lists",
        "values",
        "state",
        "memory",
        "saved",
        "kept",
        "read",
        "taken",
        "noted",
        "written",
        "down",
        "by",
        "me",
        "new",
        "old",
        "newest",
        "latest",
        "now",
        "today",
        "since",
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
        "morning",
        "evening",
        "first",
        "second",
        "last",
        "a",
        "an",
        "and",
    ]
)


class ListedBlock(Struct, frozen=True):
    """A list: its heading, "" for none, the heading's line, its span in the file, and the names of its settings."""

    heading: str
    line: int
    start: int
    end: int
    names: frozenset[tuple[str, str]]


class BlocksOfLists(Struct, frozen=True):
    """The lists of a file in their order, which of them hold, none where that is not said, and the words that say so."""

    blocks: tuple[ListedBlock, ...]
    holds: frozenset[int] = frozenset()
    said: str = ""


def without_old_lists(document: Document) -> Document:
    """A document in which the lists that do not hold are out of force, and told; or a question says that nobody knows which one holds."""
    found = lists_below(document)
    if found is None:
        return document
    if not found.holds:
        return replace(document, doubts=(*document.doubts, _asked(document, found)))
    out = [block for at, block in enumerate(found.blocks) if at not in found.holds]
    settings = tuple(
        replace(each, state=State.INACTIVE)
        if each.state is State.ACTIVE and any(block.start <= each.start < block.end for block in out)
        else each
        for each in document.settings
    )
    told = (_told(document, block, found.said) for block in out)
    return replace(document, settings=settings, doubts=(*document.doubts, *told))


def in_doubtful_lists(documents: Iterable[Document]) -> Callable[[str, int], int]:
    """For a file and a place in it the number of the list there, where nobody knows which list of the file holds; else 0."""
    blocks = {
        each.path: found.blocks
        for each in documents
        if (found := lists_below(each)) is not None and not found.holds
    }

    def number(path: str, start: int) -> int:
        inside = enumerate(blocks.get(path, ()), 1)
        return next((at for at, block in inside if block.start <= start < block.end), 0)

    return number


@once
def lists_below(document: Document) -> BlocksOfLists | None:
    """The lists of the same settings that stand one below the other in a file; None where there are none, or nothing is said of when."""
    if document.dialect not in _DIALECTS or document.own_words or document.feeds_by:
        return None
    headings = list(_headings(document))
    if not headings or len(headings) > _MOST_LISTS:
        return None
    blocks = _blocks(document, headings)
    if len(blocks) < _TWO:
        return None
    if any(map(_EACH_AS_LAST_SAID.search, (head_of(document), *(block.heading for block in blocks)))):
        return None
    materials = known_words().materials
    if any(not materials.isdisjoint(words_of(block.heading)) for block in blocks):
        return None
    return _which_holds(blocks, head_of(document))


def _which_holds(blocks: tuple[ListedBlock, ...], head: str) -> BlocksOfLists | None:
    said = dict(_said_to_hold((head, *(block.heading for block in blocks)), len(blocks)))
    if said:
        ((at, words), *more) = said.items()
        return BlocksOfLists(blocks) if more else BlocksOfLists(blocks, frozenset((at,)), words)
    past = [_says_history(block.heading) for block in blocks]
    others = [at for at, words in enumerate(past) if not words]
    if any(past) and not any(_repeats(blocks[one], blocks[two]) for one, two in combinations(others, 2)):
        return BlocksOfLists(blocks, frozenset(others), next(filter(None, past)))
    dates = [_date(block.heading) for block in blocks]
    if not any(past) and len({each for each in dates if each}) < _TWO:
        return None
    years = all(each and each[0] for each in dates)
    rises = years and all(one < other for one, other in pairwise(map(_day, dates)))
    if rises and not any(past) and len({_beside_date(block.heading) for block in blocks}) == 1:
        if not all(block.names <= blocks[-1].names for block in blocks):
            return None  # what was written down later is a part, and the rest still holds
        return BlocksOfLists(blocks, frozenset((len(blocks) - 1,)), blocks[-1].heading)
    return BlocksOfLists(blocks)


def _headings(document: Document) -> Iterator[tuple[str, int, int]]:
    """The remarks that may head a list: text, line, and where they begin."""
    for number, line in enumerate(_LINE.finditer(document.data), 1):
        if len(line[0]) > _LONGEST_HEADING or not line[0].strip():
            continue
        remark = _REMARK.fullmatch(readable(line[0]).rstrip("\r\n"))
        if remark is None:
            continue
        set_off = _SET_OFF.fullmatch(remark["text"])
        text = (set_off["before"] or set_off["behind"]) if set_off else remark["text"]
        tells = _date(text) or _says_history(text)
        if tells and (set_off or (_date(text) and not _beside_date(text))):
            yield text, number, line.start()


def _blocks(document: Document, headings: Sequence[tuple[str, int, int]]) -> tuple[ListedBlock, ...]:
    """The parts below the headings, and the one above the first of them, that repeat one another; () for a script."""
    active = [each for each in document.settings if each.state is State.ACTIVE]
    if document.dialect == "command" and any(_moves(each) for each in active):
        return ()
    starts = [("", 1, 0), *headings]
    ends = [start for _, _, start in starts[1:]] + [len(document.data)]
    names: list[set[tuple[str, str]]] = [set() for _ in starts]
    at, tool = 0, ""
    for each in active:
        while each.start >= ends[at]:
            at, tool = at + 1, ""
        if document.dialect == "command" and each.section.upper() == each.key.upper() == "T":
            tool = f" T{each.value}"
        # in a flat file a title may be the section of what stands below it
        section = "" if document.dialect == "flat" else each.section.casefold()
        names[at].add((section, each.key.casefold() + tool))
    parts = [
        ListedBlock(text, line, start, end, frozenset(own))
        for (text, line, start), end, own in zip(starts, ends, names, strict=True)
        if own
    ]
    return tuple(
        each
        for each in parts
        if any(
            each is not other and _repeats(each, other) and not _of_other_parts(each.heading, other.heading)
            for other in parts
        )
    )


def _repeats(one: ListedBlock, other: ListedBlock) -> bool:
    fewest = max(_FEWEST_AGAIN, _PART_AGAIN * min(len(one.names), len(other.names)))
    return len(one.names & other.names) >= fewest


def _of_other_parts(one: str, other: str) -> bool:
    """Whether two headings are of an axis or a feeder each, and not of the same."""
    here, there = _parts(one), _parts(other)
    return not here <= there and not there <= here


def _parts(heading: str) -> frozenset[str]:
    for said in (*_DATES, _SEASON):
        heading = said.sub(" ", heading)
    numbered = (found.lower() for found in _NUMBERED.findall(heading))
    return frozenset(words_of(heading)) & _PARTS | frozenset(numbered)


def _moves(setting: Setting) -> bool:
    return re.fullmatch(r"[Gg]0?[0-3]", setting.section) is not None


def _said_to_hold(texts: Iterable[str], count: int) -> Iterator[tuple[int, str]]:
    for text in texts:
        for found in (each for said in _ONLY for each in said.finditer(text)):
            which = found["which"].lower()
            if _DENIED.search(text[: found.start()]) or (which == "second" and count != _TWO):
                continue
            yield (0 if which in _FIRST else count - 1), found[0]
        for found in _NOT_THIS.finditer(text) if count == _TWO else ():
            yield (1 if found["which"].lower() in _FIRST else 0), found[0]


def _says_history(heading: str) -> str:
    found = _HISTORY.search(heading)
    return found[0] if found and not _DENIED.search(heading[: found.start()]) else ""


def _date(text: str) -> tuple[int, int, int, str] | None:
    """Year, month and day of a text, 0 for what it does not say, and a season; None for no date."""
    for said in _DATES:
        if (found := said.search(text)) is None:
            continue
        groups = found.groupdict()
        name = (groups.get("n") or "").rstrip(".").lower()
        if name and not any(month.startswith(name) or name == "sept" for month in _MONTHS):
            continue
        if name == "may" and not (groups.get("d") or groups.get("y")):
            continue
        month = (
            next((at for at, each in enumerate(_MONTHS, 1) if each[:3] == name[:3]), 0)
            if name
            else int(groups["m"])
        )
        if 1 <= month <= len(_MONTHS):
            return int(groups.get("y") or 0), month, int(groups.get("d") or 0), ""
    season = _SEASON.search(text)
    return (int(season["y"] or 0), 0, 0, season["s"].lower()) if season else None


def _day(date: tuple[int, int, int, str] | None) -> tuple[int, int, int]:
    return date[:3] if date and not date[3] else (date[0], 0, 0) if date else (0, 0, 0)


def _beside_date(text: str) -> frozenset[str]:
    """The words of a heading that are of anything else than a time."""
    for said in (*_DATES, _SEASON):
        text = said.sub(" ", text)
    return frozenset(words_of(text)) - _BESIDE_DATES


def _told(document: Document, block: ListedBlock, said: str) -> Doubt:
    first, last = _lines(document, block)
    return Doubt(
        _place(document, block),
        block.heading or said,
        f"the list in lines {first} to {last} {NOT_IN_FORCE} ({said!a:.80}), and another list of this file does",
        "nothing has to be done where that is right; if the board does go by these lines, take the words above them out",
    )


def _asked(document: Document, found: BlocksOfLists) -> Doubt:
    lists = " and ".join("lines {} to {}".format(*_lines(document, block)) for block in found.blocks)
    return Doubt(
        _place(document, found.blocks[-1]),
        found.blocks[-1].heading,
        f"lists of the same settings stand one below the other ({lists}), and which of them holds is not said; none of them is changed",
        "say at the head of the file which one it is, in a remark: the board has only the first list (or: only the last list)",
    )


def _lines(document: Document, block: ListedBlock) -> tuple[int, int]:
    inside = [each.line for each in document.settings if block.start <= each.start < block.end]
    return inside[0], inside[-1]


def _place(document: Document, block: ListedBlock) -> Place:
    return Place(document.path, block.line if block.heading else _lines(document, block)[0], 1)
