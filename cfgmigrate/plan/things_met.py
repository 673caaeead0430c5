"""What scripts bring the nozzle's tip to, where the tip sits higher or lower on the carriage than before: one step by hand.

A brush at a post was set to the height of the old tip. No number of a script says where it is fixed, so nothing can be
written; the lines that speak of such a thing are shown, with how far the tip has moved.

Only words tell of it, and only those that mean a thing: what no line speaks of isn't known here.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.ground.number_text import measure
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.model import ByHand
from cfgmigrate.scripts.met_things import lines_that_meet
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.sheet.model import Sheet

THINGS_MET = "scripts.things_met"
#: mm; less is within what a brush or a pad gives way (common practice, no source)
GIVES_WAY = 0.3
#: so many lines are shown
MOST_LINES_SHOWN = 12
_SHIFT = "carriage.nozzle_shift.z"
_CAUTION = (
    "Cold and without power while you set it. A tip that is driven against something hard bends or breaks."
)


def things_met(machine: Machine, sheet: Sheet) -> tuple[ByHand, ...]:
    """The step by hand; none where the tip has kept its height, or no line speaks of anything that it meets."""
    said = sheet.get(_SHIFT)
    if said is None or said.value is None or abs(said.value) < GIVES_WAY:
        return ()
    lines = [
        (f"{script.reading.place.file}:{line}", text, thing)
        for script in scripts_of(machine)
        for line, text, thing in lines_that_meet(script)
    ]
    if not lines:
        return ()
    shown, rest = lines[:MOST_LINES_SHOWN], lines[MOST_LINES_SHOWN:]
    steps = [f"{place}: {text} (the {thing})" for place, text, thing in shown]
    if rest:
        steps.append(f"And these: {', '.join(place for place, _, _ in rest)}.")
    far, side = measure(abs(said.value), 0.0, "mm"), "lower" if said.value < 0 else "higher"
    things = _listed(thing for _, _, thing in lines)
    item = ByHand(
        f"Set the {things} {far} {side}, or see that the tip still meets it as before",
        None,
        "",
        f"The tip sits {far} {side} on the carriage now, and what it meets is still where the old tip met it. How far "
        "that can be set, no file says.",
        cautions=(_CAUTION,),
        verify=f"With the power off, push the carriage to the {things} by hand: the tip wipes or drops as it did, and meets nothing hard.",
        rule=THINGS_MET,
        text=f"{far} {side}",
        when="after install",
        label=f"height of the {things}",
    )
    return (replace(item, steps=tuple(steps)),)


def _listed(things: Iterable[str]) -> str:
    *some, last = dict.fromkeys(things)
    return f"{', '.join(some)} and {last}" if some else last
