"""Whose names are one, and whose only look so.

A record proves what was judged, not by whom: anybody can write any name. But a name that looks like another one would
make one person two, and nobody would see it: a Cyrillic letter for a Latin one, a letter of no width, a capital I
for an l. So names are compared by what is seen of them. The letters are those that Unicode's security mechanisms
(UTS 39, confusables.txt) give for the Latin small letters and digits, as far as Cyrillic and Greek names are written with them.

This module believes nobody; it only compares.
"""

from __future__ import annotations

import unicodedata

_LOOK = {
    "a": "аαɑ", "b": "ЬВвΒβ", "c": "сϲ", "d": "ԁ", "e": "еєεΕ", "g": "ɡ", "h": "һнΗη", "i": "іıιlӏ1|!",
    "j": "јϳ", "k": "кκ", "m": "мμ", "n": "пΝ", "o": "оοσ0օ", "p": "рρ", "q": "ԛ", "r": "гᴦ", "s": "ѕ", "t": "тτ",
    "u": "υս", "v": "νѵ", "w": "ԝωшѡ", "x": "хχ", "y": "уүγυ", "z": "ζᴢ",
}  # fmt: skip
_SEEN_AS = {ord(other.casefold()): seen for seen, others in _LOOK.items() for other in others}
#: letters by their class that show nothing, besides those of the classes C and Z
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
_TOGETHER = (("rn", "m"), ("vv", "w"))


def same_person(one: str, other: str) -> bool:
    """Whether two names are one, written with other blanks or capitals."""
    spelled = [" ".join(unicodedata.normalize("NFKC", name).casefold().split()) for name in (one, other)]
    return spelled[0] == spelled[1]


def looks_like(one: str, other: str) -> bool:
    """Whether two names are one, or can't be told apart by what is seen of them."""
    return same_person(one, other) or (_seen(one) == _seen(other) != "")


def _seen(name: str) -> str:
    """What is seen of a name: its letters and digits, each as the Latin one that it looks like."""
    letters = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", name).casefold())
    shown = "".join(
        letter if letter.isalnum() or unicodedata.category(letter) == "Mn" or letter in "|!" else " "
        for letter in letters
        if letter not in _BLANK
        and unicodedata.category(letter) != "Cf"
        and not unicodedata.name(letter, "").startswith("VARIATION SELECTOR")
    ).translate(_SEEN_AS)
    for several, single in _TOGETHER:
        shown = shown.replace(several, single)
    return " ".join(shown.split())
