"""Lines that set once more what a section set, and name it by its path: `feeder / steps per mm = 92.2` below `kept values`.

A machine that writes what it keeps to the end of a file has one place for it, and says before each key whose it is.
Such a line is a setting of the section that it names, as written by the machine. It is one only where a section of that name
stands in the file, two such lines at least name keys that their sections have, and a word of the section that holds these
lines, or of the lines right above the first of them that set nothing, says that they are kept, that the machine writes them or that
they win. `[speed] x.max` is a speed, and what was before a rebuild is past.

This module knows no word of the trade, but for those that say that something is kept.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.ground.pattern import pattern

if TYPE_CHECKING:
    from cfgmigrate.dialects.source import Source

#: what may stand between a section's name and a key of it
_SIGNS = ("/", ">", "|", ".", ":", "->", "\N{SINGLE RIGHT-POINTING ANGLE QUOTATION MARK}")
_KEEPS = (
    r"(?i)\b(?:sav(?:ed|es)|stor(?:ed|es)|kept|keeps|remembers|remembered|learned|learnt"
    r"|(?:written|noted|put) (?:here |down |in )?by (?:it|[^.,;!\r\n]{0,30}\bitself|(?:the )?(?:machine|printer|board|card|controller))"
    r"|(?:it|machine|printer|board|card|controller) (?:itself )?writes)\b"
)
#: one of these stands in whatever says so, and in few files
_STEMS = ("sav", "stor", "kept", "keeps", "remember", "learn", " by ", "writes")
_NOT_KEPT = pattern(
    r"(?i)\b(?:(?:nothing|none|no)\b[^.!\r\n]{0,40}|(?:never|not)\b[^.,;!\r\n]{0,30})"
    r"\b(?:sav|stor|kept|keep|rememb|learn|overrid|win|beat|count|goe?s?\b|written|writes)"
)
_PAST = pattern(r"(?i)\b(?:before|until|old|older|former|formerly|previous|earlier|was|were|ago|last)\b")
_PAST_THERE = pattern(
    r"(?i)\b(?:until|old|older|former|formerly|previous|ago|before (?:the|that|my|our|it))\b"
)
#: what a head says in brackets behind its name
_ASIDE = pattern(r"[ \t]*\([^()]*\)$")
#: so many lines name keys that their sections have
FEWEST_BY_PATH = 2


@cache
def _kept() -> re.Pattern[str]:
    """What says that something is kept, or that it counts in the end."""
    return re.compile(f"{_KEEPS}|{last_word().among_names}")


def by_their_paths(source: Source) -> None:
    """Puts the settings that name another section's by its path below that section."""
    if not any(source.sections):
        return
    small = source.text.lower()
    if not any(each in small for each in (*_STEMS, *last_word().stems)):
        return
    keys: dict[str, set[str]] = defaultdict(set)
    names: dict[str, str] = {}
    for section, key in zip(source.sections, source.keys, strict=True):
        keys[section.casefold()].add(key.casefold())
        names.setdefault(section.casefold(), section)
    for section in {_ASIDE.sub("", each).casefold() for each in keys} - names.keys():
        meant = {each for each in source.sections if _ASIDE.sub("", each).casefold() == section}
        if len({each.casefold() for each in meant}) == 1:
            names[section] = min(meant)
    written = tuple(source.sections)
    found: dict[str, list[tuple[int, str, str]]] = defaultdict(list)
    known: dict[str, int] = defaultdict(int)
    for number, (section, path) in enumerate(zip(source.sections, source.keys, strict=True)):
        named, key = _parted(path, names)
        if named and named != section:
            found[section].append((number, named, key))
            known[section] += key.casefold() in keys[named.casefold()]
    for section, several in found.items():
        if known[section] < FEWEST_BY_PATH:
            continue
        if _PAST.search(section) or not (
            _kept().search(section) or _says_kept(source, written, several[0][0])
        ):
            continue
        for number, named, key in several:
            source.sections[number], source.keys[number] = named, key
            source.saved.add(number)


def _parted(path: str, names: dict[str, str]) -> tuple[str, str]:
    """The section and the key that a path names; `("", "")` where it is none."""
    for sign in _SIGNS:
        named, found, key = path.partition(sign)
        if found and key.strip() and (section := names.get(named.strip().casefold())):
            return section, key.strip()
    return "", ""


def _says_kept(source: Source, sections: Sequence[str], number: int) -> bool:
    """Whether the lines right above a setting that set nothing, its section's head among them, say that what follows is kept."""
    signs = [sign for sign in _SIGNS if sign in source.keys[number]]
    while (
        number
        and sections[number - 1] == sections[number]
        and any(sign in source.keys[number - 1] for sign in signs)
    ):
        number -= 1  # a path that names no section stands among those that do
    before = source.ends[number - 1] if number else source.base
    said = "\n".join(source.text[before : source.starts[number]].splitlines()[1:-1])
    return bool(_kept().search(said)) and not _NOT_KEPT.search(said) and not _PAST_THERE.search(said)
