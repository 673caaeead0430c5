"""A lag test: lines that go slow, fast and slow again, each with a higher lag coefficient, a ruler beside them.

How a lag coefficient is set while a script runs is each machine's own affair. The script stops before each
line so that a person can set it; or the person gives the line by which their machine does.
"""

from __future__ import annotations

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.trials.bench import Bench
from cfgmigrate.trials.writer import Bead, Pen, Trial, Written, bead_of, draw, nice

#: mm: a line's slow, fast and slow part, from line to line, a tick and a longer one
PARTS, APART, TICK, LONG, RULER = (30.0, 50.0, 30.0), 5.0, 3.0, 7.0, 4.0
LINES = 11
#: mm/s
SLOW, FAST, RULING, RETRACT = 20.0, 90.0, 20.0, 30.0
#: s, the end of the range where no file says a lag (common practice, no source)
UNKNOWN = 0.1
VALUE = "{value}"


def write(bench: Bench) -> Written:
    bead = bead_of(bench)
    nozzle, bed = bench.nozzle_temperature(), bench.bed_temperature()
    lines = bench.wishes.count or LINES
    now = bench.get("lag.coefficient")
    step = bench.wishes.step or nice((2 * now if now else UNKNOWN) / (LINES - 1))
    start = bench.wishes.start or 0.0
    setting = _setting(bench.wishes.setting_line)
    length = sum(PARTS)
    x, y = bench.middle(length + RULER + LONG, lines * APART)
    slow, fast = bead.speed(SLOW, bench), bead.speed(FAST, bench)
    back = bench.get("retraction.length") or 0.0
    pen = Pen(bench, f"Lag test of {lines} lines")
    pen.begin(
        f"Each line goes {PARTS[0]:g} mm at {slow:.3g} mm/s, {PARTS[1]:g} mm at {fast:.3g} mm/s and {PARTS[2]:g} mm at {slow:.3g} mm/s.",
        f"The first line (nearest to you, y lowest) has the lag {start:g} s, each further one {step:g} s more.",
        "Thin behind the first change and thick behind the second: too little; the other way round: too much.",
        "Take the first line that keeps its width: measured.lag.best_line, with the same start and step.",
        "The ruler beside has a tick at each line and a longer one at every fifth.",
    )
    pen.home(5.0)
    pen.prime(bead, nozzle, bed)
    _ruler(pen, bead, x + length + RULER, y, lines)
    _pull(pen, -back)
    for index in range(lines):
        lag = start + index * step
        pen.go(z=bead.height + 3, speed=pen.rise_speed)
        pen.go(x, y + index * APART)
        if setting:
            pen.words(setting.replace(VALUE, f"{lag:.6g}"))
        else:
            pen.stop(f"line {index + 1}: set the lag coefficient to {lag:.4g} s by hand")
        pen.go(z=bead.height, speed=pen.rise_speed)
        _pull(pen, back)
        at = x
        for part, speed in zip(PARTS, (slow, fast, slow), strict=True):
            at += part
            draw(pen, bead, [(at, y + index * APART)], speed)
        _pull(pen, -back)
    pen.remark("set the lag coefficient back to what it was, or to what you found")
    pen.end()
    pen.facts += [
        ("lines", f"{lines}, from {start:g} s in steps of {step:g} s"),
        ("speeds", f"{slow:.3g} mm/s, {fast:.3g} mm/s, {slow:.3g} mm/s"),
        ("the lag is set", "by the line given" if setting else "by hand, at a stop before each line"),
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


def _ruler(pen: Pen, bead: Bead, x: float, y: float, lines: int) -> None:
    """A stem with a tick at each line, and a longer one at the first and every fifth."""
    speed = bead.speed(RULING, pen.bench)
    pen.go(x, y)
    pen.go(z=bead.height, speed=pen.rise_speed)
    draw(pen, bead, [(x, y + (lines - 1) * APART)], speed)
    for index in range(lines - 1, -1, -1):
        pen.go(x, y + index * APART)
        draw(pen, bead, [(x + (LONG if index % 5 == 4 or index == 0 else TICK), y + index * APART)], speed)


def _pull(pen: Pen, length: float) -> None:
    if length:
        speed = pen.bench.get("retraction.speed") or RETRACT
        pen.feed(length, speed)


TRIAL = Trial("lag", "Lines at changing speed with a ruler beside them.", "measured.lag", write)
