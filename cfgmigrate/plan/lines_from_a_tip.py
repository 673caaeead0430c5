"""Lines that may count from the one tip of several that has moved: where an axis ends, where its switch acts, where the probe is.

From which tip a machine counts its files rarely say, so nothing of these is written, and a step by hand says so. It names the
lines here, with what stands in them: a step that sends a person to look for them leaves them old. What each becomes is not
worked out. What the packet writes is left out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import known, quantity
from cfgmigrate.plan.model import ByHand, Change
from cfgmigrate.plan.switch_lines import switch_lines

_TIPS = "tips."
_SWITCH = "where a switch acts"


def with_lines_of_tips(
    by_hand: Iterable[ByHand], machine: Machine, changes: Collection[Change]
) -> Iterator[ByHand]:
    """The steps by hand, those of a tip that has moved with the lines that may count from it."""
    written = {(edit.file, edit.line) for change in changes for edit in change.edits}
    for item in by_hand:
        axis = item.rule.removeprefix(_TIPS)
        if not item.rule.startswith(_TIPS) or axis not in ("x", "y", "z"):
            yield item
            continue
        told = " ".join(item.steps)
        lines = dict.fromkeys(text for at, text in _lines(machine, axis) if at not in written)
        yield replace(
            item, steps=(*item.steps, *(each for each in lines if each.partition(" (")[0] not in told))
        )


def _lines(machine: Machine, axis: str) -> Iterator[tuple[tuple[str, int], str]]:
    names = [
        name
        for name in (f"axis.{axis}.min", f"axis.{axis}.max", f"probe.offset_{axis}", f"end_stop.{axis}")
        if known(name)
    ]
    found = [
        (each.place, each.setting.name, each.text, quantity(each.quantity).label)
        for each in machine.every_reading
        if each.quantity in names and each.setting.state is State.ACTIVE
    ]
    found += [
        (place, setting.name, setting.value.strip(), _SWITCH)
        for place, setting, _ in (switch_lines(machine, axis) if axis in "xy" else ())
    ]
    for place, name, text, label in found:
        yield (
            (place.file, place.line),
            f"{place.file}:{place.line} ({name} = {text}): {label}; it changes only if it counts from this tip.",
        )
