"""What a file says itself of the machines that it is for: in a line for it, in the remarks before its first line, or by parts
that go by their names.

    for: [heron, teal]
    # what holds for Heron and Teal alike
    ; common to all three
    # read by bay5, bay6 and bay7
    [heron] far = 5.6    [teal] far = 4.9

Machines are known by what their files and folders are called, and by the name that the sheet gives this one. In a remark their
names count where they stand side by side as in a list: that this file is heron's, and that teal has its own, tells nothing. A
name that is a word of the trade, as `feeder` or `PLA` is, is no machine's. One with a number behind it counts whole, however short
it is, and a row of these may leave out what they share: `bay5, 6 and 7`, `bay1-4`. Where a remark says that it is for all, both or three
of them, no name is needed. Beside a part of this machine's name, one of words that the trade does not have is another machine's.
This module looks at texts and paths only.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator

from msgspec import Struct

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

#: so many lines may be a file's head, and so much of each is looked at
_HEAD, _LONGEST = 12, 300
#: a name of so few letters may be any word
_SHORT = 2
#: a file whose name has more words is called after no machine
_WORDS = 3
#: parts inside of parts
_DEEPEST = 8
#: words of files' names and of sentences that name nobody
_OF_TALK = frozenset(
    [
        "the",
        "and",
        "not",
        "all",
        "own",
        "what",
        "lies",
        "kept",
        "stored",
        "saved",
        "old",
        "new",
        "list",
        "notes",
        "program",
        "stuff",
    ]
)
_NAME = pattern(r"\w[\w-]*")
_LINE = pattern(
    r"[ \t]*[\"']?(?:for|used by|shared by|machines?|printers?)[\"']?[ \t]*[=:](?P<rest>.*)", re.IGNORECASE
)
_REMARK = pattern(
    r"[ \t]*(?:#(?!define|include|if|pragma)+|;+|//+|/?\*+|\(|[\"']?(?:note|about|remark|comment|what|info)s?[\"']?[ \t]*[=:])[ \t]*(?P<said>.*)",
    re.IGNORECASE,
)
#: a heading alone on its line, in whatever way the file writes one
_PART = pattern(
    r"[ \t]*(?:\[(?P<bracketed>[^\[\]]{1,40})\]|[\"']?(?P<named>[^\W\d][\w -]{0,40}?)[\"']?[ \t]*:[ \t]*\{?)[ \t]*(?:[#;].*)?"
)
_SETS = pattern(r"[ \t]*[\"']?(?P<key>[^\W\d][\w .-]{0,60}?)[\"']?[ \t]*[=:][ \t]*[\"']?[-+]?\d")
_BLANK = pattern(r"[\s{\[]*(?:\*/)?\s*")
_MACHINES = r"(?:machines?|printers?)\b"
_COUNT = r"(?:two|three|four|five|six|[2-9])"
_FOR_ALL = pattern(
    rf"(?<!not )(?<!no file )\b(?:(?:for|of|to|by|with|between|among|what) (?:all|both|every|each)(?: of)?(?: the| our| my| these)?(?: {_COUNT})?(?: \w+)? {_MACHINES}"
    rf"|(?:all|every|each|both)(?: of)?(?: the| our| my)?(?: {_COUNT})?(?: (?!other\b)\w+)? {_MACHINES}(?: of [\w ]{{1,20}})? (?:share|take|read|use|get|load)s?\b"
    rf"|(?:for|of|to|by|between) (?:all|the) {_COUNT}(?= *(?:[.,;:!(]|$)| alike\b))",
    re.IGNORECASE,
)
_ITEM = r"[^\W\d_][\w-]*(?:['\u2019]s)?"
_BETWEEN = r"(?:\s*(?:,(?:\s*(?:and|or)\b)?|[/&+|])\s*|\s+(?:and|or)\s+)(?:(?:for|of|by)\s+)?"
#: names side by side; behind the last of them a word for one of them alone says that they are no list
_LIST = pattern(
    rf"{_ITEM}(?:{_BETWEEN}{_ITEM})+(?![\w'\u2019-])(?!\s+(?:has|is|was|does|keeps|uses|reads|lies|stands|gets|got|takes|comes)\b)",
    re.IGNORECASE,
)
#: behind such words a list of names is of machines, though nothing of the others lies here
_SHARED_BY = pattern(
    r"\b(?:shared (?:by|with|between|among)|used by|read by|common to|same for|(?:machines?|printers?)\s*:)\s*(?:both\s+|the\s+)?$",
    re.IGNORECASE,
)
#: behind a number, that it counts something or is a day
_COUNTED = r"\s*(?:[mcn\u00b5]?m|k?g|[mk]?a|[hs]|min|%|hours?|days?|times|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*)\b"
#: names that end in a number, side by side: what stands before it is said once or each time
_ROW = pattern(
    rf"(?<![\w-])(?P<stem>[^\W\d_]{{1,20}})[ _-]?\d{{1,3}}(?:(?:{_BETWEEN}|\s*(?:[-\u2013]|\.\.|\bto\b)\s*)(?:(?P=stem)[ _-]?)?\d{{1,3}})+(?!\w|\.\d|{_COUNTED})",
    re.IGNORECASE,
)
_IN_ROW = pattern(r"(?P<through>(?<=\d)\s*(?:[-\u2013]|\.\.|to\b))?[^\d]*?(?P<number>\d{1,3})", re.IGNORECASE)
_ENDS_IN_NUMBER = pattern(r"([^\W\d_]{1,20})[ _-]?(\d{1,3})")
#: so many machines may be in a row
_LONGEST_ROW = 50
#: behind a row of names
_READ_THIS = pattern(
    r"\s+(?:all |both )?(?:reads?|shares?|uses?|takes?|loads?) (?:this|it|these)\b", re.IGNORECASE
)
_MONTHS = frozenset(
    [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ]
)


class MachineNames(Struct, frozen=True):
    """What may stand for this machine, and for others, in small letters."""

    ours: frozenset[str]
    theirs: frozenset[str]


def names_beside(machine: str, own: Iterable[str], others: Iterable[str]) -> MachineNames:
    """The names by the sheet's `machine`, by the paths of its own files, and by those of others."""
    ours = {name for path in own for name in _called(path)} | {machine.casefold()}
    return MachineNames(frozenset(ours), frozenset(name for path in others for name in _called(path)) - ours)


def lines_for_whom(text: str, named: MachineNames) -> Iterator[int]:
    """The numbers of the lines by which a file is for this machine and for others."""
    for number, line in enumerate(text.splitlines(), 1):
        if said := _LINE.match(line[:_LONGEST]):
            found = {name.casefold() for name in _NAME.findall(said["rest"])}
            if not (found.isdisjoint(named.theirs) or found.isdisjoint(named.ours)):
                yield number
    yield from _in_head(text, named)
    yield from _by_parts(text, named)


def _by_parts(text: str, named: MachineNames) -> Iterator[int]:
    """The first part that goes by another machine's name, in a file that has one by this machine's. A name that nothing here is
    called by may be any thing's, `[pinboard]`: it is a machine's where its part sets a number that this one's sets, too."""
    parts = list(_parts(text))
    ours, theirs = _telling(named.ours), _telling(named.theirs)
    own = [keys for _, name, keys in parts if split(name) and set(split(name)) <= ours]
    for number, name, keys in parts if own else ():
        words = set(split(name))
        is_other = words and not words & ours and words <= _telling([name])
        if is_other and (words <= theirs or not keys.isdisjoint(set().union(*own))):
            yield number
            return


def _parts(text: str) -> Iterator[tuple[int, str, set[str]]]:
    """The headings of a file, each with its line and the keys of the numbers below it, down to the next one that is no deeper."""
    open_: list[tuple[int, set[str]]] = []
    for number, whole in enumerate(text.splitlines(), 1):
        line = whole[:_LONGEST]
        deep = len(line) - len(line.lstrip())
        if found := _PART.fullmatch(line):
            open_ = [each for each in open_ if each[0] < deep][:_DEEPEST]
            open_.append((deep, set()))
            yield number, (found["bracketed"] or found["named"]).strip(), open_[-1][1]
        elif sets := _SETS.match(line):
            for _, keys in open_:
                keys.add(sets["key"].casefold())


def _in_head(text: str, named: MachineNames) -> Iterator[int]:
    """The first line of a head that says so; a sentence may go on in the line below."""
    lines = _remarks(text)
    head = " ".join(said for _, said in lines)
    starts = [found.start() for found in _FOR_ALL.finditer(head)]
    starts += _rows(head, named)
    ours = _telling(named.ours)
    theirs = _telling(named.theirs) - ours  # a kept copy is called as its original
    for found in _LIST.finditer(head):
        items = [_bare(item) for item in _NAME.findall(found[0].replace("\u2019", "'"))]
        mine = [each for each in items if set(split(each)) & ours]
        shared = _SHARED_BY.search(head[: found.start()])
        if any(
            _written_alike(one, other)
            and (set(split(other)) & theirs or (shared and _is_a_name(other, named.ours)))
            for one in mine
            for other in items
        ):
            starts.append(found.start())
    at = 0
    for number, said in lines if starts else ():
        at += len(said) + 1
        if min(starts) < at:
            yield number
            return


def _rows(head: str, named: MachineNames) -> Iterator[int]:
    """Where a row of names with numbers begins that has this machine's and others'. What is called so beside it need not be there
    where the head says that they read it."""
    ours, theirs = _with_numbers(named.ours), _with_numbers(named.theirs)
    for found in _ROW.finditer(head) if ours else ():
        stem = found["stem"].casefold()
        row = {(stem, number) for number in _numbers(found[0])}
        others = row - ours
        read = _SHARED_BY.search(head[: found.start()]) or _READ_THIS.match(head[found.end() :])
        if others and row & ours and (others & theirs or read) and not _is_no_machine(stem):
            yield found.start()


def _numbers(row: str) -> Iterator[int]:
    last = 0
    for each in _IN_ROW.finditer(row):
        number = int(each["number"])
        if each["through"] and last < number <= last + _LONGEST_ROW:
            yield from range(last + 1, number)
        yield number
        last = number


def _with_numbers(names: Iterable[str]) -> frozenset[tuple[str, int]]:
    found = (_ENDS_IN_NUMBER.fullmatch(name) for name in names)
    return frozenset((each[1].casefold(), int(each[2])) for each in found if each)


def _is_no_machine(stem: str) -> bool:
    """Whether what has numbers is a part of a machine, a filament or a month."""
    known = vocabulary().names_in(frozenset([stem])) & vocabulary().things
    return bool(known) or stem in holder_words().materials or stem in _MONTHS


def _remarks(text: str) -> list[tuple[int, str]]:
    found = []
    for number, line in enumerate(text[: _HEAD * _LONGEST].splitlines()[:_HEAD], 1):
        remark = _REMARK.match(line[:_LONGEST])
        if remark is None and not _BLANK.fullmatch(line):
            break
        found.append((number, remark["said"].strip() if remark else ""))
    return found


def _telling(names: Collection[str]) -> frozenset[str]:
    """The words of names that are none of the trade's."""
    parted = (split(name) for name in names)
    words = {word for name in parted if len(name) <= _WORDS for word in name if len(word) > _SHORT}
    return frozenset(words - vocabulary().known - holder_words().materials.keys() - _MONTHS - _OF_TALK)


def _bare(item: str) -> str:
    return item.removesuffix("'s")


def _written_alike(one: str, other: str) -> bool:
    """Whether two items have capitals alike, as names in a list have: in `Heron, stored by the board` they have not."""
    return (one[:1].isupper(), one.isupper()) == (other[:1].isupper(), other.isupper())


def _is_a_name(item: str, ours: Collection[str]) -> bool:
    """Whether an item of such a list is another's name: with a capital, and no word of the trade."""
    return item[:1].isupper() and bool(_telling([item]) - _telling(ours))


def _called(path: str) -> Iterator[str]:
    """What a file and the folders that it lies in are called."""
    *folders, name = path.casefold().split("/")
    yield from (*folders, name.partition(".")[0])
