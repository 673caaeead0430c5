"""A retraction tower: two posts, between which the nozzle goes to and fro, in storeys of growing retraction."""

from __future__ import annotations

import math

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.knowledge.tables import constants
from cfgmigrate.trials.bench import Bench
from cfgmigrate.trials.writer import Bead, Pen, Trial, Written, bead_of, draw, nice

#: mm: a post's side, from post to post, a storey's height; loops around the first layer
SIDE, GAP, STOREY, RIM = 15.0, 40.0, 5.0, 4
STOREYS, MOST_STOREYS = 9, 24
#: mm, what compact drives need at the most (common practice, no source)
COMPACT = 0.8
#: mm/s
SPEED, FIRST, RETRACT = 25.0, 15.0, 30.0
#: mm, where no file says what the retraction is
UNKNOWN_STEP = 0.1


def write(bench: Bench) -> Written:
    bead = bead_of(bench)
    nozzle, bed = bench.nozzle_temperature(), bench.bed_temperature()
    start, step, storeys = _storeys(bench)
    layers = max(1, round((bench.wishes.height or STOREY) / bead.height))
    top = storeys * layers * bead.height
    if top + 2 > bench.need("axis.z.max"):
        raise Refused(
            f"the tower would be {top:g} mm high, and z goes to {bench.need('axis.z.max'):g} mm",
            Place("trial"),
            "Nothing was written. Ask for fewer storeys (--count) or lower ones (--height).",
        )
    rim = RIM * bead.width
    corner = bench.middle(2 * SIDE + GAP + 2 * rim, SIDE + 2 * rim)
    posts = [(corner[0] + rim, corner[1] + rim), (corner[0] + rim + SIDE + GAP, corner[1] + rim)]
    back = bench.at_most(bench.get("retraction.speed") or RETRACT, "feeder.max_speed")
    prime = bench.at_most(bench.get("retraction.return_speed") or back, "feeder.max_speed")
    pen = Pen(bench, f"Retraction tower of {storeys} storeys")
    pen.begin(
        f"Storey 1 is the lowest, with {start:g} mm of retraction. Each of {layers * bead.height:g} mm has {step:g} mm more.",
        "Take the lowest storey without strings between the posts: measured.retraction.best_storey,",
        f"with lowest: {start:g} mm, more_each: {step:g} mm, storeys: {storeys}. Switch the part's fan on as for your prints.",
    )
    pen.home(5.0)
    pen.prime(bead, nozzle, bed)
    pen.go(*posts[0])
    pulled = drawn = 0.0
    for layer in range(storeys * layers):
        if layer % layers == 0:
            pulled = start + step * (layer // layers)
            pen.remark(f"storey {layer // layers + 1}: retraction {pulled:.4g} mm")
        for post in posts if layer % 2 == 0 else reversed(posts):
            pen.go(*_at(post, bead.width / 2 - rim if layer == 0 else 1.5 * bead.width))
            pen.go(z=bead.height * (layer + 1), speed=pen.rise_speed)
            _feed(pen, drawn, prime)
            for inset in [(0.5 - loop) * bead.width for loop in range(RIM, 0, -1)] if layer == 0 else []:
                _square(pen, bead, post, inset, bead.speed(FIRST, bench))
            for inset in (1.5 * bead.width, bead.width / 2):
                _square(pen, bead, post, inset, bead.speed(FIRST if layer == 0 else SPEED, bench))
            _feed(pen, -pulled, back)
            drawn = pulled
    pen.end()
    pen.facts += [
        ("storeys", f"{storeys} of {layers * bead.height:g} mm, from {start:g} mm in steps of {step:g} mm"),
        ("posts", f"two, {SIDE:g} mm square, {GAP:g} mm apart, two walls"),
        ("back and forth", f"{back:g} mm/s and {prime:g} mm/s"),
        ("temperatures", f"nozzle {nozzle:g} °C, bed {bed:g} °C"),
    ]
    return pen.done("retraction")


def _keep_short(bench: Bench, top: float) -> None:
    """Raises Refused where the sheet says that the path is short now, and the top storey is one for a long tube."""
    most = constants()["carriage_retraction"].value or 0.0
    if top > most + 1e-9 and _on_carriage(bench):
        now = bench.get("retraction.length")
        raise Refused(
            f"the last storey would draw back {top:g} mm (the files have {now or 0:g} mm now), and the sheet says that the"
            " drive sits on the carriage: in a short path so long a pull draws soft filament up to the gears",
            Place("trial"),
            "Nothing was written. Put the new values in first (install the packet), or ask for storeys up to"
            f" {most:g} mm with --start, --step and --count.",
        )


def _on_carriage(bench: Bench) -> bool:
    drive = bench.sheet.get("new.drive") if bench.sheet else None
    return drive is not None and drive.word == "on the carriage"


def _storeys(bench: Bench) -> tuple[float, float, int]:
    """Start, step and number of storeys: as wished, else from 0 over the range that a packet tells to try."""
    now = bench.get("retraction.length")
    step = bench.wishes.step or (nice(max(now, 0.2) / 4) if now else UNKNOWN_STEP)
    start = bench.wishes.start or 0.0
    # what the rule of the retraction length says to try: up to twice the length, and no more than 2 mm above it; a
    # packet tells it outwards to a whole step of its own
    top = max(COMPACT, min(2 * now, now + 2)) + max(UNKNOWN_STEP, now / 10) if now else 0.0
    # and no storey that nobody asked for draws back more than a packet would set: a longer pull clogs the hot end
    highest = max(now or 0.0, _longest(bench))
    fit = max(1, math.floor((highest - start) / step + 1e-9) + 1)
    storeys = bench.wishes.count or min(
        fit, max(STOREYS, min(MOST_STOREYS, math.ceil((top - start) / step - 1e-9) + 1))
    )
    most = bench.get("feeder.max_feed_length")
    if start < 0 or step <= 0 or (most is not None and start + step * (storeys - 1) > most):
        raise Refused(
            f"this machine can't do {storeys} storeys of {step:g} mm from {start:g} mm",
            Place("trial"),
        )
    _keep_short(bench, start + step * (storeys - 1))
    return start, step, storeys


def _longest(bench: Bench) -> float:
    """mm: what the hot end's maker allows, by the sheet, else the most that is usual."""
    said = bench.sheet.get("hot_end.max_retraction") if bench.sheet else None
    return (said.value if said else None) or constants()["most_retraction"].value or 0.0


def _feed(pen: Pen, length: float, speed: float) -> None:
    if length:
        pen.feed(length, speed)


def _at(post: tuple[float, float], inset: float) -> tuple[float, float]:
    return post[0] + inset, post[1] + inset


def _square(pen: Pen, bead: Bead, post: tuple[float, float], inset: float, speed: float) -> None:
    x, y = _at(post, inset)
    side = SIDE - 2 * inset
    draw(pen, bead, [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)], speed)


TRIAL = Trial("retraction", "A retraction tower of two posts in storeys.", "measured.retraction", write)
