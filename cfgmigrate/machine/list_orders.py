"""In which order a list has the axes and the feeder, where a file states it: `X, Y, Z, feeder`, `feeder first, then the three axes`.

It may be said in a remark, by a setting that is called so, or by constants that number the places (`E_INDEX 0`). Where
nothing says it the usual order is taken, but for a list that looks as if it ran otherwise. In which order axes are homed is no
order of lists; that of plugs or drivers on a board may be one, so that a list is asked about where it matters. Several feeders
run 1, 2, unless an order names them by their sides or counts them otherwise: which of them is feeder 1 is then asked, but where
the settings go by the same sides, and the order has them from the left as they are counted there.

This module deliberately knows no quantity; whose list it is is told in `lists.py` and `axes_together.py`.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

from cfgmigrate.dialects.document import Setting
from cfgmigrate.dialects.value import Number, Value
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.side_words import LEFT_AND_RIGHT

_LETTER = {
    **dict.fromkeys(("x", "left-right", "sideways"), "x"),
    **dict.fromkeys(("y", "front-back", "to-and-fro", "fore-and-aft"), "y"),
    **dict.fromkeys(("z", "up-down", "lift"), "z"),
    **dict.fromkeys(("e", "f", "filament", "feeder", "extruder", "drive", "feed"), "e"),
}
_PART = pattern(r"[A-Za-z]+(?:-[A-Za-z]+)*|[^\sA-Za-z]")
#: what may stand between two of them
_BETWEEN = frozenset(
    (*",/>-&|#[]()0123456789", "and", "then", "first", "next", "last", "finally", "the", "axis", "one", "for")
)
#: behind an order that may be of something else
UNSURE = "?"
#: one of several feeders, of which an order does not say which it is
WHICHEVER = "E"
#: the same, of which it says the side
_SIDED = {"left": "L", "right": "R"}
_FROM_THE_LEFT = "LR"
_COUNTED_TOOL = pattern(r"[t](?=\d)")
_OF_HOMING = pattern(r"\b(?:hom(?:e|es|ed|ing)|referenc(?:e|es|ed|ing)|zeroed|zeroing)\b", re.I)
_OF_PLUGS = pattern(
    r"\b(?:plugs?|plugged|sockets?|connectors?|ports?|pins?|headers?|boards?|wires?|wired|wiring|cables?|slots?|drivers?|motors?|colou?rs?)\b",
    re.I,
)
_ALL_AXES = frozenset(("axes", "others"))
_COUNTED = frozenset(("three", "3", "all"))
_NUMBERED = pattern(
    r"(?:(?P<before>x|y|z|e|feeder|extruder|drive)[_ -]?(?:index|idx|slot|place|column|number)"
    r"|(?:index|idx|slot|place|column)[_ -]?(?:of[_ -]?)?(?P<behind>x|y|z|e|feeder|extruder|drive))",
    re.I,
    needs=("index", "idx", "slot", "place", "column", "number"),
)
#: what a text without at least two axes, or a word for all of them, can't do without
_AXES = pattern(
    r"(?<![a-z])(?:[xyz]|left-right|sideways|front-back|to-and-fro|fore-and-aft|up-down|lift)(?![a-z])", re.I
)
_TOGETHER = pattern(r"(?<![a-z])(?:[xyze]{3,4}|axes|others)(?![a-z])", re.I)
#: a text so long holds no order
_LONGEST = 2000
#: two numbers of axes that go alike differ by no more than the one part, and two that don't by the other at least
_SAME, _OTHER = 0.05, 0.1


def order_in(text: str) -> str:
    """The order of lists that a text states, in letters: `xyze`; "" for none."""
    found = order_said(text)
    return "" if found.endswith(UNSURE) else found


def order_said(text: str) -> str:
    """The same, with a question mark behind it where it may be the order of something else."""
    return without_sides(order_and_sides(text), told=False)


def without_sides(order: str, told: bool) -> str:
    """An order without the sides of its feeders: `told` is whether the files call the feeders so elsewhere too, and count them
    from the left."""
    if told and _FROM_THE_LEFT in order and not {"e", WHICHEVER}.intersection(order):
        order = order.replace(_FROM_THE_LEFT, "ee")
    for side in _SIDED.values():
        order = order.replace(side, WHICHEVER)
    return order


@lru_cache(maxsize=4096)
def order_and_sides(text: str) -> str:
    """The order of lists that a text states, with the sides of feeders that it names by them."""
    if len(_AXES.findall(text[:_LONGEST])) < 2 and not _TOGETHER.search(text[:_LONGEST]):
        return ""
    letters, counts, begins, unsure, before = "", "", 0, "", ""
    text = text[:_LONGEST].lower()
    for found in (*_PART.finditer(text), None):
        part = found[0] if found else "."
        if part in _LETTER or (found and _COUNTED_TOOL.match(text, found.start()) and part == "t"):
            letters += (
                ""
                if before in LEFT_AND_RIGHT and letters.endswith(_SIDED[before])
                else _LETTER.get(part, "e")
            )
        elif part in LEFT_AND_RIGHT and letters:
            letters = (letters[:-1] if _LETTER.get(before) == "e" else letters) + _SIDED[part]
        elif len(part) > 2 and {*part} <= {*"xyze"} and len({*part}) == len(part):
            letters += part
        elif part in _ALL_AXES and letters and not {*letters} & {*"xyz"}:
            letters += "xyz"
        elif part not in _BETWEEN and not (letters and part in _COUNTED):
            clause = text[begins : found.start() if found else len(text)]
            if _is_order(letters) and not _OF_HOMING.search(clause):
                letters = letters if counts == "".join(sorted(counts)) else letters.replace("e", WHICHEVER)
                if not _OF_PLUGS.search(clause):
                    return letters
                unsure = unsure or letters + UNSURE
            letters, counts = "", ""
            begins = found.end() if found and part in (".", ";") else begins
        elif part.isdigit() and (_LETTER.get(before) == "e" or before == "t"):
            counts += part
        before = part
    return unsure


def _is_order(letters: str) -> bool:
    axes = [letter for letter in letters if letter in "xyz"]
    return len(letters) >= 3 and len({*axes}) == len(axes) >= 2


def order_of_places(settings: Iterable[Setting]) -> str:
    """The order that constants give which number the places of a list: `E_INDEX 0`, `X_INDEX 1`; "" where there are none."""
    places: dict[int, str] = {}
    for setting in settings:
        if len(setting.key) >= 40 or not setting.value.strip().isdecimal():
            continue
        if found := _NUMBERED.fullmatch(setting.key):
            places[int(setting.value[:4])] = _LETTER[(found["before"] or found["behind"]).lower()]
    letters = "".join(places[at] for at in sorted(places))
    return letters if _is_order(letters) else ""


def may_run_otherwise(items: Sequence[Value]) -> bool:
    """Whether a list of four looks as if it did not run x, y, z, feeder: its second and third numbers are alike, as those of x
    and y are on most machines (common practice, no source), and its first is not."""
    numbers = [item.value for item in items if isinstance(item, Number)]
    if len(numbers) != len(items) or len(numbers) != 4:
        return False
    first, second, third, _ = numbers
    return _apart(second, third) <= _SAME and _apart(first, second) > _OTHER


def may_be_choices(items: Sequence[Value]) -> bool:
    """Whether a list may hold what can be chosen, and no number for each axis: each is more than the one before, and those that
    x and y would have are not alike."""
    numbers = [item.value for item in items if isinstance(item, Number)]
    if len(numbers) != len(items) or len(numbers) < 3:
        return False
    return _apart(*numbers[:2]) > _SAME and all(one < other for one, other in itertools.pairwise(numbers))


def _apart(one: float, other: float) -> float:
    return abs(one - other) / max(abs(one), abs(other), 1e-12)
