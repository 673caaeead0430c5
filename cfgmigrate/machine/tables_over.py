"""A list that is a table over the list beside it: `values: 0.55, 0.62, 0.66` below `speeds: 20, 60, 120`.

As many numbers in the same section, each further than the one before, under a name of what things are measured over: the
values then belong to these speeds, and to no feeders one after the other. A list beside it that is a feeder's own quantity
(`[retraction] length: 5, 5.5` with `speed: 40, 45`) makes no table.

This module deliberately reads no value; a table is a question, made in `values.py`.
"""

from __future__ import annotations

from itertools import pairwise

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.machine.matching import fits
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.spots import Spot
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import readings_of_name, split

#: what a value is measured over, as the vocabulary names it; and words for it that are no part of a quantity's name
_OVER = frozenset(("speed", "acceleration", "flow", "temperature"))
#: a limit is one number of each feeder
_BOUND = frozenset(("maximum", "minimum"))
_PLAIN = frozenset(("flow", "flows", "temp", "temps", "temperature", "temperatures"))


def over_what(spot: Spot, count: int) -> str:
    """The key of the list over which a setting's `count` numbers may be a table; "" where there is none."""
    for other in spot.document.settings:
        if (
            other.section != spot.setting.section
            or other.at == spot.setting.at
            or other.state is State.INACTIVE
        ):
            continue
        value = read_value(other.value)
        if not isinstance(value, Items) or len(value.items) != count:
            continue
        numbers = [each.value for each in value.items if isinstance(each, Number)]
        steps = {one < next_one for one, next_one in pairwise(numbers) if one != next_one}
        if (
            len(set(numbers)) == count
            and len(steps) == 1
            and _is_over(other.key)
            and not _a_feeders(other.section, other.key)
        ):
            return other.key
    return ""


def _is_over(key: str) -> bool:
    words = split(key)
    spelled = frozenset(way for word in words for way in ways_of(word)[0])
    if not _BOUND.isdisjoint(vocabulary().names_in(spelled)):
        return False
    return not _PLAIN.isdisjoint(words) or not _OVER.isdisjoint(vocabulary().names_in(spelled))


def _a_feeders(section: str, key: str) -> bool:
    return any(
        of_feeder(fit.quantity) and not quantity(fit.quantity).protected and not fit.strange
        for name in readings_of_name(section, key)
        for fit in fits(name)
    )
