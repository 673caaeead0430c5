"""What scripts bring the nozzle's tip to, where the tip sits higher or lower on the carriage than before: one step by hand.

z is counted from the tip to the bed, and set anew after the swap. A brush that comes nearer as z goes down, on the bed or on
a frame along which the head goes up and down, is met at the same z as before and stays. One that the carriage passes at
the same height at any z was set to the height of the old tip. No number of a script says which it is, so nothing can be
written and nobody is told to move it: the lines that speak of such a thing are shown, with how far the tip has moved. A
script that goes to a height of its own first speaks for the former.

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
        (f"{script.reading.place.file}:{line}", text, thing, z)
        for script in scripts_of(machine)
        for line, text, thing, z in lines_that_meet(script)
    ]
    if not lines:
        return ()
    shown, rest = lines[:MOST_LINES_SHOWN], lines[MOST_LINES_SHOWN:]
    steps = [f"{place}: {text} (the {thing}{_for_it(z)})" for place, text, thing, z in shown]
    if rest:
        steps.append(f"And these: {', '.join(place for place, *_ in rest)}.")
    far, side = measure(abs(said.value), 0.0, "mm"), "lower" if said.value < 0 else "higher"
    things = _listed(thing for _, _, thing, _ in lines)
    item = ByHand(
        f"See at what height the tip meets the {things}: it stays where it comes nearer as z goes down, and is to be set {far} {side} "
        "only where the carriage passes it at the same height whatever z is",
        None,
        "",
        f"The tip sits {far} {side} on the carriage now. z is counted from the tip to the bed, and set anew: what stands on the bed, "
        "or on a frame along which the head goes up and down, is met at the same z as before. What sits on the beam that carries "
        "the carriage, or on a frame in which the bed goes up and down, is still where the old tip met it. No file says which it is.",
        cautions=(_CAUTION,),
        verify=f"With the power off, push the carriage to the {things} by hand: the tip wipes or drops as it did, and meets nothing hard.",
        rule=THINGS_MET,
        text=f"{far} {side}",
        when="after install",
        label=f"height of the {things}",
    )
    return (replace(item, steps=tuple(steps)),)


def _for_it(z: float | None) -> str:
    return "" if z is None else f"; the script goes to z = {z:g} mm for it, which speaks for leaving it"


def _listed(things: Iterable[str]) -> str:
    *some, last = dict.fromkeys(things)
    return f"{', '.join(some)} and {last}" if some else last
