"""Short names that a file's opening remark lists, each with what it is short for, without a sign between the two:

    ; spm st/mm, vmx max spd, ir run cur, ih hold cur, fst full st/rev

A list has four entries and more, and all of its entries are such: a name of two to four letters that several keys of the file have, and a few
words, which are mostly the trade's. Of a name that is a word of the trade itself nothing new is said.

Only words are parted here; what they mean together is the matter of `matching.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

Pieces = tuple[str, ...]
_ENTRY = pattern(r"([A-Za-z]{2,4})[ \t]+([A-Za-z][A-Za-z/^0-9 ]{2,30})")
#: so many entries make a list, and so many keys have the name
_FEWEST, _KEYS = 4, 2
#: between lines of an opening remark
_NEXT_LINE = " . "
_LONGEST = 400


def short_names_listed(opening: str, paths: Iterable[Pieces]) -> Mapping[Pieces, Pieces]:
    """Short names as pieces, with the pieces of what each is short for; {} where the opening remark has no such list."""
    lists = [
        found for line in opening.split(_NEXT_LINE) if len(line) < _LONGEST and (found := _entries(line))
    ]
    if len(lists) != 1:
        return {}
    used = Counter(piece for path in paths for piece in {*path})
    if any(used[short] < _KEYS for short in lists[0]):
        return {}
    return {
        (short,): meant for short, meant in lists[0].items() if _is_known(meant) and not _is_known((short,))
    }


def _entries(line: str) -> Mapping[str, Pieces]:
    """The entries of a line that is such a list; {} for any other."""
    parts = [_ENTRY.fullmatch(part.strip(" \t.")) for part in line.split(",")]
    found = {part[1].lower(): tuple(split(part[2])) for part in parts if part}
    understood = sum(_is_known(meant) for meant in found.values())
    return found if len(parts) == len(found) and understood >= max(_FEWEST, 0.75 * len(found)) else {}


def _is_known(pieces: Pieces) -> bool:
    return all(word in vocabulary().known for piece in pieces for word in ways_of(piece)[0])
