"""The pictures of a plan, where people look rather than read, each with its numbers as text.

Which pictures there are, and all that they say, is in `pictured.py`: a picture is drawn only where the plan
holds the numbers for it. Curves are the rules' own formulas (`curve.py`).

This module deliberately works out no value of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from cfgmigrate.changes.plan import Finding, Plan
from cfgmigrate.reports import pictured, words
from cfgmigrate.reports.curve import Curve, finding_of, points
from cfgmigrate.reports.pictured import CASE, DRIVER_LIMIT, MOUNT_LIMIT, PUSH, WINDING
from cfgmigrate.reports.svg import INK, OCHRE, PAPER, SETTINGS, SLATE, SOFT, inline_svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 5.2
"""Inches; at 72 points an inch it fits a phone without shrinking the letters."""
LEFT, RIGHT, ABOVE, BELOW = 0.62, 0.12, 0.22, 0.46
"""Inches round the axes for their labels; fixed, because fitting them takes as long as drawing."""

WIDEST = 5
"""The current axis goes as far as the driver's limit where that is at most so many times the chosen current."""


#: changes that a picture shows; all else that it shows are findings
SHOWN = frozenset({"axis.z.max", "motor.run_current"})


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
    shown = tuple(change for change in plan.changes if change.quantity in SHOWN)
    return list(_drawn(Plan("", (), "", "", "", changes=shown, findings=plan.findings)))


@lru_cache(maxsize=64)
def _drawn(plan: Plan) -> tuple[Picture, ...]:
    """The pictures of a plan's findings and shown changes: those of machines that are alike are drawn once."""
    makers: list[Callable[[Plan], Picture | None]] = [_give, _motor, _height]
    found: list[Picture] = []
    for make in makers:
        picture = make(plan)
        if picture is not None:
            found.append(picture)
    return tuple(found)


def _give(plan: Plan) -> Picture | None:
    """Slack and compression of the path before and after, stacked: what retraction has to take up."""
    said, parts = pictured.give(plan), pictured.give_findings(plan)
    if said is None or parts is None:
        return None
    with _settings():
        figure, (axes,) = _figure(1, 2.0)
        for row, age in enumerate(("new", "old")):
            slack, elastic, give = (_value(finding) for finding in parts[age])
            shown = words.number(give, parts[age][2].uncertainty)
            axes.barh(row, slack, height=0.5, color=OCHRE, hatch="////", edgecolor=PAPER, linewidth=0)
            axes.barh(row, elastic, left=slack, height=0.5, color=SLATE)
            axes.annotate(f"{shown} mm", (give, row), (5, 0), textcoords="offset points", va="center")
        most = max(_value(parts[age][2]) for age in parts)
        axes.set(xlim=(0, 1.3 * most or 1), ylim=(-0.6, 1.9), yticks=(0, 1), xlabel="give of the path in mm")
        axes.set_yticklabels(["new", "old"])
        axes.text(0, 1.45, "hatched: slack · plain: compression", color=SOFT, va="bottom")
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x")
        text = "Two bars: the slack and the compression of the old path, and of the new one."
        svg = inline_svg(figure, "picture-give", said.title, text)
    return Picture(said.name, said.title, text, svg, said.numbers)


def _motor(plan: Plan) -> Picture | None:
    """Winding and case temperature, and push force, over current, with what limits them."""
    said, current = pictured.motor(plan), pictured.current_of(plan)
    if said is None or current is None:
        return None
    curves = pictured.motor_curves(plan, current)
    heat = [curves[rule] for rule in (WINDING, CASE) if rule in curves]
    push = curves.get(PUSH)
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
        text = (
            "Curves of the winding's and the case's temperature and of the push force over the run current, with the "
            "chosen current and the limits marked."
        )
        svg = inline_svg(figure, "picture-motor", said.title, text)
    return Picture(said.name, said.title, text, svg, said.numbers)


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
    said, known_levels = pictured.height(plan), pictured.height_levels(plan)
    if said is None or known_levels is None:
        return None
    old, new, clear = known_levels
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
        text = (
            "Two levels: the old and the new limit. A dashed line: the height up to which it was found clear."
        )
        svg = inline_svg(figure, "picture-height", said.title, text)
    return Picture(said.name, said.title, text, svg, said.numbers)


def _value(finding: Finding) -> float:
    assert finding.value is not None
    return finding.value


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
