"""A lag test: low walls of one bead, one side laid slowly and the other fast, read at the joint of the two.

Every wall has its own lag coefficient and is laid to and fro. Where the lag is made up for too little, the bead is
thin behind the joint on the way into the fast side and thick behind it on the way into the slow side; so the two
sides of one joint differ, and the difference changes its sign where the coefficient is right. Calipers read it to
0.01 mm, and the place of a change of sign lies between two walls, which is nearer than any wall alone.

How long the sides are follows from the machine: long enough for the flow to settle at the highest coefficient, as
far as the bed allows. How a lag coefficient is set while a script runs is each machine's own affair. The script stops
before each wall so that a person can set it; or the person gives the line by which their machine does.
"""

from __future__ import annotations

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.trials.bench import Bench
from cfgmigrate.trials.writer import Bead, Pen, Trial, Written, bead_of, draw, nice

WALLS, WALL_LAYERS = 11, 6
#: mm: from wall to wall; how far a foot's mark at the joint stands out; how much longer every fifth wall is
APART, MARK_LENGTH, LONGER = 6.0, 2.0, 6.0
#: mm: how far from the joint the thickness is read
READ_AT = 3.0
#: mm: the least and the most length of a side
SLOW_SIDE, FAST_SIDE = (16.0, 32.0), (28.0, 72.0)
#: mm/s
SLOW, FAST, FOOT, WALL_RETRACT = 18.0, 85.0, 18.0, 30.0
#: mm/s of flexible filament, which buckles at the gears where it is fed fast (common practice, no source)
SOFT_SLOW, SOFT_FAST = 12.0, 28.0
#: so many times the slow side: with a slower fast side there is too little to see, however slow the prints are
LEAST_FAST = 2.0
#: so many times the lag until the flow has settled to 5 % (a first-order lag: exp(-3) = 0.05)
SETTLED = 3.0
#: s, the end of the range where no file says a lag (common practice, no source)
UNMEASURED = 0.1
VALUE = "{value}"


def write(bench: Bench) -> Written:
    bead = bead_of(bench)
    nozzle, bed = bench.nozzle_temperature(), bench.bed_temperature()
    walls = bench.wishes.count or WALLS
    now = bench.get("lag.coefficient")
    step = bench.wishes.step or nice((2 * now if now else UNMEASURED) / (WALLS - 1))
    start = bench.wishes.start or 0.0
    setting = _setting(bench.wishes.setting_line)
    most = bench.print_speed()
    calm, brisk = (SOFT_SLOW, SOFT_FAST) if bench.soft else (SLOW, FAST)
    slow, fast = (
        bead.speed(calm, bench),
        bead.speed(brisk if most is None else min(brisk, max(most, LEAST_FAST * calm)), bench),
    )
    sides = _sides(bench, start + step * (walls - 1), slow, fast)
    x, y = bench.middle(LONGER + sum(sides), walls * APART)
    back = bench.get("retraction.length") or 0.0
    pen = Pen(bench, f"Lag test of {walls} walls")
    pen.begin(
        f"Each wall is laid at {slow:.3g} mm/s on the left of the mark on its foot and at {fast:.3g} mm/s on the right.",
        f"Wall 1, nearest to you (y lowest), has the lag {start:g} s, each further one {step:g} s more. Every fifth wall is longer.",
        f"Cold, with calipers {READ_AT:g} mm left and {READ_AT:g} mm right of the mark, above the foot: the left side thicker",
        "means too little lag, the right side thicker too much.",
        "Take the wall with both sides alike, or 6.5 where the thicker side changes between walls 6 and 7:",
        "measured.lag.even_wall, with the same start and step. Switch the part's fan on as for your prints.",
    )
    pen.home(5.0)
    pen.prime(bead, nozzle, bed)
    _pull(pen, -back)
    for index in range(walls):
        lag = start + index * step
        left = x if index % 5 == 4 else x + LONGER
        joint, right = x + LONGER + sides[0], x + LONGER + sum(sides)
        pen.go(z=bead.height * (WALL_LAYERS + 1) + 3, speed=pen.rise_speed)
        pen.go(left, y + index * APART)
        if setting:
            pen.words(setting.replace(VALUE, f"{lag:.6g}"))
        else:
            pen.stop(f"wall {index + 1}: set the lag coefficient to {lag:.4g} s by hand")
        pen.go(z=bead.height, speed=pen.rise_speed)
        _pull(pen, back)
        _foot(pen, bead, (left, joint, right), y + index * APART)
        _wall(pen, bead, (left, joint, right), slow, fast)
        _pull(pen, -back)
    pen.remark("set the lag coefficient back to what it was, or to what you found")
    pen.end()
    pen.facts += [
        (
            "walls",
            f"{walls}, from {start:g} s in steps of {step:g} s, {bead.height * (WALL_LAYERS + 1):.3g} mm high",
        ),
        ("left and right", f"{sides[0]:.3g} mm at {slow:.3g} mm/s, {sides[1]:.3g} mm at {fast:.3g} mm/s"),
        (
            "fastest in the profiles",
            "not known" if most is None else f"{most:g} mm/s; the fast side is no faster",
        ),
        ("the lag is set", "by the line given" if setting else "by hand, at a stop before each wall"),
        ("temperatures", f"nozzle {nozzle:g} °C, bed {bed:g} °C"),
    ]
    return pen.done("lag")


def _setting(line: str) -> str:
    if line and (VALUE not in line or not line.isprintable()):
        raise BadInput(
            "the line that sets the lag has no place for its value",
            Place("trial"),
            f"Write {VALUE} where your machine takes the number.",
        )
    return line


def _sides(bench: Bench, most: float, slow: float, fast: float) -> tuple[float, float]:
    """How long (mm) the slow and the fast side are, with `most` s of lag, within what the bed has."""
    x0, x1, _, _ = bench.area()
    (slow_low, slow_high), (fast_low, fast_high) = SLOW_SIDE, FAST_SIDE
    first = min(max(slow_low, SETTLED * most * slow), slow_high)
    room = x1 - x0 - LONGER - first
    return round(first, 1), round(max(fast_low, min(SETTLED * most * fast, fast_high, room)), 1)


def _foot(pen: Pen, bead: Bead, at: tuple[float, float, float], y: float) -> None:
    """The first layer, three beads wide and slow, with a mark at the joint; it ends on the right, below the wall."""
    left, joint, right = at
    near, far = y - bead.width, y + bead.width
    speed = bead.speed(FOOT, pen.bench)
    mark = [(joint, near), (joint, near - MARK_LENGTH), (joint, near)]
    draw(
        pen,
        bead,
        [(left, near), *mark, (right, near), (right, far), (left, far), (left, y), (right, y)],
        speed,
    )


def _wall(pen: Pen, bead: Bead, at: tuple[float, float, float], slow: float, fast: float) -> None:
    """The layers above the foot, to and fro, so that the nozzle goes over the joint both ways."""
    left, joint, right = at
    assert pen.at is not None
    y = pen.at[1]
    for layer in range(WALL_LAYERS):
        pen.go(z=bead.height * (layer + 2), speed=pen.rise_speed)
        if layer % 2 == 0:
            draw(pen, bead, [(joint, y)], fast)
            draw(pen, bead, [(left, y)], slow)
        else:
            draw(pen, bead, [(joint, y)], slow)
            draw(pen, bead, [(right, y)], fast)


def _pull(pen: Pen, length: float) -> None:
    if length:
        speed = pen.bench.get("retraction.speed") or WALL_RETRACT
        pen.feed(length, speed)


TRIAL = Trial(
    "lag", "Low walls, slow on one side and fast on the other, read at the joint.", "measured.lag", write
)
