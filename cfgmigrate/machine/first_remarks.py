"""The remark of a code's first line, for further lines of the same code: a code sets one thing wherever it stands.

A remark that says it is the same means the code's first. One that lists all letters of its line explains them for later lines, unless their own remark names a part or a
unit. Any other remark explains later lines without one that have the same letters; axes count as one letter. A list about one thing explains the letters
of another code for another feeder. Codes of G are moves and modes, and are left out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.code_legends import letters_listed
from cfgmigrate.machine.listed_letters import names_a_thing
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Counted, read_name

Letters = tuple[str, ...]
#: a remark that says of its line what an earlier one said
_THE_SAME = pattern(r"(?:the )?(?:same|ditto|likewise)\b|as (?:above|before)\b", re.I)
_AS_BEFORE = pattern(r"\b(?:as|like) (?:above|before)\b|\b(?:the )?same letters\b", re.I)


@dataclass(eq=False, repr=False)
class FirstRemarks:
    """The first remarks of each code, taken in the order of lines."""

    _first: dict[str, str] = field(default_factory=dict)
    _lists: dict[str, str] = field(default_factory=dict)
    _others: dict[tuple[str, Letters], str] = field(default_factory=dict)
    #: by what they are about: the letters that a list explains, and the list; None for two lists about one thing
    _about: dict[frozenset[str], str | None] = field(default_factory=dict)

    def take(self, code: str, letters: Letters, remark: str) -> None:
        if not remark or not letters or code.startswith("G"):
            return
        self._first.setdefault(code, remark)
        self._others.setdefault((code, _alike(letters)), remark)
        if code not in self._lists and _explains(remark, letters):
            self._lists[code] = remark
            subject, colon, _ = remark.partition(":")
            if colon and (about := _words_of(subject)):
                self._about[about] = None if about in self._about else remark

    def list_for(self, code: str, letters: Letters, own: str) -> str:
        """The list of letters that explains a line with the remark `own`; "" for none."""
        listed = self._lists.get(code, "")
        another = (names_a_thing(own) or stated(own).unit is not None) and not _AS_BEFORE.search(own)
        return listed if listed and listed != own and not another and _explains(listed, letters) else ""

    def list_of_another_feeder(self, letters: Letters, own: str) -> tuple[str, Counted] | None:
        """The list that explains these letters for a line of another code, whose remark says that it is the same of a feeder that it
        counts: `retraction of the second feeder` beside `retraction: L length, F speed`. None for any other remark."""
        counted = read_name("", own).counted if own and ":" not in own else None
        if counted is None or "feeder" not in vocabulary().names_in(frozenset((counted.word,))):
            return None
        listed = self._about.get(_words_of(own))
        return (listed, counted) if listed and _explains(listed, letters) else None

    def same_for(self, code: str, own: str) -> str:
        """The code's first remark, for a line whose own says that it is the same; "" for none."""
        first = self._first.get(code, "")
        same = _THE_SAME.match(own) or _AS_BEFORE.search(own)
        return first if first != own and same else ""

    def other_for(self, code: str, letters: Letters, own: str) -> str:
        """The remark of the same code and letters, for a line that has none; "" for none."""
        return "" if own else self._others.get((code, _alike(letters)), "")


def _explains(remark: str, letters: Letters) -> bool:
    listed = letters_listed(remark, letters)
    return listed is not None and listed.letters.keys() >= set(letters)


def _words_of(text: str) -> frozenset[str]:
    """The words that say what a remark is about, without those that say of which feeder."""
    own = {word for spelling in vocabulary().spelled("feeder") for word in spelling} | vocabulary().fillers
    return frozenset(read_name("", text).key) - own


def _alike(letters: Letters) -> Letters:
    return () if LETTERS_OF_AXES.issuperset(letters) else letters
