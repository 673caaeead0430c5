"""Values that say of each of their numbers what it is: `X 80, Y 80, Z 800`, `x:0 y:0 z:0`, `{len = 5.5, speed = 40}`.

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
    return re.compile(rf"{one}(?:{between}{one}){{1,{_MOST - 1}}}", part.flags)


_WAYS = (
    (_DIVIDED, _several(_DIVIDED, r"[ \t]*(?:[,;]|[ \t]/[ \t])[ \t]*")),
    (_BY_BLANKS, _several(_BY_BLANKS, r"[ \t]+")),
)
_BRACKETS = {"[": "]", "{": "}", "(": ")"}


def labelled(text: str, start: int, end: int) -> list[tuple[str, int, int]]:
    """The numbers of the value at `start`..`end`, each as its label and its span in `text`; [] for any other value."""
    if end - start > 2 and _BRACKETS.get(text[start]) == text[end - 1]:
        start, end = start + 1, end - 1
    while start < end and text[start] in " \t":
        start += 1
    while start < end and text[end - 1] in " \t":
        end -= 1
    for part, several in _WAYS:
        if several.fullmatch(text, start, end):
            found = [
                (each["label"], each.start("value"), each.end("value"))
                for each in part.finditer(text, start, end)
            ]
            return found if len({label.lower() for label, _, _ in found}) == len(found) else []
    return []
