"""The pictures of a plan, where people look rather than read, each with its numbers as text.

Three are known: what the feed path gives before and after, what the motor's current does to its heat and
its push, and how high Z goes. A picture is drawn only where the plan holds the numbers for it; nothing is
assumed. Curves are the rules' own formulas (`curve.py`).

This module deliberately works out no value of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cfgmigrate.changes.plan import Change, Finding, Plan
from cfgmigrate.reports import overview, words
from cfgmigrate.reports.curve import Curve, curve, finding_of, points
from cfgmigrate.reports.svg import INK, OCHRE, PAPER, SETTINGS, SLATE, SOFT, inline_svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 5.2
"""Inches; at 72 points an inch it fits a phone without shrinking the letters."""
LEFT, RIGHT, ABOVE, BELOW = 0.62, 0.12, 0.22, 0.46
"""Inches round the axes for their labels; fixed, because fitting them takes as long as drawing."""

CURRENT = frozenset({"motor.current", "motor.run_current", "will.motor.run_current", "motor.wanted_current"})
WIDEST = 5
"""The current axis goes as far as the driver's limit where that is at most so many times the chosen current."""

DRIVER_LIMIT = "motor.driver_limit"
MOUNT_LIMIT = "motor.mount_limit"


@dataclass(frozen=True, slots=True)
class Picture:
    """`svg` is ready to stand in a page; `numbers` are (what, value) and say all that the picture shows."""

    name: str
    title: str
    text: str
    svg: str
    numbers: tuple[tuple[str, str], ...]


def draw(plan: Plan) -> list[Picture]:
    """Every picture that the plan has the numbers for."""
    makers: list[Callable[[Plan], Picture | None]] = [_give, _motor, _height]
    found: list[Picture] = []
    for make in makers:
        picture = make(plan)
        if picture is not None:
            found.append(picture)
    return found


def _give(plan: Plan) -> Picture | None:
    """Slack and compression of the path before and after, stacked: what retraction has to take up."""
    parts = {
        age: [finding_of(plan, f"path.{kind}_{age}") for kind in ("slack", "elastic", "give")]
        for age in ("old", "new")
    }
    found = [finding for trio in parts.values() for finding in trio]
    if not _all_known(found):
        return None
    with _settings():
        figure, (axes,) = _figure(1, 2.0)
        for row, age in enumerate(("new", "old")):
            slack, elastic, give = (_value(finding) for finding in parts[age])
            shown = words.number(give, _uncertainty(parts[age][2]))
            axes.barh(row, slack, height=0.5, color=OCHRE, hatch="////", edgecolor=PAPER, linewidth=0)
            axes.barh(row, elastic, left=slack, height=0.5, color=SLATE)
            axes.annotate(f"{shown} mm", (give, row), (5, 0), textcoords="offset points", va="center")
        most = max(_value(parts[age][2]) for age in parts)
        axes.set(xlim=(0, 1.3 * most or 1), ylim=(-0.6, 1.9), yticks=(0, 1), xlabel="give of the path in mm")
        axes.set_yticklabels(["new", "old"])
        axes.text(0, 1.45, "hatched: slack · plain: compression", color=SOFT, va="bottom")
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x")
        title = "What the feed path gives, before and after"
        text = "Two bars: the slack and the compression of the old path, and of the new one."
        svg = inline_svg(figure, "picture-give", title, text)
    numbers = tuple((overview.title(one), overview.finding_value(one)) for one in found if one)
    return Picture("give", title, text, svg, numbers)


def _motor(plan: Plan) -> Picture | None:
    """Winding and case temperature, and push force, over current, with what limits them."""
    current = _current(plan)
    if current is None:
        return None
    curves = {
        rule: curve(plan, rule, CURRENT, current, "A")
        for rule in ("motor.winding_temperature", "motor.case_temperature", "feeder.push_force")
    }
    heat = [one for rule, one in curves.items() if one and rule != "feeder.push_force"]
    push = curves["feeder.push_force"]
    if not heat and not push:
        return None
    driver, mount = finding_of(plan, DRIVER_LIMIT), finding_of(plan, MOUNT_LIMIT)
    limit = driver.value if driver and driver.value else None
    most = max(1.6 * current, 1.08 * limit if limit and limit <= WIDEST * current else 0)
    with _settings():
        figure, rows = _figure(bool(heat) + bool(push), 1.0 + 1.9 * (bool(heat) + bool(push)))
        if heat:
            _plot_heat(rows[0], heat, most, current, mount)
        if push:
            _plot_push(rows[-1], push, most, current)
        for axes in rows:
            axes.axvline(current, color=INK, linestyle=(0, (1, 2)), linewidth=1.2)
            if limit is not None and limit <= most:
                axes.axvline(limit, color=OCHRE, linestyle=(0, (6, 3)), linewidth=1.4)
            axes.set_xlim(0, most)
            axes.grid()
        if limit is not None and limit <= most:
            rows[0].annotate(
                "driver's limit", (limit, 1), (-3, 2), xycoords=("data", "axes fraction"),
                textcoords="offset points", ha="right", color=OCHRE,
            )  # fmt: skip
        rows[-1].set_xlabel("run current in A RMS (dots: the chosen one)")
        title = "Heat and push over the motor's current"
        text = (
            "Curves of the winding's and the case's temperature and of the push force over the run current, with the "
            "chosen current and the limits marked."
        )
        svg = inline_svg(figure, "picture-motor", title, text)
    numbers = [("Chosen current", words.measure(current, name="A"))]
    shown = [one.finding for one in heat] + ([push.finding] if push else [])
    numbers += [(overview.title(one), overview.finding_value(one)) for one in [*shown, mount, driver] if one]
    return Picture("motor", title, text, svg, tuple(numbers))


def _plot_heat(axes: Axes, heat: list[Curve], most: float, current: float, mount: Finding | None) -> None:
    limit = mount.value if mount else None
    chosen = [one.at(current) for one in heat]
    coolest = min(one.at(0.0) for one in heat)
    hottest = max([*chosen, limit or 0])
    top = hottest + 0.35 * (hottest - coolest)
    for index, (one, value, colour) in enumerate(zip(heat, chosen, (INK, SLATE), strict=False)):
        over, values = zip(*_rising(points(one, _steps(most)), top), strict=True)
        axes.plot(over, values, color=colour)
        label = one.finding.rule.rpartition(".")[2].split("_")[0]
        room = index == 1 and over[-1] < 0.85 * most
        axes.annotate(
            label, (over[-1], values[-1]), (5, -6) if room else (-4, 4 - 18 * index),
            textcoords="offset points", ha="left" if room else "right", color=colour,
        )  # fmt: skip
        axes.plot([current], [value], "o", color=colour, markersize=5)
    if limit is not None:
        axes.axhline(limit, color=OCHRE, linestyle=(0, (6, 3)), linewidth=1.4)
        axes.annotate(
            "mount's limit", (0, limit), (3, 3), textcoords="offset points", color=OCHRE, va="bottom"
        )
    axes.set(ylabel="°C", ylim=(None, top + 0.1 * (top - coolest)))


def _rising(curve: list[tuple[float, float]], top: float) -> list[tuple[float, float]]:
    """The curve as long as it rises and stays below `top`: a winding that gets hotter without end has no
    temperature, whatever its formula comes to beyond that current."""
    kept = curve[:1]
    for point in curve[1:]:
        if not kept[-1][1] <= point[1] <= top:
            break
        kept.append(point)
    return kept


def _plot_push(axes: Axes, push: Curve, most: float, current: float) -> None:
    over, values = zip(*points(push, _steps(most)), strict=True)
    axes.plot(over, values, color=SLATE)
    axes.plot([current], [push.at(current)], "o", color=SLATE, markersize=5)
    axes.set(ylabel=f"push in {words.unit(push.finding.unit)}", ylim=(0, None))


def _height(plan: Plan) -> Picture | None:
    """How high Z goes before and after, and the height up to which it was found clear."""
    change = next((one for one in plan.changes if one.quantity == "axis.z.max"), None)
    if change is None or change.old is None or change.old.value is None or change.new.value is None:
        return None
    old, new = change.old.value, change.new.value
    clear = _input(change, "clearance.highest_z")
    with _settings():
        figure, (axes,) = _figure(1, 2.6)
        levels = ((0, "before", old, SOFT, (0, 5), "bottom"), (1, "after", new, SLATE, (0, -5), "top"))
        for column, _, value, colour, offset, side in levels:
            axes.hlines(value, column - 0.3, column + 0.3, color=colour, linewidth=4)
            axes.annotate(
                words.measure(value, name="mm"), (column, value), offset,
                textcoords="offset points", ha="center", va=side,
            )  # fmt: skip
        if clear is not None:
            axes.axhline(clear, color=OCHRE, linestyle=(0, (6, 3)), linewidth=1.4)
            axes.annotate(
                f"clear to {words.measure(clear, name='mm')}", (0.5, clear), (0, 3),
                textcoords="offset points", ha="center", color=OCHRE,
            )  # fmt: skip
        known = [old, new] + ([clear] if clear is not None else [])
        spread = max(max(known) - min(known), 0.02 * max(known))
        axes.set(ylim=(min(known) - 0.8 * spread, max(known) + 0.6 * spread), ylabel="highest Z in mm")
        axes.set(xlim=(-0.6, 1.6), xticks=(0, 1), xticklabels=("before", "after"))
        axes.tick_params(axis="x", length=0)
        axes.grid(axis="y")
        title = "How high Z goes, before and after"
        text = (
            "Two levels: the old and the new limit. A dashed line: the height up to which it was found clear."
        )
        svg = inline_svg(figure, "picture-height", title, text)
    numbers = [("Before", words.measure(old, name="mm")), ("After", words.measure(new, name="mm"))]
    if clear is not None:
        numbers.append(("Found clear up to", words.measure(clear, name="mm")))
    return Picture("height", title, text, svg, tuple(numbers))


def _current(plan: Plan) -> float | None:
    """The run current that the plan settles on: the new one, or the one that stays."""
    flowing = finding_of(plan, "motor.current")
    if flowing is not None and flowing.value:
        return flowing.value
    for change in plan.changes:
        if change.quantity == "motor.run_current" and change.new.value:
            return change.new.value
    for finding in plan.findings:
        for given in finding.derivation.inputs:
            if given.name in CURRENT and given.value:
                return given.value
    return None


def _input(change: Change, name: str) -> float | None:
    return next((given.value for given in change.derivation.inputs if given.name == name), None)


def _all_known(findings: list[Finding | None]) -> bool:
    return all(finding is not None and finding.value is not None for finding in findings)


def _value(finding: Finding | None) -> float:
    assert finding is not None and finding.value is not None
    return finding.value


def _uncertainty(finding: Finding | None) -> float:
    return finding.uncertainty if finding else 0.0


def _steps(most: float, count: int = 60) -> list[float]:
    return [most * (index + 1) / count for index in range(count)]


def _settings() -> AbstractContextManager[None]:
    from matplotlib import rc_context

    return rc_context(SETTINGS)


def _figure(rows: int, height: float) -> tuple[Figure, list[Axes]]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH, height))
    axes = figure.subplots(
        rows,
        1,
        sharex=True,
        squeeze=False,
        gridspec_kw={
            "left": LEFT / WIDTH,
            "right": 1 - RIGHT / WIDTH,
            "bottom": BELOW / height,
            "top": 1 - ABOVE / height,
            "hspace": 0.12,
        },
    )
    return figure, [row[0] for row in axes]
