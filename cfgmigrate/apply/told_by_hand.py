"""Shifts by hand that an earlier packet of the same swap told already, and that are not told a second time.

What is added to a line by hand is added once. The tool never writes such a line, so the files as the old machine had
them show what a person put there. Each item therefore goes by the old value that the first packet told: where that one
stands still, it is told again; where what it was to become stands, it is done; where something else stands, a person is
asked to look, and no new sum is worked out. What starts from no old value now is no shift, and is told as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.plan.basis import Install, ToldByHand
from cfgmigrate.plan.model import ByHand, LeftAlone
from cfgmigrate.store.entries import HistoryEntry

#: what a rule calls the old value of a quantity
_WAS = "was."
#: a value this near to another one (share of it) is the same, written with other digits
SAME_VALUE = 1e-3


def old_values(item: ByHand) -> list[tuple[str, float]]:
    """The old values that an item starts from, by their names."""
    inputs = item.derivation.inputs if item.derivation else ()
    return [
        (each.name, each.value) for each in inputs if each.name.startswith(_WAS) and each.value is not None
    ]


def told_before(entries: Iterable[HistoryEntry]) -> tuple[ToldByHand, ...]:
    """What installs told to do by hand, starting from an old value; `entries` oldest first, and the first one counts."""
    found: dict[tuple[str, str], ToldByHand] = {}
    for entry in entries:
        for each in (entry.reasons or {}).get("by_hand", ()):
            rule, was = str(each.get("rule", "")), tuple((str(n), float(v)) for n, v in each.get("was", ()))
            if rule and was:
                holder, text = str(each.get("holder", "")), str(each.get("text", ""))
                told = ToldByHand(
                    rule, holder, was, each.get("value"), text, Install(entry.number, entry.packet)
                )
                found.setdefault((rule, holder), told)
    return tuple(found.values())


def not_told_again(
    items: Sequence[ByHand], told: Mapping[tuple[str, str], ToldByHand]
) -> tuple[list[ByHand], list[LeftAlone]]:
    """The items that are still to be told, and what became of the others."""
    left: list[LeftAlone] = []
    still: list[ByHand] = []
    for item in items:
        before = told.get((item.rule, item.holder))
        now = dict(old_values(item))
        if before is None or not now or all(_same(now.get(name), value) for name, value in before.was):
            still.append(item)
            continue
        stands = ", ".join(f"{value:g} {item.unit}".strip() for value in now.values())
        was = ", ".join(f"{value:g} {item.unit}".strip() for _, value in before.was)
        by = f"packet {before.entry.packet[:12]} (entry {before.entry.number} of the history)"
        moved = before.value is not None and not all(_same(before.value, value) for _, value in before.was)
        if not moved or all(_same(before.value, value) for value in now.values()):
            why = f"{by} told it by hand already, from {was}; {stands} stands there now, so it is done. Do it no second time"
            left.append(LeftAlone(item.rule, why, item.holder))
        else:
            what = (
                f"Look at the {item.label}: {by} told you to bring it from {was} to {before.text}, and {stands} stands there "
                "now. Do not add the shift a second time."
            )
            still.append(replace(item, what=what, value=None, derivation=None, text="look at it", steps=()))
    return still, left


def _same(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return math.isclose(one, other, rel_tol=SAME_VALUE, abs_tol=SAME_VALUE)
