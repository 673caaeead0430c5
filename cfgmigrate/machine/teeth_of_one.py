"""The teeth of one gear, which are no ratio: noted where they are the feeder's, since what one turn feeds rests on the pair.

Pairs are told and asked about in `gear_pairs.py`; nothing is read here.
"""

from __future__ import annotations

from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.machine.collection import (
    Collection,
    Half,
    line_of,
)
from cfgmigrate.machine.matching import Fit
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import Said, Spot
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

_FEEDERS = frozenset({"feeder", "feed"})
_TEETH = frozenset({"teeth", "tooth", "toothed", "cog", "cogs", "sprocket", "pinion", "wheel"})


def note_gear(found: Collection, spot: Spot, name: Name) -> None:
    """Notes the teeth of one gear of the feeder, of which a pair is asked about."""
    fit = Fit("feeder.gear_ratio")
    if one_gear(spot, name, fit) and not _FEEDERS.isdisjoint(vocabulary().names_in(frozenset(name.words))):
        found.gears.append(Half(spot, name, fit))


def note_ignored(found: Collection, spot: Spot, name: Name, best: tuple[Fit, ...]) -> None:
    """Notes gears of the feeder that a names file says are nothing: what one turn feeds may rest on them."""
    ratio = Fit("feeder.gear_ratio")
    of_feeder = not _FEEDERS.isdisjoint(vocabulary().names_in(frozenset(name.words)))
    if any(fit.quantity == ratio.quantity for fit in best) or (of_feeder and one_gear(spot, name, ratio)):
        found.ignored.append(Unread(spot.place(), line_of(spot.setting), spot.setting))


def teeth_of_gears(spot: Spot, name: Name, said: Said) -> bool:
    """Whether a list is of the teeth of one gear on each axis: those are no ratios."""
    counts = not _TEETH.isdisjoint(name.words) and "ratio" not in name.words
    value = read_value(spot.setting.value)
    plain = isinstance(value, Items) and all(isinstance(item, Number) for item in value.items)
    return counts and plain and any(quantity(each.quantity).kind == "ratio" for each in said.readings)


def one_gear(spot: Spot, name: Name, fit: Fit) -> bool:
    """Whether a setting is the number of teeth of one gear: that is no ratio."""
    counts = not _TEETH.isdisjoint(name.words) and "ratio" not in name.words
    return (
        counts
        and quantity(fit.quantity).kind == "ratio"
        and isinstance(read_value(spot.setting.value), Number)
    )
