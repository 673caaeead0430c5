"""What a step by hand has to be undone to: the old voltage of a screw, the old values that the board kept.

What was only printed, looked at or mounted with the new parts leaves nothing to undo: it goes when they come off.

No file holds such a value, so a revert can't give it back. Where the packet knows it, because the sheet or a listing of
the board said it, it is with_its_old with the step; else the step's own words have to do.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.at_console import STORE_RULE
from cfgmigrate.plan.model import ByHand
from cfgmigrate.plan.screw_lines import WITH_THE_OLD

#: the names and values at the end of a step at the console
_BACK_TO = pattern(r"Back to: ([^\r\n]{1,9000})\.(?=\s|$)")
#: a value that was stored: its name, the old one, the new one
_STORED = pattern(r"([^→\r\n]{1,200}): ([^→\r\n]{1,80}) → ")


#: work on the new parts themselves
_ON_THE_PARTS = "work."
#: but on the machine when the old parts are back: a bed that was levelled for the new ones' weight, wires that were laid
#: elsewhere or made longer, a plug whose wires changed places, a roll that was hung elsewhere
_ON_THE_MACHINE = frozenset(
    ("work.level", "work.wires", "work.wires_off", "work.motor_coils", "work.spool"),
)


def leaves_nothing(rule: str) -> bool:
    """Whether a step by hand of this rule leaves nothing behind once the old parts are back."""
    return rule.startswith(_ON_THE_PARTS) and rule not in _ON_THE_MACHINE


def undone(item: ByHand) -> str:
    """The step, and what it goes back to where that is known."""
    return with_its_old(item.what, back_to(item))


def with_its_old(what: str, back: str) -> str:
    """A step with what it goes back to behind it."""
    return f"{what if what.endswith('.') else what + '.'} {back}" if back else what


def back_to(item: ByHand) -> str:
    """What a step goes back to; "" where that is not known."""
    return " ".join(_back(item))


def _back(item: ByHand) -> Iterator[str]:
    if item.rule == STORE_RULE:
        olds = [f"{found[1]} {found[2]}" for step in item.steps if (found := _STORED.match(step))]
        if olds:
            yield f"Back to: {'; '.join(olds)}."
    yield from (step for step in item.steps if step.startswith(WITH_THE_OLD))


def stored_back(told: str) -> list[tuple[str, str]]:
    """The names and old values that a step at the board's console goes back to; none for any other step."""
    found = _BACK_TO.search(told)
    pairs = (each.rpartition(" ") for each in found[1].split("; ")) if found else ()
    return [(name, old) for name, _, old in pairs if name]


def without_newer(told: str, known: set[str]) -> str:
    """A step less the names at the console that an older packet goes back from: what they were before that one counts.
    "" where nothing is left; `known` gets its names."""
    pairs = stored_back(told)
    if not pairs:
        return told
    left = [f"{name} {old}" for name, old in pairs if name.casefold() not in known]
    known.update(name.casefold() for name, _ in pairs)
    return _BACK_TO.sub(lambda _: f"Back to: {'; '.join(left)}.", told) if left else ""
