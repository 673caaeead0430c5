"""Whose a plug's number is, where the machine has several feeders.

Told it is by `plug = E1` in a feeder's own section, by `E0 = COARSE` or `P1 is fine` in a remark, by one feeder's name as the
remark of a line that a plug names, or by `known_as: [E1]` in the site file. `known_as: [B]` is a letter by itself: what a person
explained of a word of codes with that letter, `C61 A640 B1170`, is that feeder's.

Plugs may be crossed: what tells a plug goes before any counting of numbers. What the site file says goes before all else. Where two
places tell one plug of two feeders, or two plugs of one letter of one, nothing is edited by it until the site file says which it is.

How numbers are counted that nobody told is said in `feeders.py`. This module looks at no quantities.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.aside_words import aside_words
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.named_feeders import NamedFeeders
from cfgmigrate.machine.words import Counted, read_name, split

#: a plug's letters, in small ones, and its number
Plug = tuple[str, int]
_PLUG = pattern(r"([A-Za-z]{1,3})[ _-]?([0-9]{1,2})")
_LETTER = pattern(r"[A-W]", re.I)
_AXES = frozenset("xyzabc")
_OF_A_MOTOR = frozenset(("plug", "socket", "connector", "port", "channel", "output", "slot", "driver"))
_OF_ANOTHER = frozenset(("sensor", "switch", "eye", "fan", "heater", "hotend", "part", "probe"))
#: `E0 = COARSE`, `P1 is fine`, `T0: the fine feeder`; what is said ends behind the name
_TOLD = pattern(
    r"(?<![\w.#])([A-Za-z]{1,3}[0-9]{1,2})[ \t]*(?:[=:]|->|is|for|drives|feeds)?[ \t]*(?:the[ \t]+)?([^\W\d_][\w -]{0,30}?)"
    r"(?:[ \t]+(?:feeder|extruder|drive|one|side))?[ \t]*(?=[,;.)(|*/]|$|[ \t]and[ \t])"
)
#: the other way round: `fine = E1`, `coarse: plug E0`
_TOLD_BEHIND = pattern(
    r"(?<![\w.#])([^\W\d_][\w-]{0,30}?)[ \t]*(?:[=:]|->|is|on|in)[ \t]*(?:the[ \t]+)?(?:plug[ \t]+|socket[ \t]+|tool[ \t]+)?"
    r"([A-Za-z]{1,3}[0-9]{1,2})[ \t]*(?=[,;.)(|*/]|$)"
)
_IN_HEADER = pattern(r"//[^\r\n]*|/\*[^*]*(?:\*(?!/)[^*]*)*")
_IN_LINES = pattern(r"(?:^|[ \t])(?:[#;]|//)[^\r\n]*", re.M)
_BEHIND = pattern(
    r"[ \t]*(?:/\*+|//|[#;])[ \t]*(?:the[ \t]+)?([^\W\d_][\w -]{0,30}?)(?:[ \t]+(?:feeder|one))?[ \t]*(?:\*+/)?[ \t]*(?=\r|\n|\Z)"
)
#: a remark with such a word tells what was, or what is not
_OTHERWISE = frozenset(("not", "never", "before", "until", "if", "when", "would"))
#: so much of a file's remarks is looked at
_LONGEST = 60_000


class ToldPlugs(Struct, frozen=True):
    """The feeder, from 1 on, of each plug that is told; of those that are told of several, why nothing is edited by them."""

    of: Mapping[Plug, int] = field(default_factory=dict)
    contested: Mapping[Plug, str] = field(default_factory=dict)
    #: the feeder of a letter by itself that the site file gives one feeder alone
    letters: Mapping[str, int] = field(default_factory=dict)

    def feeder(self, counted: Counted) -> int | None:
        """The feeder that a number is told to be of, None where nothing tells it."""
        return None if counted.side else self.of.get((counted.word, counted.number))

    def why_not(self, counted: Counted | None) -> str:
        """Why nothing is edited by a number, "" where nothing stands against it."""
        return (
            "" if counted is None or counted.side else self.contested.get((counted.word, counted.number), "")
        )

    def taken(self, word: str, feeder: int) -> bool:
        """Whether another plug of a word is told to be a feeder's."""
        return any(letters == word and number == feeder for (letters, _), number in self.of.items())

    def on_line(self, words: Iterable[Setting]) -> Counted | None:
        """The one plug that stands among the words of a word-address line: `P1` of `C7 P1 E93.4`."""
        found = [
            plug
            for each in words
            if len(each.key) == 1 and each.value.isdecimal() and len(each.value) < 3
            if (plug := _same(each.key, each.value)) in self.of or plug in self.contested
        ]
        return Counted(found[0][1], found[0][0]) if len(found) == 1 else None


def told_plugs(documents: Sequence[Document], named: NamedFeeders, told: Sequence[Feeder]) -> ToldPlugs:
    """The plugs of which the site file (`told`) or the documents tell whose they are. Nothing where these name no two feeders."""
    by_site = {plug: each.number for each in told for text in each.known_as if (plug := _plug(text))}
    names = {
        **{name: number for name, number in named.names.items() if not name.isdecimal()},
        **_sides(documents),
    }
    found: dict[Plug, dict[int, str]] = defaultdict(dict)
    if len(set(names.values())) > 1:
        for document in documents:
            for plug, number, line in (
                *_by_sections(document, named),
                *_by_remarks(document, names),
                *_by_lines(document, names),
            ):
                if plug not in by_site and plug[0] not in _AXES:
                    found[plug].setdefault(number, f"{document.path}:{line}")
    return replace(_agreed(by_site, found), letters=_letters(told))


def _letters(told: Iterable[Feeder]) -> dict[str, int]:
    found: dict[str, set[int]] = defaultdict(set)
    for each in told:
        for text in each.known_as:
            if _LETTER.fullmatch(text.strip()):
                found[text.strip().upper()].add(each.number)
    return {letter: next(iter(of)) for letter, of in found.items() if len(of) == 1}


def _agreed(by_site: Mapping[Plug, int], found: Mapping[Plug, Mapping[int, str]]) -> ToldPlugs:
    of = {**by_site, **{plug: next(iter(by)) for plug, by in found.items() if len(by) == 1}}
    contested = {
        plug: f"{' and '.join(list(by.values())[:2])} tell {_shown(plug)} of different feeders"
        for plug, by in found.items()
        if len(by) > 1
    }
    for plug, by in found.items():
        others = [each for each in of if each != plug and each[0] == plug[0] and each[1] != plug[1]]
        same = [each for each in others if len(by) == 1 and of[each] == next(iter(by))]
        if same:
            contested[plug] = (
                f"{next(iter(by.values()))} tells {_shown(plug)} of the feeder that {_shown(same[0])} is told of"
            )
    return ToldPlugs({plug: number for plug, number in of.items() if plug not in contested}, contested)


def _shown(plug: Plug) -> str:
    return f"T{plug[1]}" if plug[0] == "tool" else f"{plug[0].upper()}{plug[1]}"


def _same(letters: str, number: str) -> Plug:
    letters = letters.casefold()
    return ("tool" if letters == "t" else letters), int(number)


def _plug(text: str) -> Plug | None:
    found = _PLUG.fullmatch(text.strip().strip("\"'"))
    return _same(found[1], found[2]) if found else None


def _sides(documents: Iterable[Document]) -> dict[str, int]:
    """The sides by which sections tell feeders apart: `[feeder left]`."""
    sections = {each.section for document in documents for each in document.settings if each.section}
    sides = {word: number for word, number in holder_words().sides.items() if len(word) > 2}
    return {
        word: sides[word]
        for section in sections
        if (counted := read_name(section, "").counted) and counted.side
        for word in split(section)
        if sides.get(word) == counted.number
    }


def _by_sections(document: Document, named: NamedFeeders) -> Iterator[tuple[Plug, int, int]]:
    """The plugs that lines in a feeder's own section give: the plug, the feeder, the line."""
    for setting in document.settings:
        key = frozenset(split(setting.key)) if setting.section and len(setting.value) < 8 else frozenset()
        if (
            setting.state is not State.ACTIVE
            or key.isdisjoint(_OF_A_MOTOR)
            or not key.isdisjoint(_OF_ANOTHER)
        ):
            continue
        plug = _plug(setting.value)
        if plug is None or not _OF_ANOTHER.isdisjoint(split(setting.section)):
            continue
        number = named.of.get((document.path, setting.at)) or named.by_section(setting.section)
        counted = read_name(setting.section, "").counted
        if number is None and counted and counted.side:
            number = counted.number
        if number is not None:
            yield plug, number, setting.line


def _by_remarks(document: Document, names: Mapping[str, int]) -> Iterator[tuple[Plug, int, int]]:
    text = document.data[:_LONGEST].decode("latin-1")
    marks = _IN_HEADER if document.dialect == "header" else _IN_LINES
    for remark in marks.finditer(text) if not text.lstrip().startswith("{") else ():
        line = text.count("\n", 0, remark.start()) + 1
        for at, part in enumerate(remark[0].splitlines()):
            if not _OTHERWISE.isdisjoint(words := split(part)) or not aside_words().past.isdisjoint(words):
                continue
            told = [(found[1], found[2]) for found in _TOLD.finditer(part)]
            told += [(found[2], found[1]) for found in _TOLD_BEHIND.finditer(part)]
            for text_of_plug, name in told:
                plug, number = _plug(text_of_plug), names.get(name.strip().casefold())
                if plug and number is not None:
                    yield plug, number, line + at


def _by_lines(document: Document, names: Mapping[str, int]) -> Iterator[tuple[Plug, int, int]]:
    """The plugs that begin the keys of lines behind which a remark is one feeder's name and nothing else."""
    data = document.data.decode("latin-1")
    for setting in document.settings:
        pieces = split(setting.key) if setting.state is State.ACTIVE else []
        if (
            len(pieces) > 2
            and pieces[1].isdecimal()
            and len(pieces[1]) < 3
            and pieces[0].isalpha()
            and len(pieces[0]) < 4
        ):
            behind = _BEHIND.match(data, setting.end)
            number = names.get(behind[1].strip().casefold()) if behind else None
            if number is not None:
                yield _same(pieces[0], pieces[1]), number, setting.line


def whose_is_it(plug: Plug) -> str:
    """What a person can do about a plug of which it is not certain whose it is."""
    known = f"feeders: {{1: {{known_as: [{_shown(plug)}]}}}}"
    return f"say in cfgmigrate.yaml whose it is: `{known}`, or 2 where it is the second one's"
