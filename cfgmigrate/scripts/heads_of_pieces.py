"""Remarks over the pieces of a file of scripts: which occasion one names, `(end)`, so that another script begins below it.

What was set before holds no longer there. So a sentence that only has such a word in its midst, `the brush hangs on the right end
plate`, where it is a part's, is no head of a piece: what stood above it would be forgotten for nothing.
"""

from __future__ import annotations

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.script_role import occasion
from cfgmigrate.machine.words import read_name

#: a remark of so many words, with one of these, tells something; one that is a heading has its occasion among its first words, or as the last
_SENTENCE, _HEADING_WORDS = 6, 2
_TELLS = frozenset(("is", "are", "was", "were", "has", "hangs", "stands", "sits", "sitzt", "ist", "sind"))
#: parts of a machine that are called by an end: any other word behind it may be a heading's
_PARTS = frozenset(
    (
        "plate",
        "plates",
        "switch",
        "switches",
        "stop",
        "stops",
        "cap",
        "caps",
        "block",
        "blocks",
        "wall",
        "bracket",
        "side",
        "bearing",
    )
)
_WORD = pattern(r"[^\W\d_]+(?:['’]s)?")


def occasion_named(remark: str) -> str:
    """The id of the script that a remark names, "" where it names none."""
    text = remark.strip(";() \t")
    found = occasion(read_name("", text))
    return "" if found == "script.other" or _only_tells(text, found) else found


def _only_tells(text: str, found: str) -> bool:
    """Whether a remark is a sentence that has the word of an occasion in its midst, `the brush hangs on the right end plate`."""
    words = _WORD.findall(text)
    if len(words) < _SENTENCE or _TELLS.isdisjoint(words):
        return False
    naming = [at for at, word in enumerate(words) if occasion(read_name("", word)) == found]
    return bool(naming) and all(
        _HEADING_WORDS <= at < len(words) - 1 and words[at + 1].casefold() in _PARTS for at in naming
    )
