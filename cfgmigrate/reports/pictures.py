"""The pictures of a plan, where people look rather than read, each with its numbers as text.

Which pictures there are, and all that they say, is in `picture_text.py`: a picture is drawn only where the plan
holds the numbers for it. Curves are the rules' own formulas (`curve.py`).

This module deliberately works out no value of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from msgspec.structs import replace

from cfgmigrate.ground import number_text
from cfgmigrate.plan.model import Finding, Plan
from cfgmigrate.reports import picture_text
from cfgmigrate.reports.curve import Curve, finding_of, points
from cfgmigrate.reports.drawn import Picture, drawn
from cfgmigrate.reports.picture_text import CASE, DRIVER_LIMIT, MOUNT_LIMIT, PUSH, WINDING
from cfgmigrate.reports.place_pictures import draw_path, draw_probe, draw_push
from cfgmigrate.reports.svg import (
    DASHED,
    DOTTED,
    HATCHED,
    INK,
    OCHRE,
    SLATE,
    SOFT,
    Axes,
    bar,
    dots,
    label,
    level,
    path,
    upright,
)
from cfgmigrate.rules.result import Derivation

PLOT = 135
"""Pixels: the height of one graph's axes where two stand one over the other."""
DOT = 2.8
"""Pixels: a dot's radius."""
_TWO_BARS, _TWO_LEVELS = 94.5, 136.5
"""Pixels: the height of the axes of two bars, and of two levels."""

WIDEST = 5
"""The current axis goes as far as the driver's limit where that is at most so many times the chosen current."""


#: changes that a picture shows; all else that it shows are findings
PICTURED = frozenset({"axis.z.max", "motor.run_current", "probe.offset_x", "probe.offset_y"})


def draw(plan: Plan) -> list[Picture]:
    """Every picture that the plan has the numbers for."""
    changes = tuple(
        replace(change, derivation=_bare(change.derivation), edits=())
        for change in plan.changes
        if change.quantity in PICTURED
    )
    findings = tuple(replace(found, derivation=_bare(found.derivation)) for found in plan.findings)
    return list(_drawn(Plan("", (), "", "", "", changes=changes, findings=findings)))


def _bare(derivation: Derivation) -> Derivation:
    """A derivation without the files in which its numbers stand: no picture shows them."""
    inputs = tuple(
        given if given.origin.startswith("rule ") else replace(given, origin="")
        for given in derivation.inputs
    )
    return replace(derivation, inputs=inputs, contributions=())


@lru_cache(maxsize=64)
def _drawn(plan: Plan) -> tuple[Picture, ...]:
    """The pictures of a plan's findings and shown changes. Machines that are alike have the same, drawn once."""
    makers: list[Callable[[Plan], Picture | None]] = [
        draw_path,
        _give,
        draw_push,
        _motor,
        _height,
        draw_probe,
    ]
    found: list[Picture] = []
    for make in makers:
        picture = make(plan)
        if picture is not None:
            found.append(picture)
    return tuple(found)


def _give(plan: Plan) -> Picture | None:
    """Slack and compression of the path before and after, stacked: what retraction has to take up."""
    said, parts = picture_text.give(plan), picture_text.give_findings(plan)
    if said is None or parts is None:
        return None
    most = max(_value(parts[age][2]) for age in parts) or 1
    ages = ((0, "new"), (1, "old"))
    bars = Axes((0, 1.3 * most), (-0.6, 1.9), ("play and stretch in mm", ""), "x", along_y=ages)
    for row, age in ages:
        slack, elastic, give = (_value(finding) for finding in parts[age])
        shown = number_text.number(give, parts[age][2].uncertainty)
        bars.add(
            bar(row, 0, slack, 0.5, HATCHED),
            bar(row, slack, slack + elastic, 0.5, SLATE),
            label(give, row, f"{shown} mm", up="middle", off=(5, 0)),
        )
    bars.add(label(0, 1.45, "hatched: slack · plain: compression", SOFT, off=(3, 0)))
    text = "Two bars: the slack and the compression of the old path, and of the new one."
    return drawn(said, [(bars, _TWO_BARS)], text)


def _motor(plan: Plan) -> Picture | None:
    """Winding and case temperature, and push force, over current, with what limits them."""
    said, current = picture_text.motor(plan), picture_text.current_of(plan)
    if said is None or current is None:
        return None
    curves = picture_text.motor_curves(plan, current)
    heat = [curves[rule] for rule in (WINDING, CASE) if rule in curves]
    driver, mount = finding_of(plan, DRIVER_LIMIT), finding_of(plan, MOUNT_LIMIT)
    limit = driver.value if driver and driver.value else None
    most = max(1.6 * current, 1.08 * limit if limit and limit <= WIDEST * current else 0)
    over = "run current in A RMS (dots: the chosen one)"
    rows = [_heat_graph(heat, most, current, mount, "" if PUSH in curves else over)] if heat else []
    rows += [_push_graph(curves[PUSH], most, current, over)] if PUSH in curves else []
    for row in rows[:-1]:
        row.ticks = False
    for row in rows:
        row.add(upright(current, INK, DOTTED))
        if limit is not None and limit <= most:
            row.add(upright(limit, OCHRE, DASHED))
    if limit is not None and limit <= most:
        top = rows[0].y[1]
        rows[0].add(label(limit, top, "driver's limit", OCHRE, across="end", off=(-3, -3)))
    text = (
        "Curves of the winding's and the case's temperature and of the push force over the run current, with the "
        "chosen current and the limits marked."
    )
    return drawn(said, [(row, PLOT) for row in rows], text)


def _heat_graph(heat: list[Curve], most: float, current: float, mount: Finding | None, over: str) -> Axes:
    limit = mount.value if mount else None
    chosen = [one.at(current) for one in heat]
    coolest = min(one.at(0.0) for one in heat)
    hottest = max([*chosen, limit or 0])
    spread = hottest - coolest or 1
    top = hottest + 0.35 * spread
    made = Axes((0, most), (coolest - 0.07 * spread, top + 0.13 * spread), (over, "°C"))
    if limit is not None:
        made.add(level(limit, OCHRE, DASHED), label(0, limit, "mount's limit", OCHRE, off=(3, -3)))
    for index, (one, value, colour) in enumerate(zip(heat, chosen, (INK, SLATE), strict=False)):
        rising = _rising(points(one, _steps(most)), top)
        made.add(path(rising, colour), dots([(current, value)], DOT, colour))
        name = one.finding.rule.rpartition(".")[2].split("_")[0]
        room = index == 1 and rising[-1][0] < 0.85 * most
        off = (5, 6) if room else (-4, -4 + 18 * index)
        made.add(label(*rising[-1], name, colour, across="start" if room else "end", off=off))
    return made


def _rising(curve: list[tuple[float, float]], top: float) -> list[tuple[float, float]]:
    """The curve as long as it rises and stays below `top`: a winding that gets hotter without end has no
    temperature, whatever its formula comes to beyond that current."""
    kept = curve[:1]
    for point in curve[1:]:
        if not kept[-1][1] <= point[1] <= top:
            break
        kept.append(point)
    return kept


def _push_graph(push: Curve, most: float, current: float, over: str) -> Axes:
    drawn = points(push, _steps(most))
    top = 1.05 * max(value for _, value in drawn) or 1
    made = Axes((0, most), (0, top), (over, f"push in {number_text.sign(push.finding.unit)}"))
    made.add(path(drawn, SLATE), dots([(current, push.at(current))], DOT, SLATE))
    return made


def _height(plan: Plan) -> Picture | None:
    """How high Z goes before and after, and the height up to which it was found clear."""
    said, known_levels = picture_text.height(plan), picture_text.height_levels(plan)
    if said is None or known_levels is None:
        return None
    old, new, clear = known_levels
    known = [old, new] + ([clear] if clear is not None else [])
    spread = max(max(known) - min(known), 0.02 * max(known)) or 1
    reach = (min(known) - 0.8 * spread, max(known) + 0.6 * spread)
    ages = ((0, "before"), (1, "after"))
    levels = Axes((-0.6, 1.6), reach, ("", "highest Z in mm"), "y", along_x=ages)
    for column, value, colour, up, off in ((0, old, SOFT, "auto", -5), (1, new, SLATE, "hanging", 6)):
        shown = number_text.measure(value, name="mm")
        levels.add(
            path([(column - 0.3, value), (column + 0.3, value)], colour, ' stroke-width="4"'),
            label(column, value, shown, across="middle", up=up, off=(0, off)),
        )
    if clear is not None:
        shown = f"clear to {number_text.measure(clear, name='mm')}"
        levels.add(level(clear, OCHRE, DASHED), label(0.5, clear, shown, OCHRE, across="middle", off=(0, -3)))
    text = "Two levels: the old and the new limit. A dashed line: the height up to which it was found clear."
    return drawn(said, [(levels, _TWO_LEVELS)], text)


def _value(finding: Finding) -> float:
    assert finding.value is not None
    return finding.value


def _steps(most: float, count: int = 60) -> list[float]:
    return [most * (index + 1) / count for index in range(count)]
