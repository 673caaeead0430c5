"""Whether a remark that says who counts in the end says it of its own file.

    ; read after the others
    ; this file wins
    ; Each machine's own file comes AFTER this and wins.

In the last one this file is what does not count. To take one for the other turns every value round that two files set, so it is
its own file only where the sentence calls it so, `this file`, or names nobody, and nobody else was spoken of so far. All else is of
somebody else, or in doubt, and then the remark says nothing.

By which words is told in `dialects/last_word.yaml`.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.ground.pattern import pattern

_STOP = pattern(r"[!?;]|\.(?![\w])")
_PART_END = pattern(r"[,:]| [-\u2013\u2014]+ ")
#: a word; the name of a file is one
_WORD = pattern(r"\w(?:[\w.-]*\w)?")
#: what is somebody's, and the name of a file
_SOMEBODYS = pattern(r"\w(?:['\u2019]s|s['\u2019])(?!\w)|(?<![\w.])[a-z][\w-]*\.[a-z]\w*", re.I)


def unfinished(said: str) -> str:
    """The sentence that goes on in the next line; "" where the last one ended."""
    return _STOP.split(said)[-1].strip()


def is_of_its_own_file(before: str, above: str = "") -> bool:
    """Whether what stands before a word such as `wins` leaves its own file the one that wins: `before` in its line, or in the whole
    text, and `above` in the lines over it."""
    *_, sentence = _STOP.split(before)
    said = _PART_END.split(sentence.strip(" \t\"'`([-"))[-1].strip()
    begun = len(sentence) == len(before) and unfinished(above)
    if said:
        goes_on = begun and _speaks_of_another(begun) and "this file" not in said.casefold()
        return _calls_itself(said) and not goes_on
    return not _speaks_of_another(f"{above} {before}")


def names_nobody(before: str, above: str = "") -> bool:
    """Whether the sentence itself begins with such a word and names nobody: `Kept on Sunday. Read last, wins over all.` Then it is of
    its own file perhaps, whoever was spoken of before."""
    *whole, sentence = _STOP.split(before)
    return not sentence.strip(" \t\"'`([-") and (bool(whole) or not unfinished(above))


def _calls_itself(said: str) -> bool:
    subject = last_word().subject
    words = [word.casefold() for word in _WORD.findall(said)]
    own = subject.sure.union(subject.own)
    return own.issuperset(words) and not subject.sure.isdisjoint(words) and words[-1] != "and"


def _speaks_of_another(said: str) -> bool:
    another = last_word().subject.another
    return _SOMEBODYS.search(said) is not None or any(
        word.casefold() in another for word in _WORD.findall(said)
    )
