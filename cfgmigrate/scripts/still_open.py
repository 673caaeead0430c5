"""What a swap left open in scripts, told again as long as it stands there.

After an install the files hold the new values, so nothing is tighter or shorter than it was. Yet a feed may still be as
long as the old path, a pull still as long as an old retraction, a move still lead beyond a limit: what was a doubt then
and was not mended by hand is one still. Lengths come from the swap sheet, limits and the retraction from the files.

This module changes nothing: what could be changed for certain was changed by the install.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Machine
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.scripts.calls import call_doubts
from cfgmigrate.scripts.effects import of_swapped
from cfgmigrate.scripts.feeds import open_feed_doubts, path_of
from cfgmigrate.scripts.limits import Limit, limit_changes
from cfgmigrate.scripts.number_change import Script, scripts_of
from cfgmigrate.scripts.pulls import long_pull_doubts
from cfgmigrate.scripts.tools import first_tool
from cfgmigrate.sheet.model import Sheet


def still_open(
    machine: Machine, outcome: Outcome, sheet: Sheet, feeder: int = 1, swapped: Collection[int] = ()
) -> tuple[Doubt, ...]:
    """The doubts. `outcome` is what the swap sheet comes to with the files as they are now, `feeder` the swapped one, and
    `swapped` all that were where there are several; what is for sure another one's is as it was and stays."""
    scripts = scripts_of(machine)
    path = path_of(outcome, sheet)
    found = [*_beyond(scripts, machine, outcome, sheet)]
    found += call_doubts(machine, path, {})
    if path is not None and path.new < path.old:
        several = len(machine.feeders) > 1
        mine = of_swapped(scripts, first_tool(machine), swapped or (feeder,)) if several else tuple(scripts)
        found += _of_moves(mine, open_feed_doubts(scripts, path))
        found += long_pull_doubts(mine, path, _retractions(machine, feeder))
    return tuple(dict.fromkeys(found))


def _of_moves(scripts: Iterable[Script], doubts: Iterable[Doubt]) -> Iterator[Doubt]:
    """The doubts about moves that these scripts have. A stretch is read with all moves of its script, since others end it."""
    places = (script.place(each.feed.word.start) for script in scripts for each in script.moves if each.feed)
    lines = {(place.file, place.line) for place in places}
    return (doubt for doubt in doubts if (doubt.place.file, doubt.place.line) in lines)


def _retractions(machine: Machine, feeder: int) -> tuple[float, ...]:
    return tuple(
        reading.value
        for reading in machine.readings
        if reading.quantity == "retraction.length" and reading.value and feeder in reading.serves
    )


def _beyond(scripts: Sequence[Script], machine: Machine, outcome: Outcome, sheet: Sheet) -> Iterator[Doubt]:
    """Moves that may lead beyond a limit that the swap is about."""
    limits = [
        Limit(name, reading.value, None, f"{reading.place.file}:{reading.place.line}")
        for name in (f"axis.{axis}.{side}" for axis in "zxy" for side in ("max", "min"))
        if any(result.target == name for result in outcome.results)
        and (reading := machine.get(name)) is not None
        and reading.value is not None
    ]
    changes, doubts = limit_changes(scripts, limits, sheet, machine)
    for change in changes:
        for place in change.places:
            yield Doubt(
                place.place,
                place.text,
                f"this move goes to {place.value:g} mm, beyond the limit of the axis",
                "Write a place within the limit.",
            )
    yield from doubts
