"""A remark whose words make another thing of a setting than its name says: `current = 0.82 ; hold is half`.

What stands behind a value often completes a name that says too little, and then its words count as the name's. Where the
name by itself says what it is, such words tell of something beside it as well as not, so that nothing is taken: of two
things one would be written with the other's number. A unit that only one of them can have decides, unless it stands with another
number: `max = 252 ; homes at 5 mm/s`.

This module deliberately does not judge a name that says nothing by itself.
"""

from __future__ import annotations

import dataclasses

from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.context import words_said
from cfgmigrate.machine.converted import of_another_number
from cfgmigrate.machine.matching import Fit, fits
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spots import Spot, name_line
from cfgmigrate.machine.words import Name


def said_against(spot: Spot, name: Name, best: tuple[Fit, ...], remark: str) -> Doubt | None:
    """The question where a name without the words of its line's remark means another quantity than with them; None where
    it does not. `best` is what it means with them."""
    # in a nested file what is said beside a value is said by members of its own
    beside = bool(remark and name.said) and spot.document.dialect != "nested"
    words = {*words_said(remark, None)} if beside else set()
    apart = beside and spot.unit is not None and of_another_number(remark, spot.setting.value)
    words |= {*words_said("", spot.unit)} if apart else set()
    if not words or not best or any(quantity(fit.quantity).protected for fit in best):
        return None
    said = tuple(word for word in name.said if word not in words)
    without = fits(replace(name, said=said, dimension="" if apart else name.dimension))
    if len(without) != 1 or without[0].strange or without[0].alone:
        return None
    (alone,) = without
    if any(fit.quantity == alone.quantity for fit in best) or quantity(alone.quantity).protected:
        return None
    labels = quantity(alone.quantity).label, quantity(best[0].quantity).label
    why = f"its name says {labels[0]} and its remark {labels[1]}; nothing was taken from it"
    lines = [name_line(spot.setting, each) for each in (alone.quantity, best[0].quantity)]
    doubt = spot.doubt(why, f"say which it is in cfgmigrate.yaml, under meanings: {', or '.join(lines)}")
    return dataclasses.replace(doubt, about=alone.quantity)
