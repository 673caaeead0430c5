"""What keys of a flat file begin with that its remarks say whose it is: the same unknown letters before every key below a
heading, or before several keys beside a remark that names another device.

    ; feeder A (on the post)          QZA_STP: 93          QZA_MAX_V: 40          QZA_RETRACT: 4.6
    SCR_I: 650   ; screen winder, mA                       SCR_STP: 8.9

Below a heading of a feeder or an axis such letters stand for it, where every key has them, three at least, and no key
elsewhere. What a remark says of another device holds for all keys that begin with the letters: they are short for
a word of it, and whatever the machine has by such words is not theirs.

This module parts words only; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.remark_marks import LINE_OR_BLOCK_MARK
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.aside_words import aside_words
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.strange_words import is_strange
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
#: a heading: a few words, and in brackets what is said of it
_HEAD = pattern(
    rf"[ \t]*{LINE_OR_BLOCK_MARK}+[ \t-]*((?:[A-Za-z]{{1,20}}|\d)(?: (?:[A-Za-z]{{1,20}}|\d)){{0,2}})[ \t]*:?[ \t]*(?:\(([^()]{{0,120}})\))?[ \t-]*(?:\*/)?[ \t]*"
)
#: a setting that somebody took out of force
_TAKEN_OUT = pattern(rf"[ \t]*{LINE_OR_BLOCK_MARK}+[ \t]*(?:#[ \t]*define[ \t]+)?[A-Za-z]\w{{0,20}}[_.-]\w")
#: so many keys below a heading show what they begin with
_FEWEST = 3
_AXES = frozenset("xyz")
_FEEDERS = frozenset({"feeder", "extruder"})
_BESIDE_AN_AXIS = frozenset({"axis", "the"})
#: of a feeder that stands in a file and not on the machine, or on another
_NOT_THIS = frozenset(
    {"not", "no", "never", "spare", "unused", "other", "another", "second", "removed", "off", "gone", "unplugged", "disconnected",
     "before", "until", "till", "mothballed", "neighbour", "neighbor", "friend", "bench", "default", "defaults", "factory", "pellets", "hopper",
     "broken", "planned", "later", "once", "example", "drawer", "shelved", "sold", "was", "were", "used", "if", "when"}
)  # fmt: skip
#: a device, and what feeds a printer has as well
_DEVICE, _REELS = "device", frozenset({"spool", "spools", "spring"})
#: a clause of so many words names a thing
_FEW = 3
_CLAUSE = pattern(r"[,;:(.]| - ")
#: parts of the machine, of which keys are whatever a remark says beside
_PARTS = frozenset(
    ("x", "y", "z", "feeder", "feed", "filament", "retraction", "lag", "nozzle", "hotend", "bed", "probe", "mesh", "park",
     "carriage", "tube", "drive")
)  # fmt: skip


def headed_prefixes(document: Document, remarks: Remarks) -> dict[Pieces, Pieces]:
    """First pieces of keys, and the pieces of what each stands for; {} for files with sections."""
    if document.dialect not in ("flat", "header"):
        return {}
    begun: dict[str, list[Setting]] = defaultdict(list)
    for each in document.settings:
        pieces = split(each.key)
        if len(pieces) > 1 and each.state is not State.INACTIVE and not each.section:
            begun[pieces[0]].append(each)
    found: dict[Pieces, Pieces] = {
        (first,): part for first, part in _below_headings(document.settings, remarks.text, begun)
    }
    for first, keys in begun.items():
        if len(keys) > 1 and (first,) not in found and (said := _of_a_device(first, keys, remarks)):
            found[first,] = said
    return found


def _below_headings(
    settings: Sequence[Setting], text: str, begun: dict[str, list[Setting]]
) -> Iterator[tuple[str, Pieces]]:
    """What all keys below a heading begin with, and the part that the heading names: each part once, by one beginning."""
    lines = text.splitlines()
    by_line = {each.line: each for each in settings}
    told: list[tuple[str, Pieces]] = []
    for at, line in enumerate(lines):
        head = _HEAD.fullmatch(line) if len(line) < 200 and at + 1 not in by_line else None
        part = _part(tuple(split(head[1])), tuple(split(head[2] or ""))) if head else ()
        if not part:
            continue
        below = list(_run(lines, at + 1, by_line))
        firsts = {split(each.key)[0] for each in below}
        first = firsts.pop() if len(firsts) == 1 else ""
        if len(below) >= _FEWEST and len(begun.get(first, ())) == len(below) and is_strange(first):
            told.append((first, part))
    parts = Counter(part for _, part in told)
    yield from ((first, part) for first, part in told if parts[part] == 1)


def _run(lines: Sequence[str], at: int, by_line: dict[int, Setting]) -> Iterator[Setting]:
    """The settings of the lines up to the next gap or remark alone on its line."""
    for number in range(at + 1, len(lines) + 1):
        if number not in by_line:
            if not _TAKEN_OUT.match(lines[number - 1]):
                return
        elif by_line[number].state is not State.INACTIVE:
            yield by_line[number]


def _part(words: Pieces, aside: Pieces) -> Pieces:
    """The feeder, with its letter or number if it has one, or the axis that a heading names and nothing else beside; () for none."""
    if not _NOT_THIS.isdisjoint(aside) or not aside_words().past.isdisjoint(aside) or _names_device(aside):
        return ()
    axis = [word for word in words if word not in _BESIDE_AN_AXIS]
    if len(axis) == 1 and axis[0] in _AXES:
        return (axis[0],)
    feeders = [word for word in words if word in _FEEDERS]
    which = [word for word in words if word not in _FEEDERS and word != "the"]
    if len(feeders) != 1 or len(which) > 1:
        return ()
    if not which:
        return ("feeder",)
    if which[0] in ("a", "b"):  # as a side: `a` by itself is an article too
        return ("feeder", "left" if which[0] == "a" else "right")
    return ("feeder", which[0]) if which[0].isdigit() or which[0] in holder_words().sides else ()


def _names_device(words: Iterable[str]) -> bool:
    meant = frozenset(way for word in words if word not in _REELS for way in ways_of(word)[0])
    return _DEVICE in vocabulary().names_in(meant)


def _of_a_device(first: str, keys: Iterable[Setting], remarks: Remarks) -> Pieces:
    """The words of the remark beside one of the keys that names another device, of which their beginning is short for a word; ()
    where none does, or where the beginning is a part of this machine."""
    if not _PARTS.isdisjoint(vocabulary().names_in(frozenset(ways_of(first)[0]))):
        return ()
    for each in keys:
        clause = tuple(split(_CLAUSE.split(remarks.behind(each), maxsplit=1)[0]))
        if not 0 < len(clause) <= _FEW or not _names_device(clause):
            continue
        said = vocabulary().names_in(frozenset(way for word in clause for way in ways_of(word)[0]))
        if said.isdisjoint(_PARTS) and any(_short_for(first, word) for word in clause):
            return clause
    return ()


def _short_for(first: str, word: str) -> bool:
    """Whether letters are a word, its beginning, or some of its letters in their order with its first."""
    if len(first) < 2 or first[0] != word[0]:
        return False
    return re.match(".*?".join(map(re.escape, first)), word) is not None
