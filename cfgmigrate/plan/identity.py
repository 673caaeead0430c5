"""Which value is meant: a quantity, and whose it is.

A change is named by both, everywhere: in reviews, in the history, behind `revert --only`. What belongs to the
machine is named by its quantity alone, so that the names of older packets and histories mean what they meant:

    retraction.length                       the machine's
    retraction.length @ filament petg       one profile's

A person may leave the holder out. Then all holders are meant, unless the machine is one of several: to change the
machine's alone and to change all of them are too far apart to be told by one word.

What was called otherwise in an earlier release is meant by either name.

This module knows neither quantities nor holders; it only joins and parts their names.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import get_close_matches

from cfgmigrate.ground.findings import BadInput, Doubt
from cfgmigrate.rules.former_names import present_name

WHOLE_MACHINE = "machine"
_AT = " @ "


def name_of(what: str, holder: str = WHOLE_MACHINE) -> str:
    """The name of what a holder has: a quantity, or a rule's result."""
    return what if holder == WHOLE_MACHINE else f"{what}{_AT}{holder}"


def parts_of(name: str) -> tuple[str, str]:
    """What is named, and its holder."""
    what, _, holder = name.partition(_AT)
    return what.strip(), holder.strip() or WHOLE_MACHINE


def doubt_names(doubts: Iterable[Doubt]) -> tuple[str, ...]:
    """The name of each doubt: its file and text, without the line, which any edit above it moves. The second of the
    same name is told apart by a number."""
    names: list[str] = []
    for doubt in doubts:
        name = f"doubt {doubt.place.file}: {doubt.text}"
        many = sum(each == name or each.startswith(f"{name} (") for each in names)
        names.append(f"{name} ({many + 1})" if many else name)
    return tuple(names)


def _now(name: str) -> tuple[str, str]:
    """The parts of a name, what is named as it is called now."""
    what, holder = parts_of(name)
    return present_name(what), holder


def told_apart(name: str, known: Collection[str]) -> str:
    """A known name as a person has to type it: with its holder, where others have the same."""
    what, holder = _now(name)
    others = any(each != name and _now(each)[0] == what for each in known)
    return f"{name}{_AT}{holder}" if others and _AT not in name else name


def meant(name: str, known: Collection[str]) -> tuple[str, ...]:
    """The known names that a person means by `name`; in the order of `known`.

    Raises BadInput where there is none, or where it can't be told which of several."""
    wanted, holder = parts_of(name)
    present = present_name(wanted)
    if _AT.strip() in name:
        found = [each for each in known if _now(each) == (present, holder)]
    else:
        found = [each for each in known if _now(each)[0] == present]
        if len(found) > 1 and any(_AT not in each for each in found):
            listed = ", ".join(each if _AT in each else f"{each}{_AT}{WHOLE_MACHINE}" for each in found)
            raise BadInput(f"{wanted!a} is set for several holders", remedy=f"Say which: {listed}.")
    if not found:
        near = get_close_matches(name, sorted(known), 1)
        remedy = f"Did you mean {near[0]}?" if near else f"It has: {', '.join(sorted(known))}."
        raise BadInput(f"nothing was changed under the name {name!a}", remedy=remedy)
    return tuple(found)
