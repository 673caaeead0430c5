"""How high the carriage can go: slow moves of z with a stop after each, cold and without filament.

It never goes beyond the limit in force, nor beyond what the sheet says was measured: where nothing touched up to
there, the limit may stay as it is. No step near the limit is longer than 2 mm, since a person goes on by the gap that
is seen; the climb to there has stops of its own. At the end it comes down again, so that nothing stays jammed.
"""

from __future__ import annotations

import math

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.trials.bench import Bench
from cfgmigrate.trials.writer import Pen, Trial, Written

#: mm below the limit where it begins, and where it goes on in small steps; the steps
BEGIN, NEAR_LIMIT, STEP, SMALL = 40.0, 10.0, 2.0, 1.0
#: so many steps nobody goes on by, one after the other
MOST_CLIMBS = 400
#: mm: the longest move on the way to where it begins, and how far it comes down at the end
CLIMB, DOWN = 20.0, 50.0
#: mm/s
Z_SPEED = 2.0


def write(bench: Bench) -> Written:
    low, high = bench.lowest_z(), bench.need("axis.z.max")
    entry = bench.sheet.get("clearance.highest_z") if bench.sheet else None
    measured = entry.value if entry is not None and entry.value is not None else high
    high, told = (
        min(high, measured),
        "the limit in force" if high <= measured else "the height that was measured",
    )
    start = bench.wishes.start if bench.wishes.start is not None else max(low + 5, high - BEGIN)
    if not low <= start < high:
        raise Refused(
            f"there is no way up from {start:g} mm: z goes from {low:g} mm to {high:g} mm",
            Place("trial"),
            "Nothing was written. Begin lower, with --start.",
        )
    step = min(bench.wishes.step or STEP, STEP)
    if (high - start) / step > MOST_CLIMBS:
        raise Refused(
            f"from {start:g} mm to {high:g} mm these are {math.ceil((high - start) / step)} steps of {step:g} mm, each with a stop",
            Place("trial"),
            "Nothing was written. Begin higher, with --start, or take a greater --step.",
        )
    pen = Pen(bench, "How high the carriage can go")
    pen.begin(
        "Cold, and with nothing on the bed. After each move the machine waits: look from all sides and try a",
        "feeler gauge between the drive and whatever is above and beside it. Go on only if the gap is larger than the",
        "next step, which each stop names; else switch off here.",
        "At the first touch use the switch. The height of the last stop that was clear is measured.z.highest.",
        "The carriage stands in the middle. How cables pull and brackets stand in the corners is seen by hand, with the",
        "machine switched off.",
        f"It goes from {start:g} mm to {high:g} mm, {told}, and not beyond.",
    )
    z = bottom = min(start, 10 + max(low, 0))
    speed = bench.at_most(Z_SPEED, "axis.z.max_speed")
    pen.home(bottom)
    while z < high:
        goal = _next(z, start, high, step)
        pen.stop(f"z is at {z:g} mm; go on only if the gap is larger than the next {goal - z:g} mm")
        z = goal
        pen.go(z=z, speed=speed)
    pen.stop(f"z is at {z:g} mm, the last; write down the height of the last stop that was clear")
    pen.remark("down again, away from what is above")
    pen.go(z=max(bottom, z - DOWN), speed=speed)
    pen.facts += [
        ("from", f"{start:g} mm"),
        ("to", f"{high:g} mm, {told}"),
    ]
    return pen.done("clearance")


def _next(z: float, start: float, high: float, step: float) -> float:
    """The height (mm) of the stop after that at `z`."""
    if z < start:
        return min(z + CLIMB, start)
    return min(z + (step if z + step <= high - NEAR_LIMIT else min(step, SMALL)), high)


TRIAL = Trial(
    "clearance", "Slow moves of z up to the limit in force, with stops; cold.", "measured.z.highest", write
)
