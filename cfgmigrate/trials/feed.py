"""Feeding a marked length slowly, several times, with a stop to measure after each."""

from __future__ import annotations

from cfgmigrate.trials.bench import Bench
from cfgmigrate.trials.writer import Pen, Trial, Written

#: mm that are fed each time, and before the first mark to take up slack; mm/s
LENGTH, SLACK, FEED_SPEED = 100.0, 10.0, 1.0
REPEATS = 5
#: mm above the bed, or as high as z goes
NOZZLE_HEIGHT = 50.0


def write(bench: Bench) -> Written:
    high, low = bench.need("axis.z.max"), bench.lowest_z()
    nozzle = bench.nozzle_temperature()
    repeats = bench.wishes.count or REPEATS
    pen = Pen(bench, f"Feeding {LENGTH:g} mm, {repeats} times")
    pen.begin(
        f"Mark the filament some {LENGTH + 20:g} mm above the drive's entrance and measure from the entrance to the mark.",
        "Measure again at each stop. What went in is the difference. Mark anew each time.",
        "The measured lengths are measured.feed.moved, with measured.feed.asked: 100 mm.",
        f"{repeats * LENGTH + SLACK:g} mm of filament come out of the nozzle. Put something under it that withstands the heat.",
    )
    pen.home(min(NOZZLE_HEIGHT, high) if high > 0 else low)
    pen.stop("put something under the nozzle that stands the heat, while all is cold; then it heats up")
    pen.heat(nozzle, 0.0)
    pen.feed(SLACK, FEED_SPEED)
    for turn in range(1, repeats + 1):
        pen.stop(f"mark the filament and measure; then {LENGTH:g} mm are fed, {turn} of {repeats}")
        pen.feed(LENGTH, FEED_SPEED)
    pen.stop("measure for the last time")
    pen.end()
    pen.facts += [
        ("fed", f"{repeats} times {LENGTH:g} mm, and {SLACK:g} mm before"),
        ("speed of the filament", f"{bench.at_most(FEED_SPEED, 'feeder.max_speed'):g} mm/s"),
        ("nozzle", f"{nozzle:g} °C"),
    ]
    return pen.done("feed")


TRIAL = Trial(
    "feed", "Feeds a marked length slowly, several times, with stops to measure.", "measured.feed", write
)
