"""Whether a header has whole numbers only, by what its head says or by all numbers in it.

Where what reads it compares or counts in whole numbers, as the C preprocessor does, `42.5` stops the build or is cut off. So a number
of such a file stays whole where that loses little, and else its change warns of it (`plan/encoding.py`, `plan/items.py`).
That all numbers are whole may be by chance: what counts in every move stays whole only by what the head says.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.dialects.document import Document, State
from cfgmigrate.dialects.value import Items, Number, Value, read_value
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.remarks import remarks_of

#: so many numbers without a point show that a file has no other; fewer are by chance
FEWEST_WHOLE = 6
_SAID = pattern(
    r"(?i)\b(?:(?:only|all|just)[ \t]+(?:in[ \t]+)?(?:whole[ \t]+numbers|integers|ints)|(?:whole[ \t]+numbers|integers)(?:[ \t]+(?:only|everywhere|throughout)|[ \t]*[:.]))"
)
_DENIED = pattern(
    r"(?i)(?:\b(?:not|no|never)|n't)(?:[ \t]+(?:all|only|just|in))*[ \t]+(?:whole[ \t]+numbers|integers|ints)\b"
)
#: that a file has whole numbers only, by its head or by all its numbers
BY_HEAD, BY_NUMBERS = "head", "numbers"


@once
def only_whole_numbers(document: Document) -> str:
    """Whether a file says that it has whole numbers only, or shows it: BY_HEAD, BY_NUMBERS or ""."""
    if document.dialect != "header":
        return ""
    head = remarks_of(document).opening
    if _DENIED.search(head):
        return ""
    if _SAID.search(head):
        return BY_HEAD
    numbers = [
        number
        for setting in document.settings
        if setting.state is not State.INACTIVE
        for number in _numbers(read_value(setting.value))
    ]
    shown = len(numbers) >= FEWEST_WHOLE and not any("." in each.text for each in numbers)
    return BY_NUMBERS if shown else ""


def _numbers(value: Value) -> Iterator[Number]:
    for item in value.items if isinstance(value, Items) else (value,):
        if isinstance(item, Number):
            yield item
