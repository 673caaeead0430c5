"""Pictures of where things are and how hard they push: the path to scale, the probe from above, push beside push.

Each is drawn only where the plan holds its numbers (`picture_text.py`); nothing is worked out here.
"""

from __future__ import annotations

from cfgmigrate.ground import number_text
from cfgmigrate.plan.model import Finding, Plan
from cfgmigrate.reports import picture_text
from cfgmigrate.reports.drawn import Picture, drawn
from cfgmigrate.reports.svg import INK, OCHRE, SLATE, SOFT, Axes, bar, dots, label

_GEAR, _SPOT = 5, 4
"""Pixels: the radius of the drive gear, and of nozzle and probe."""
_HIGH_BARS, _HIGH_BED = 88.5, 186.5
"""Pixels: the height of the axes of two bars, and of the view from above."""


def draw_path(plan: Plan) -> Picture | None:
    """The way of the filament from the drive gear to the nozzle, old and new, to one scale."""
    said, lengths = picture_text.path(plan), picture_text.path_lengths(plan)
    if said is None or lengths is None:
        return None
    most = max(_number(each) for each in lengths)
    ends = ("mm from the drive gear", "")
    bars = Axes((-0.02 * most, 1.28 * most), (-0.6, 1.9), ends, "x", along_y=((0, "new"), (1, "old")))
    for row, finding, colour in ((1, lengths[0], SOFT), (0, lengths[1], SLATE)):
        length = _number(finding)
        shown = number_text.measure(length, finding.uncertainty, "mm", 3)
        bars.add(
            bar(row, 0, length, 0.14, colour),
            dots([(0, row)], _GEAR, INK),
            label(length, row, shown, up="middle", off=(5, 0)),
        )
    bars.add(label(0, 1.5, "dot: drive gear · end of the bar: nozzle", SOFT, off=(3, 0)))
    text = "Two bars to one scale: the old and the new path, from the drive gear to the nozzle."
    return drawn(said, [(bars, _HIGH_BARS)], text)


def draw_push(plan: Plan) -> Picture | None:
    """The push that the path asks for, beside the push that the new drive has."""
    said, forces = picture_text.push(plan), picture_text.push_forces(plan)
    if said is None or forces is None:
        return None
    most = max(_number(each) for each in forces)
    rows = ((0, "there is"), (1, "needed"))
    bars = Axes((0, 1.28 * most), (-0.6, 1.6), ("push in N", ""), "x", along_y=rows)
    for row, finding, colour in ((1, forces[0], OCHRE), (0, forces[1], SLATE)):
        push = _number(finding)
        shown = number_text.measure(push, finding.uncertainty, "N", 2)
        bars.add(bar(row, 0, push, 0.5, colour), label(push, row, shown, up="middle", off=(5, 0)))
    text = "Two bars: the push that the path asks for, and the push that the new drive has."
    return drawn(said, [(bars, _HIGH_BARS)], text)


def draw_probe(plan: Plan) -> Picture | None:
    """Where the probe is, seen from above with the nozzle in the middle, before and after."""
    said, spots = picture_text.probe(plan), picture_text.probe_spots(plan)
    if said is None or spots is None:
        return None
    reach = 1.35 * max(abs(each) for spot in spots for each in spot)
    view = Axes((-1.7 * reach, 1.7 * reach), (-reach, reach), ("mm in x from the nozzle", "mm in y"))
    view.add(dots([(0, 0)], _SPOT, INK), label(0, 0, "nozzle", off=(7, 4)))
    old, new = spots
    lower = old[1] > new[1]
    for spot, name, colour, down in (
        (old, "probe before", SOFT, not lower),
        (new, "probe after", SLATE, lower),
    ):
        view.add(dots([spot], _SPOT, colour), label(*spot, name, colour, off=(7, 10 if down else -2)))
    text = "From above: the nozzle in the middle, and the probe before and after."
    return drawn(said, [(view, _HIGH_BED)], text)


def _number(finding: Finding) -> float:
    assert finding.value is not None
    return finding.value
