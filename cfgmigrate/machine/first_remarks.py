"""The remark of a code's first line, for further lines of the same code: a code sets one thing wherever it stands.

A remark that says it is the same means the code's first. One that lists all letters of its line explains them for later lines, unless their own remark names a part or a
unit. Any other remark explains later lines without one that have the same letters; axes count as one letter. Codes of
G are moves and modes, and are left out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.code_legends import letters_listed
from cfgmigrate.machine.listed_letters import names_a_thing
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES
from cfgmigrate.machine.stated import stated

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

    def take(self, code: str, letters: Letters, remark: str) -> None:
        if not remark or not letters or code.startswith("G"):
            return
        self._first.setdefault(code, remark)
        self._others.setdefault((code, _alike(letters)), remark)
        if code not in self._lists and _explains(remark, letters):
            self._lists[code] = remark

    def list_for(self, code: str, letters: Letters, own: str) -> str:
        """The list of letters that explains a line with the remark `own`; "" for none."""
        listed = self._lists.get(code, "")
        another = (names_a_thing(own) or stated(own).unit is not None) and not _AS_BEFORE.search(own)
        return listed if listed and listed != own and not another and _explains(listed, letters) else ""

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


def _alike(letters: Letters) -> Letters:
    return () if LETTERS_OF_AXES.issuperset(letters) else letters
