"""Scripts: settings whose value is lines of words that the machine runs at an occasion.

A value is a script where the key or the section says so, or where most of its lines are word-address lines
(a letter and a number, as in RS-274), quoted or not; a single line where it is a whole move, as `G1 E-7 F1800`. Its
occasion, such as the end of a print, comes from the words of key or section. What the lines do is not looked at here:
rules that need the moves read them.
"""

from __future__ import annotations

from functools import lru_cache

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

_WORD_ADDRESS = pattern(r"\s*(?:[Nn]\d+\s+)?[GMTgmt]\d+(?:\.\d+)?(?![A-Za-z0-9_.])")
#: a move alone; a screw, `M3 x10`, is none
_WHOLE_MOVE = pattern(r"[ \t\"'\[]*[Gg]0*[0-3](?:[ \t]+[A-Za-z][ \t]?[-+]?\d*\.?\d+)+[ \t\"'\],]*(?:[;(].*)?")
_LINE_BREAK = pattern(r"\r\n|\r|\n|\\n|\",\s*\"")


@lru_cache(maxsize=1)
def _script_words() -> frozenset[str]:
    return frozenset(word for spelling in vocabulary().script for word in spelling)


def script_role(name: Name, value: str) -> str:
    """The id of the script that a setting holds (`script.end`), "" where it holds none."""
    words = frozenset(name.words)
    says_so = not _script_words().isdisjoint(words) and any(map(words.issuperset, vocabulary().script))
    if _WHOLE_MOVE.fullmatch(value):
        return occasion(name)
    if not says_so and not _LINE_BREAK.search(value):
        return ""
    lines = [line.strip(" \t\"'\\[]-") for line in _LINE_BREAK.split(value)]
    lines = [line for line in lines if line and line[0] not in ";#("]
    moves = sum(1 for line in lines if _WORD_ADDRESS.match(line))
    looks_so = len(lines) > 0 and 2 * moves > len(lines)
    several = len(lines) > 1
    if not (looks_so and (several or says_so)) and not (says_so and several):
        return ""
    return occasion(name)


def is_code_line(text: str) -> bool:
    """Whether a line, quoted or not, is a word-address line."""
    return _WORD_ADDRESS.match(text.strip(" \t\"'")) is not None


def occasion(name: Name) -> str:
    """The id of a script by the occasion that its name says, the key before the section."""
    for words in (name.key, name.section):
        for role, spellings in vocabulary().roles.items():
            if set(words) & set(spellings):
                return f"script.{role}"
    return "script.other"
