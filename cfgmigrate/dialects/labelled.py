"""Values that say of each of their numbers what it is: `X 80, Y 80, Z 800`, `x:0 y:0 z:0`, `{len = 5.5, speed = 40}`.

And whole lines that are a row of such, with a label before it and maybe a leader of dots: `pulses/mm ..... x 80.00 y 80.00
feed 97.10`. A row has the letters of two axes, or three names and a leader or a unit in its label; else it is as often a
sentence.

Such a value is several settings on one line, each with its own number and a label that goes on with the key. Labels stand
before their numbers, with a blank, a colon or an equals sign between; the parts are divided by commas, semicolons or
slashes, or by blanks alone where each label has its sign or is one letter.

What this module deliberately does not do: read a sentence. A value in which anything else stands is one value.
"""

from __future__ import annotations

import re

from cfgmigrate.ground.pattern import pattern

_NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_UNIT = r"(?:[ \t]?[A-Za-z%°µ/^0-9]{1,8})?"
_TRUTH = r"yes|no|true|false|on|off|[yn]"
_VALUE = rf"(?:{_NUMBER}{_UNIT}|{_TRUTH})"
_DIVIDED = pattern(
    rf"(?P<label>[A-Za-z]{{1,12}})(?:[ \t]*[=:][ \t]*|[ \t]+)(?P<value>{_VALUE})(?=[ \t]*(?:[,;]|[ \t]/[ \t]|\Z|[\r\n#\]}})]|$))",
    re.I | re.M,
)
_BY_BLANKS = pattern(
    rf"(?P<label>[A-Za-z]{{1,12}})(?:[ \t]*[=:][ \t]*|(?<=\b[A-Za-z])[ \t]+)(?P<value>{_NUMBER})(?=[ \t]|\Z|[\r\n#\]}})]|$)",
    re.I | re.M,
)
_MOST = 8


def _several(part: re.Pattern[str], between: str) -> re.Pattern[str]:
    one = re.sub(r"\?P<[a-z]+>", "?:", part.pattern)
    return pattern(rf"{one}(?:{between}{one}){{1,{_MOST - 1}}}", re.I | re.M)


#: each way with the signs of which one is in it
_WAYS = (
    (",;/", _DIVIDED, _several(_DIVIDED, r"[ \t]*(?:[,;]|[ \t]/[ \t])[ \t]*")),
    ("0123456789", _BY_BLANKS, _several(_BY_BLANKS, r"[ \t]+")),
)
#: a row: its label, a leader, and names with a number each
_LABEL = r"[A-Za-z][^\s.:;=]{0,23}(?:[ \t]{1,4}[^\s.:;=]{1,24}){0,5}?"
_LEADER = r"[ \t]*(?:\.(?:[ \t]?\.)+[ \t]*[:=]?|[:=])[ \t]*"
_IN_ROW = (
    rf"(?P<label>[A-Za-z]{{1,12}})(?:[ \t]*[=:][ \t]*|[ \t]+)(?P<value>{_NUMBER})(?![\d.])"
    r"(?:[ \t]?[A-Za-z%°µ/][A-Za-z/²^0-9]{0,7}+(?![ \t]*[=:]?[ \t]*[-+]?[.\d]))?"
)
#: what the second number of every row has, and few other lines
_SECOND = pattern(r"[ \t,;][A-Za-z]{1,12}(?:[ \t]*[=:][ \t]*|[ \t]+)[-+.\d]")
_EACH_IN_ROW = pattern(rf"{_IN_ROW}(?=[ \t]*(?:,|[ \t]|$))")
#: what a console or a log puts before a line
_BEFORE = r"[ \t]*(?:(?:\[[^\]]{0,30}\]|[0-9][0-9:.,T-]{3,30}|[A-Za-z]{0,12}[>|])[ \t]+){0,2}"
_ROW = pattern(
    rf"{_BEFORE}(?P<of>{_LABEL})(?:(?P<leader>{_LEADER})|[ \t]+)"
    rf"(?P<parts>{re.sub('[?]P<[a-z]+>', '?:', _IN_ROW)}(?:[ \t]*[,;][ \t]*|[ \t]+)"
    rf"(?:{re.sub('[?]P<[a-z]+>', '?:', _IN_ROW)}(?:[ \t]*[,;][ \t]*|[ \t]+|$)){{1,{_MOST - 1}}})[ \t]*"
)
#: a label says a unit: `pulses/mm`, `mm per s`
_RATE = pattern(r"[a-z]/[a-z]|(?<![a-z])per(?![a-z])", re.I)
#: the longest line that is looked at for a row
LONGEST_ROW = 200
_BRACKETS = {"[": "]", "{": "}", "(": ")"}


def row(text: str, start: int, end: int) -> tuple[str, list[tuple[str, int, int]]]:
    """What the line at `start`..`end` is about, and its numbers as `labelled` gives them; "" and [] for any other line."""
    if end - start > LONGEST_ROW or not _SECOND.search(text, start, end):
        return "", []
    if not (found := _ROW.fullmatch(line := text[start:end].rstrip())):
        return "", []
    by = start + found.start("parts")
    parts = [
        (each["label"], each.start("value") + by, each.end("value") + by)
        for each in _EACH_IN_ROW.finditer(line[found.start("parts") :])
    ]
    names = [name.lower() for name, _, _ in parts]
    axes = len({"x", "y", "z"} & set(names))
    told = found["leader"] or _RATE.search(found["of"])
    if len(set(names)) != len(names) or not (axes > 1 or (told and len(names) > 2)):
        return "", []
    return " ".join(found["of"].split()), parts


def labelled(text: str, start: int, end: int) -> list[tuple[str, int, int]]:
    """The numbers of the value at `start`..`end`, each as its label and its span in `text`; [] for any other value."""
    if text[start : start + 1].isdigit():
        return []  # as most values are
    if end - start > 2 and _BRACKETS.get(text[start]) == text[end - 1]:
        start, end = start + 1, end - 1
    while start < end and text[start] in " \t":
        start += 1
    while start < end and text[end - 1] in " \t":
        end -= 1
    if not (start < end and text[start].isalpha()):
        return []
    value = text[start:end]
    if "\n" in value or "\r" in value:
        return []
    for signs, part, several in _WAYS:
        if any(sign in value for sign in signs) and several.fullmatch(text, start, end):
            found = [
                (each["label"], each.start("value"), each.end("value"))
                for each in part.finditer(text, start, end)
            ]
            return found if len({label.lower() for label, _, _ in found}) == len(found) else []
    return []
