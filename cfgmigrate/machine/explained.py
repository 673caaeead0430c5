"""What a file itself says that its words stand for.

| what its remarks and headings explain | found in |
|---|---|
| letters, abbreviations and tags | `legends.py` |
| symbols | `symbol_legends.py` |
| numbers at the end of keys | `index_legends.py` |
| letters by which it marks axes | `axis_marks.py` |
| units of names that end alike | `unit_legends.py` |
| names that it gives to axes and to the filament's drive | `parts_told.py` |
| axes that it calls by the part that they move | `axes_by_part.py` |
| unknown letters that all keys below a heading begin with | `headed_prefixes.py` |

Told here are a remark behind a heading that says which axis the section is of, and initials of a heading above a run of lines:

    # bridge = X   table = Y   reel = the drive that pushes filament

    [across]        # x, along the bench
    # press comp
    b3.pc.k = 0.57

Where the same names stand behind `feeda` and `feedb`, the letter is the feeder's.
Two numbers behind an axis's letter are the two corners of a grid: `grid_x0` beside `grid_x1`.

This module looks at words and remarks only; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from itertools import pairwise

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.remark_marks import LINE_MARK
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.axes_by_part import AxesByPart, axes_by_part
from cfgmigrate.machine.axis_marks import axis_marks
from cfgmigrate.machine.headed_prefixes import headed_prefixes
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.index_legends import indexes_told, with_index_first
from cfgmigrate.machine.legends import in_full, letters_told, part_of, spelled_out, tags_told, words_told
from cfgmigrate.machine.parts_told import parts_told
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.short_lists import short_names_listed
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.symbol_legends import owners_told, symbols_told
from cfgmigrate.machine.unit_legends import unit_legends, with_unit_words
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
_HEADED = pattern(
    rf"^[ \t]*(?:\[([^\[\]\r\n]{{1,80}})\]|([A-Za-z][A-Za-z _-]{{0,80}}):)[ \t]*{LINE_MARK}+[ \t]*"
    r"(?:the )?(?:axis )?([xyzXYZ])(?: axis)?[ \t]*(?=[,;:.(\r\n]|$| [-–] )",
    re.M,
)
_WORDS = r"[A-Za-z]{2,20}(?: [A-Za-z]{2,20}){1,2}"
_ALONE = pattern(
    rf"[ \t]*{LINE_MARK}[#;/]*[ \t]*({_WORDS})[ \t]*(?:\([^()]{{0,80}}\)|,[ \t]*[^\s,]{{1,8}})?[ \t]*"
)
#: a heading that is set off by signs, whatever it says behind its first words: `/* --- filament drive, on the post --- */`
_DRAWN = pattern(
    rf"[ \t]*(?:#+|;+|//+|/\*)[ \t]*(?:-{{2,80}}|={{2,80}}|\*{{2,80}}|~{{2,80}})[ \t]*({_WORDS})[ \t]*(?:[,:(][^\r\n]*|[-=*~][^\r\n]*)?"
)
_AXES = frozenset("xyz")
#: how far off one thing is from another along an axis, in symbols
_SIDEWAYS = frozenset({"dx", "dy", "dz"})
#: letters of a word that a feeder's letter may be joined to, and the names that both feeders must have
_SHORTEST, _SAME = 3, 3
#: which corner a number behind an axis's letter is, by the numbers that stand there
_CORNERS: dict[Pieces, dict[str, str]] = {
    ("0", "1"): {"0": "first", "1": "last"},
    ("1", "2"): {"1": "first", "2": "last"},
}


class Explained:
    """The words that one document explains in its remarks, and those that the user explained of it."""

    def __init__(self, document: Document, remarks: Remarks, taught: Mapping[Pieces, Pieces]) -> None:
        opening, text = remarks.opening, remarks.text
        paths = [(*split(each.section), *split(each.key)) for each in document.settings]
        self._letters = letters_told(opening)
        self._symbols = symbols_told(opening)
        self._owners = (
            {each: (said, said) for each, said in owners_told(opening).items() if part_of(said)}
            if self._symbols
            else {}
        )
        self._tags = tags_told(opening, (each.key for each in document.settings if not each.section))
        self._indexes = indexes_told(opening, (tuple(split(each.key)) for each in document.settings))
        self._marks = axis_marks(paths)
        self.legends = unit_legends(text, (tuple(split(each.key)) for each in document.settings))
        commands = document.dialect == "command"
        self._headed = {} if commands else _axes_of_headings(text)
        whole = {(tuple(split(each.section)), tuple(split(each.key))) for each in document.settings}
        self._parts = {} if commands else parts_told(text, whole, (each.key for each in document.settings))
        told = bool(self._headed or self._parts)
        self.by_part = AxesByPart() if told else axes_by_part(document, text)
        initials = _initials(text, paths) if document.dialect in ("flat", "header") else {}
        self._short = {**short_names_listed(opening, paths), **initials, **words_told(opening), **taught}
        self._prefixes = headed_prefixes(document, remarks)
        self._sides = _sides(paths)
        self._corners = {path for path in paths if path[-2:-1] and path[-2] in _AXES and path[-1] in "012"}

    def tagged(self, path: tuple[Pieces, Pieces]) -> tuple[Pieces, Pieces] | None:
        """Section and key of a path whose beginning says of which part of the machine it is; None for any other."""
        section, key = path
        marked = self._tags.get(key[:2]) if self._tags and not section and len(key) > 2 else None
        if marked:
            return marked, key[2:]
        axis = self._marks.get((section + key)[0]) if self._marks and section + key else None
        if axis:
            return ((axis, *section[1:]), key) if section else ((), (axis, *key[1:]))
        return None

    def spelled(self, section: Pieces, key: Pieces) -> tuple[Pieces, Pieces]:
        """A section and a key with the words that the file explains in full."""
        if self.legends:
            key = with_unit_words(key, self.legends)
        if self._indexes:
            key = with_index_first(key, self._indexes)
        if self._headed:
            section, key = self._headed.get(section, section), self._headed.get(key, key)
        if self._parts:
            section, key = self._by_parts(section, key)
        if self.by_part.axes:
            section, key = self.by_part.spelled(section, key)
        section, key = self.in_full(section, key)
        if self._prefixes and not section:
            key = (*self._prefixes.get(key[:1], key[:1]), *key[1:])
        if self._sides and key[:1] and not section:
            key = (*self._sides.get(key[0], key[:1]), *key[1:])
        if self._symbols and (said := self._by_symbols(key)):
            return section, said
        if self._letters:
            section = spelled_out(section, self._letters)
            key = key if section else spelled_out(key, self._letters)
        return section, key

    def _by_symbols(self, key: Pieces) -> Pieces:
        """A key with the symbol at its beginning as its measure, and the letter of what it is of: `I0_e`, `dx_p`; () for any other key."""
        if len(key) < 2:
            return ()
        wide = 2 if len(key) > 2 and key[1].isdigit() and key[0] + key[1] in self._symbols else 1
        if measure := self._symbols.get("".join(key[:wide])):
            return (*measure, *spelled_out(key[wide:], self._owners))
        if len(key) == 2 and len(key[0]) == 2 and key[0] in _SIDEWAYS and key[1] in self._owners:
            return (key[0], *spelled_out(key[1:], self._owners))
        return ()

    def _by_parts(self, section: Pieces, key: Pieces) -> tuple[Pieces, Pieces]:
        """A section and a key with what the file says that the beginning of either stands for, or the last level."""
        for name, meant in self._parts.items():
            wide = len(name)
            if section[:wide] == name:
                return (*meant, *section[wide:]), key
            if section[-wide:] == name:
                return (*section[:-wide], *meant), key
            if key[:wide] == name and (
                not section or name[-1:] == meant
            ):  # `carriage (x)` says its axis itself
                return section, (*meant, *key[wide:])
        return section, key

    def in_full(self, section: Pieces, key: Pieces) -> tuple[Pieces, Pieces]:
        """The same with abbreviations alone in full."""
        if not self._short:
            return section, key
        return in_full(section, self._short), in_full(key, self._short) or key

    def with_words(self, told: Mapping[Pieces, Pieces]) -> Explained:
        """The same with further words explained."""
        found = copy(self)
        found._short = {**self._short, **told}
        return found

    def corner(self, path: tuple[Pieces, Pieces], key: Pieces) -> Pieces:
        """A key of a grid with the number of its corner as a word."""
        whole = path[0] + path[1]
        if whole not in self._corners:
            return key
        there = tuple(number for number in "012" if (*whole[:-1], number) in self._corners)
        words = frozenset(word for piece in whole for word in ways_of(piece)[0])
        said = _CORNERS.get(there, {}).get(whole[-1], "")
        return (*key[:-1], said) if said and "mesh" in vocabulary().names_in(words) else key


def _axes_of_headings(text: str) -> dict[Pieces, Pieces]:
    """Headings whose remark says that they are of an axis, where several do and each of another; {} for fewer."""
    told = [(tuple(split(found[1] or found[2])), found[3].lower()) for found in _HEADED.finditer(text)]
    axes = Counter(axis for _, axis in told)
    return {name: (axis,) for name, axis in told} if len(axes) > 1 and max(axes.values()) == 1 else {}


def _sides(paths: Iterable[Pieces]) -> dict[str, Pieces]:
    """First pieces that are a word of the feed path with a feeder's letter joined to it, where both letters have several
    names behind them that are the same."""
    behind: dict[str, set[Pieces]] = defaultdict(set)
    for path in paths:
        if len(path) > 1 and len(path[0]) > _SHORTEST and path[0][-1] in "ab":
            behind[path[0]].add(path[1:])
    stems = {piece[:-1] for piece in behind} & holder_words().counted
    both = {stem for stem in stems if len(behind[stem + "a"] & behind[stem + "b"]) >= _SAME}
    # as a side: `a` by itself is an article too, and `feed a rev` no direction
    return {stem + letter: (stem, side) for stem in both for letter, side in (("a", "left"), ("b", "right"))}


def _initials(text: str, paths: Iterable[Pieces]) -> dict[Pieces, Pieces]:
    """Pieces of keys that are the initials of the heading above their lines, or those of all its words but the last with that,
    `fdrive`; all words of the heading are known. Of several headings that are shortened so the only one with such a key below."""
    pieces = {piece for path in paths for piece in path}
    meant: dict[str, dict[Pieces, str]] = defaultdict(dict)
    made = vocabulary()
    for words, below in _headings(text):
        first = "".join(word[0] for word in words[:-1])
        for short in (first + words[-1][0], first + words[-1]):
            if short in pieces and short not in made.known and short not in made.shorthand:
                meant[short][words] = below
    found: dict[Pieces, Pieces] = {}
    for short, several in meant.items():
        left = [words for words, below in several.items() if len(several) == 1 or short in below]
        if len(left) == 1 and all(each in made.known for word in left[0] for each in ways_of(word)[0]):
            found[short,] = left[0]
    return found


def _headings(text: str) -> Iterator[tuple[Pieces, str]]:
    """The words of each heading, and the lines below it up to the next one in lower case."""
    lines = text.splitlines()
    found = [
        (at, head[1])
        for at, line in enumerate(lines)
        if (head := _ALONE.fullmatch(line) or _DRAWN.fullmatch(line))
    ]
    for (at, words), (end, _) in pairwise((*found, (len(lines), ""))):
        yield tuple(split(words)), "\n".join(lines[at + 1 : end]).lower()
