"""Words that fit several quantities, and the number as what may tell them apart: what only one of them can be is that, is never
edited, and is asked about where it is of the feed path.

Where the number fits more than one, or none, nothing is read. This module deliberately looks at no other line: what the rest of
the files tells of a torn one is the matter of `half_understood.py`.
"""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.dialects.value import Number, Text, Truth, Value, read_value
from cfgmigrate.ground.findings import Doubt, Likeness
from cfgmigrate.machine.context import Spoken
from cfgmigrate.machine.matching import Fit, next_fits
from cfgmigrate.machine.number_units import in_some_unit
from cfgmigrate.machine.quantities import facts, of_feeder, quantity
from cfgmigrate.machine.spots import Said, Spot, name_line
from cfgmigrate.machine.two_meanings import (
    says_only_the_most,
)
from cfgmigrate.machine.values import readings_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name

#: what is asked of a line whose words fit several quantities
WHICH_QUANTITY = "which quantity it is"
_LONGEST = "feeder.max_feed_length"


def fastest_or_longest(spot: Spot, name: Name, best: tuple[Fit, ...]) -> tuple[Fit, ...]:
    """The longest feed by words that may as well be those of the fastest, where no unit says which, is either; what is
    written with a unit that nobody knows here, as `7 mm3/s`, is neither."""
    number = read_value(spot.setting.value)
    if isinstance(number, Number) and number.unit and spot.unit is None:
        return best
    one = len(best) == 1 and best[0].quantity == _LONGEST and not best[0].strange
    open_ = one and spot.unit is None and not name.dimension and says_only_the_most(name.key)
    return (*best, replace(best[0], quantity="feeder.max_speed")) if open_ else best


def else_meant(spot: Spot, fit: Fit, spoken: Spoken) -> tuple[Fit, Said] | None:
    """What a number means that can't be the quantity its name says first: the next one, where it is the only one that
    the number can be. Never to be edited, and one of the feed path is asked about."""
    number, meant = read_value(spot.setting.value), facts(fit.quantity)
    if meant.quantity.protected or not isinstance(number, Number):
        return None
    if in_some_unit(meant, number.value):
        return None
    left = [each for each in next_fits(spoken.names, fit) if not quantity(each.quantity).protected]
    if len(left) != 1 or not _can_be(spot, left[0]):
        return None
    why = f"its words may also mean {quantity(fit.quantity).label}, which its number can't be"
    said = readings_of(spot, left[0])
    kept = tuple(replace(reading, editable=False, why_not=why) for reading in said.readings)
    asked = (which_of(spot, (fit, left[0])),) if of_feeder(left[0].quantity) else ()
    return left[0], replace(said, readings=kept, doubts=(*said.doubts, *asked))


def by_value(spot: Spot, best: tuple[Fit, ...]) -> tuple[Fit, Said]:
    """Of several quantities the one that the value can be, never to be edited: its words alone don't say it. 0 and 1
    are a truth, where there is one to choose. Nothing where more than one is left."""
    switch = read_value(spot.setting.value)
    is_truth = not isinstance(switch, Number) or switch.value in (0, 1)
    truths = [fit for fit in best if quantity(fit.quantity).kind == "truth"]
    if truths and len(truths) < len(best):
        left = truths if is_truth else [fit for fit in best if fit not in truths]
    else:
        left = [fit for fit in best if not quantity(fit.quantity).protected and _can_be(spot, fit)]
    if len(left) != 1:
        return best[0], Said()
    others = " or ".join(quantity(fit.quantity).label for fit in best if fit is not left[0])
    why = f"its words may also mean {others}"
    said = readings_of(spot, left[0])
    kept = tuple(replace(reading, editable=False, why_not=why) for reading in said.readings)
    certain = truths == left and _is_said(switch)  # `rev = n` is no length: there is nothing to ask
    asked = (which_of(spot, best),) if kept and of_feeder(left[0].quantity) and not certain else ()
    return left[0], replace(said, readings=kept, doubts=(*said.doubts, *asked))


def _is_said(value: Value) -> bool:
    """Whether a value says in a word that it is a truth; 1 may be a number of anything."""
    said = isinstance(value, Text) and value.text.strip("\"'").casefold() in vocabulary().opposites
    return said or isinstance(value, Truth)


def _can_be(spot: Spot, fit: Fit) -> bool:
    """Whether a value is a plausible one of a quantity, without a doubt about its unit."""
    said = readings_of(spot, fit)
    return bool(said.readings) and not said.unsure


def which_of(spot: Spot, best: tuple[Fit, ...]) -> Doubt:
    """The question which of the quantities that its words fit a setting is."""
    labels = " and ".join(quantity(fit.quantity).label for fit in best)
    lines = ", or ".join(name_line(spot.setting, fit.quantity) for fit in best)
    remedy = f"say which it is in cfgmigrate.yaml, under meanings: {lines}"
    return spot.doubt(f"the words fit {labels}", remedy, like=Likeness(WHICH_QUANTITY, of=labels))
