"""A tall cylinder of one wall, laid in one spiral without a break and without any retraction.

What shows on its wall is the feed alone: gears that grip unevenly, backlash, too little current.
"""

from __future__ import annotations

import math

from cfgmigrate.trials.bench import Bench
from cfgmigrate.trials.writer import Bead, Pen, Trial, Written, bead_of, draw

RADIUS, WALL_HEIGHT, FACETS = 25.0, 60.0, 90
#: mm/s
WALL_SPEED, FIRST_LAYER_SPEED = 25.0, 15.0
#: loops around the first layer to hold it down
BRIM_LOOPS = 6


def write(bench: Bench) -> Written:
    bead = bead_of(bench)
    nozzle, bed = bench.nozzle_temperature(), bench.bed_temperature()
    height = min(bench.wishes.height or WALL_HEIGHT, bench.need("axis.z.max") - 5)
    outer = RADIUS + BRIM_LOOPS * bead.width
    x, y = bench.middle(2 * outer, 2 * outer)
    centre = (x + outer, y + outer)
    turns = max(1, math.floor(height / bead.height - 1))
    speed, first = bead.speed(WALL_SPEED, bench), bead.speed(FIRST_LAYER_SPEED, bench)
    pen = Pen(bench, "A tall cylinder of one wall")
    pen.begin(
        "One spiral without a break and without any retraction: what shows on the wall is the feed alone.",
        "A streaky, irregular wall: look at the grip of the gears and their backlash, then at the current.",
        "Lines that come back at equal heights: one turn of the drive gear or of the z screw.",
    )
    pen.home(5.0)
    pen.prime(bead, nozzle, bed)
    for loop in range(BRIM_LOOPS, -1, -1):
        _ring(pen, bead, centre, RADIUS + loop * bead.width, first)
    _spiral(pen, bead, centre, turns, speed)
    pen.end()
    length = 2 * math.pi * RADIUS * turns
    pen.facts += [
        ("size", f"{2 * RADIUS:g} mm across, {bead.height * (turns + 1):.4g} mm high"),
        ("bead", f"{bead.width:g} mm wide, {bead.height:g} mm high"),
        ("speed", f"{speed:.3g} mm/s; it takes some {length / speed / 60:.0f} min"),
        ("temperatures", f"nozzle {nozzle:g} °C, bed {bed:g} °C"),
    ]
    return pen.done("cylinder")


def _point(centre: tuple[float, float], radius: float, side: int) -> tuple[float, float]:
    angle = 2 * math.pi * side / FACETS
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def _ring(pen: Pen, bead: Bead, centre: tuple[float, float], radius: float, speed: float) -> None:
    pen.go(*_point(centre, radius, 0))
    pen.go(z=bead.height, speed=pen.rise_speed)
    draw(pen, bead, [_point(centre, radius, side) for side in range(1, FACETS + 1)], speed)


def _spiral(pen: Pen, bead: Bead, centre: tuple[float, float], turns: int, speed: float) -> None:
    chord = 2 * RADIUS * math.sin(math.pi / FACETS)
    for step in range(1, turns * FACETS + 1):
        goal = _point(centre, RADIUS, step)
        # in the first turn the wall grows from nothing to a layer, and so does the bead
        share = min(1.0, step / FACETS)
        pen.go(*goal, speed, z=bead.height * (1 + step / FACETS), feed=bead.feed * chord * share)


TRIAL = Trial(
    "cylinder",
    "A tall cylinder of one wall, in one spiral without any retraction.",
    "what the wall shows",
    write,
)
