"""What scripts bring the nozzle's tip to, where the tip sits elsewhere on the carriage than before: a step by hand for its
height, and one for y.

z is counted from the tip to the bed, and set anew after the swap. A brush that comes nearer as z goes down, on the bed or on
a frame along which the head goes up and down, is met at the same z as before and stays. One that the carriage passes at
the same height at any z was set to the height of the old tip. No number of a script says which it is, so nothing can be
written and nobody is told to move it: the lines that speak of such a thing are shown, with how far the tip has moved. A
script that goes to a height of its own first speaks for the former.

In x and y the end stop's line makes up for what the tip has moved. Only where the bed goes in y the tip stands still in y, so
what is fixed to the frame is met off by what the tip has moved there, whatever the files say.

Only words tell of it, and only those that mean a thing: what no line speaks of isn't known here.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from cfgmigrate.ground.findings import by_file
from cfgmigrate.ground.number_text import measure
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.model import ByHand
from cfgmigrate.scripts.met_things import lines_that_meet
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.sheet.model import Sheet

THINGS_MET, THINGS_BESIDE = "scripts.things_met", "scripts.things_beside"
#: mm; less is within what a brush or a pad gives way, and within what one is wide (common practice, no source)
GIVES_WAY, PAD_WIDTH = 0.3, 1.0
#: so many lines are shown
MOST_LINES_SHOWN = 12
_SHIFT = "carriage.nozzle_shift"
_CAUTION = (
    "Cold and without power while you set it. A tip that is driven against something hard bends or breaks."
)


def things_met(machine: Machine, sheet: Sheet) -> tuple[ByHand, ...]:
    """The steps by hand; none where the tip has stayed where it meets such things, or no line speaks of one."""
    height, depth = _moved(sheet, "z", GIVES_WAY), _moved(sheet, "y", PAD_WIDTH)
    if not _stands_still_in_y(sheet):
        depth = 0.0
    if not height and not depth:
        return ()
    lines = [
        (script.reading.place.file, line, text, thing, z)
        for script in scripts_of(machine)
        for line, text, thing, z in lines_that_meet(script)
    ]
    if not lines:
        return ()
    shown, rest = lines[:MOST_LINES_SHOWN], lines[MOST_LINES_SHOWN:]
    steps = [f"{file}:{line}: {text} (the {thing}{_for_it(z)})" for file, line, text, thing, z in shown]
    if rest:
        steps.append(f"And these: {by_file((file, line) for file, line, *_ in rest)}.")
    things = _listed(thing for *_, thing, _ in lines)
    items = [
        *([_met_lower(things, height)] if height else []),
        *([_met_beside(things, depth)] if depth else []),
    ]
    return tuple(replace(item, steps=tuple(steps)) for item in items)


def _moved(sheet: Sheet, axis: str, least: float) -> float:
    """How far the tip has moved along an axis, 0 where that is less than counts."""
    said = sheet.get(f"{_SHIFT}.{axis}")
    return said.value if said is not None and said.value and abs(said.value) >= least else 0.0


def _stands_still_in_y(sheet: Sheet) -> bool:
    """Whether the bed may be what goes in y; and whether it is the one tip that has moved."""
    kind, one = sheet.get("machine_kind"), sheet.get("carriage.one_nozzle")
    return (kind is None or kind.word == "moving bed") and (one is None or one.word != "no")


def _met_beside(things: str, depth: float) -> ByHand:
    far, side = measure(abs(depth), 0.0, "mm"), "lower" if depth < 0 else "higher"
    return ByHand(
        f"Where the bed goes in y and the {things} is fixed to the frame, set it {far} further towards {side} y, or see that the tip "
        "still meets it",
        None,
        "",
        "On such a machine the tip stands still in y, so no line of the files makes up for what it has moved against the frame. What "
        "is fixed to the bed is met as before, once the end stop's line is set.",
        cautions=(_CAUTION,),
        verify=f"With the power off, push the carriage to the {things} by hand: the tip meets the middle of it.",
        rule=THINGS_BESIDE,
        text=f"{far} towards {side} y",
        when="after install",
        label=f"place of the {things} in y",
    )


def _met_lower(things: str, height: float) -> ByHand:
    far, side = measure(abs(height), 0.0, "mm"), "lower" if height < 0 else "higher"
    return ByHand(
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


def _for_it(z: float | None) -> str:
    return "" if z is None else f"; the script goes to z = {z:g} mm for it, which speaks for leaving it"


def _listed(things: Iterable[str]) -> str:
    *some, last = dict.fromkeys(things)
    return f"{', '.join(some)} and {last}" if some else last
