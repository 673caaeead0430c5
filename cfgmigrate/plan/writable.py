"""What may be written in the place of what: the one list of forms, for what is planned and for what is installed.

A plan may come from a stranger who sealed it anew, so the forms are few. One number, finite and of bounded length,
or gear stages, in the place of such; the contrary of a word that says a truth, only where the files are known to
hold a truth. What is replaced is a whole number of the file: no digit within a name (`ttyS0`), an address
(`10.0.0.7`) or a version (`1.4.2`).

This module knows the text around a value and no quantity.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written

#: characters of a value; no number of a machine has as many
LONGEST_VALUE = 40
_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?"
_STAGE = rf"{_NUMBER} *[:/] *{_NUMBER}"
_FORMS = pattern(rf"{_NUMBER}|{_STAGE}(?: *, *{_STAGE})*")
_EACH_NUMBER = pattern(_NUMBER)
#: a number as files have it: with blanks in it too, as RS-274 allows, and several tools' numbers joined by colons
_REPLACED = pattern(r"[+-]?[0-9.][0-9.+:/, \teE-]*")
#: of a number, or of a lone stage of gears
_STAGE_S_COMMA = pattern(r"(?<=[0-9]),(?=[0-9])")
_IN_TOKEN = pattern(r"[A-Za-z0-9_.]")
_WORDS_BEFORE = pattern(r"(?:[A-Za-z][+-]?[0-9.]*)*[A-Za-z]")
_WORDS_BEHIND = pattern(r"(?:[A-Za-z][+-]?[0-9.]*)*")
#: what C puts behind a number to say its type
_C_SUFFIXES = frozenset(("f", "F", "l", "L", "u", "U", "UL", "ul"))

#: what says the contrary of a word or number that says a truth, in the same manner of speaking
CONTRARY = {
    "yes": "no", "no": "yes", "true": "false", "false": "true", "on": "off", "off": "on", "0": "1", "1": "0",
    "reversed": "normal", "inverted": "normal", "invert": "normal", "reverse": "forward", "normal": "reversed",
    "straight": "reversed", "backward": "forward", "forward": "backward", "backwards": "forwards",
    "forwards": "backwards", "negative": "positive", "positive": "negative", "minus": "plus", "plus": "minus", "-1": "+1", "+1": "-1",
}  # fmt: skip


def is_value(text: str) -> bool:
    """Whether a text is one of the forms that may be written."""
    if len(text) > LONGEST_VALUE or not _FORMS.fullmatch(text):
        return False
    return all(math.isfinite(float(number)) for number in _EACH_NUMBER.findall(text))


def is_truth(old: str, new: str) -> bool:
    """Whether both texts are words that say a truth."""
    return {old.lower(), new.lower()} <= CONTRARY.keys()


def why_not(old: str, new: str, truth: bool, commas: bool = False) -> str:
    """Why `new` may not take the place of `old`, "" where it may; `truth` says that the place holds a truth, `commas` that
    the file's numbers have commas for points: then a point may not be written there but where one stood, as in the words of a script,
    nor a comma in any other file."""
    if commas and "." in new and "." not in old:
        return "a point is written where the file's numbers have commas"
    if (
        not is_value(_STAGE_S_COMMA.sub(".", new) if commas and "." not in new else new)
        or not _REPLACED.fullmatch(old)
        or len(old) > LONGEST_VALUE
    ):
        if is_truth(old, new):
            return "" if truth else "a word takes the place of another where nothing says that it is a truth"
        return "only a number may take the place of a number"
    return ""


def part_of(before: str, behind: str, words: bool) -> str:
    """What a value is a part of, "" where it is a whole one: `before` and `behind` are the text around it on its
    line. `words` says that the text is word-address lines, in which words need no blanks between them."""
    head = "".join(reversed(_run(reversed(before))))
    tail = "".join(_run(behind))
    if not head and (not tail or tail in _C_SUFFIXES or unit_written(tail) is not None):
        return ""
    if words and _WORDS_BEFORE.fullmatch(head) and _WORDS_BEHIND.fullmatch(tail):
        return ""
    return f"{head}…{tail}"


def _run(characters: Iterable[str]) -> list[str]:
    found: list[str] = []
    for character in characters:
        if not _IN_TOKEN.match(character):
            break
        found.append(character)
    return found
