"""Whether a name is one that a pattern of the names file stands for: `*_steps`, `feeder@.current`.

It knows nothing of quantities or files. It is written out, since a regular expression of many `*` may never come to an end on a
text that somebody else wrote.
"""

from __future__ import annotations

import re


def wildcard_fits(pattern: str, text: str) -> bool:
    """Whether a text is one that a pattern names, where `@` is a run of letters and digits and `*` is anything.

    All places of the pattern that the text read so far may have led to are kept together, as the bits of a number, so
    that many `*` cost no more than one."""
    literals = re.split("[@*]", pattern)
    if len(pattern) - pattern.count("*") > len(text) or not all(each in text for each in literals):
        return False
    takes: dict[str, int] = {}
    stays = runs = 0
    place = 1
    for sign in pattern:
        if sign == "*":
            stays |= place
        else:
            takes[sign] = takes.get(sign, 0) | place
            place <<= 1
            runs |= place if sign == "@" else 0
    reached = 1
    for sign in text:
        word = sign.isalnum()
        goes = takes.get(sign, 0) if sign != "@" else 0
        goes |= takes.get("@", 0) if word else 0
        reached = (reached & goes) << 1 | reached & stays | (reached & runs if word else 0)
    return bool(reached & place)
