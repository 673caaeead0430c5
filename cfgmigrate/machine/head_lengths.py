"""What the head of a file says of all its lengths where that is no mm: `all lengths in inches`, `Lengths: 1/100 mm`.

Whether that holds for the speeds as well, and for a value that the head's writer did not think of, nobody can tell. So no
length of such a file is taken where its own line states no unit, nor a speed or an acceleration whose unit the head leaves
open: each is a question (`number_units.py`).

A size that the head mentions in passing (`an 8 inch bed`) says nothing of the lengths.
"""

from __future__ import annotations

import re
from functools import lru_cache

from cfgmigrate.ground.pattern import pattern

#: `0.1 mm`, `mm * 10`; what is true to 0.1 mm is not counted in it
_SHARE_OF_MM = r"(?:0[.,]0*1 ?mm(?![\w/])(?! ?(?:steps?|accura|exact|precis|toleran|resolution|or better|nozzle|layer))|mm ?[*x×] ?10+|10+ ?[*x×] ?mm)"
_OTHER_UNIT = rf"{_SHARE_OF_MM}|inch(?:es)?|thou(?:sandths? of an inch)?|(?:1/10+|hundredths?|tenths?)(?: of an?| of)? ?(?:mm|millimet(?:re|er)s?)\b|\"(?= *(?:[.;)]|$))"
_SHARE_SAID = pattern(r"0[.,](0*1)(?!\d)|\b1(0+)\b")
_LENGTHS = (
    r"lengths?|distances?|dimensions?|everything|all|values?|numbers?|units?|measures?|measurements?|"
    r"positions?|sizes?|travels?"
)
_SAID = pattern(
    rf"\b(?:{_LENGTHS})\b(?: (?:and|of|the|here|below|in|are|is|this|file|given|stated|numbers|values|lengths?|units?|speeds?)){{0,6}}"
    rf" ?[:=(\[]? ?({_OTHER_UNIT})\b",
    re.I,
    needs=("inch", "thou", "1/10", "hundredth", "tenth", '"', "0.", "0,", "10"),
)


@lru_cache(maxsize=64)
def other_lengths(opening: str) -> str:
    """The unit that a file's opening remark says of its lengths, as it is written there, where that is not mm; "" for
    none."""
    found = _SAID.search(opening)
    return found[1] if found else ""


def share_of_a_mm(said: str) -> str:
    """The unit that such a share is called by in the site file: `mm/10` for `0.1 mm` or `mm * 10`; "" for any other text."""
    found = _SHARE_SAID.search(said)
    return {1: "mm/10", 2: "mm/100", 3: "µm"}.get(len(found[1] or found[2]) if found else 0, "")
