"""A probe of which one half was understood: its offset in x is read and the one beside it is not, or its height is nowhere.

    [feeler]
    to the right = 31
    to the back = 8
    fires at = 2.20

With the tip on another place both offsets change, and the height too. One written anew beside one left old in silence puts the
probe where neither swap nor files have it. So a line that stands beside what was read, and points the other way or says when the
probe acts, is a question.

This module takes no value: `back` may be where a probe goes up again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.side_words import ALONG_AXIS
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.model import Reading, Unread
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split

_OFFSETS = {"x": "probe.offset_x", "y": "probe.offset_y"}
_HEIGHT = "probe.offset_z"
#: words for the moment at which a probe acts
_ACTS = frozenset(
    ("fires", "fire", "fired", "acts", "act", "clicks", "click", "trips", "trip", "triggers", "trigger", "triggered", "touches", "answers", "switches", "closes", "opens")
)  # fmt: skip
#: words by which a line of a probe says another thing than where it is
_ELSE = frozenset(
    ("speed", "time", "temperature", "acceleration", "count", "frequency", "current", "retraction", "pin", "force", "lift", "hopping")
)  # fmt: skip
#: against which x and y grow (ISO/ASTM 52921): such a number has its sign turned
_TURNED = frozenset(("left", "front"))
#: mm; no probe is farther from its nozzle, or acts at a greater height (common practice, no source)
_FARTHEST, _HIGHEST = 150.0, 25.0


def half_a_probe(
    unread: Iterable[Unread], readings: Iterable[Reading], doubts: Iterable[Doubt]
) -> Iterator[Doubt]:
    """A question for each such line, unless another is asked of it."""
    read_at: dict[str, set[tuple[str, str]]] = {}
    for each in readings:
        if each.quantity in (*_OFFSETS.values(), _HEIGHT):
            place = each.place.file, each.setting.section
            read_at.setdefault(each.quantity, set()).add(place)
    asked: set[tuple[str, int]] | None = None
    for line in unread:
        if line.setting.state is not State.ACTIVE or not (missing := _missing(line, read_at)):
            continue
        asked = {(each.place.file, each.place.line) for each in doubts} if asked is None else asked
        if (line.place.file, line.place.line) not in asked:
            why = f"this may be the {quantity(missing).label}, as which nothing is read; it stays as it is"
            means = name_line(line.setting, missing)
            named = f", or say so in cfgmigrate.yaml, under meanings: {means}"
            turned = not _TURNED.isdisjoint(split(line.setting.key))
            remedy = f"change it by hand{'' if turned else named}; if it is none: ignore"
            yield Doubt(line.place, line.text, why, remedy, about=missing)


def _missing(line: Unread, read_at: dict[str, set[tuple[str, str]]]) -> str:
    """Which quantity of a probe a line may be that nothing is read as; "" for none."""
    number = read_value(line.setting.value)
    if not isinstance(number, Number) or number.unit not in ("", "mm"):
        return ""
    key = split(line.setting.key)
    words = frozenset(key)
    if (key_dimension(tuple(key)) or ("length",)) != ("length",) or vocabulary().names_in(words) & _ELSE:
        return ""
    place = line.place.file, line.setting.section
    beside = any(place in places for places in read_at.values())
    of_probe = beside or "probe" in vocabulary().names_in(words | {*split(line.setting.section)})
    if of_probe and _HEIGHT not in read_at and words & _ACTS and abs(number.value) <= _HIGHEST:
        return _HEIGHT
    if beside and abs(number.value) <= _FARTHEST:
        for axis, name in _OFFSETS.items():
            other = _OFFSETS["y" if axis == "x" else "x"]
            if name not in read_at and place in read_at.get(other, ()) and words & {axis, *ALONG_AXIS[axis]}:
                return name
    return ""
