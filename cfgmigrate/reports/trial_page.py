"""A test script as a page: its picture, its numbers, its cautions and its first lines.

The picture is the path seen from above and from the side. What is laid down again and again at the same place
is drawn once, so that a spiral of thousands of moves stays a small picture.

This module deliberately works nothing out: moves and numbers are the script's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cfgmigrate.reports import html, words
from cfgmigrate.reports.svg import FAINT, INK, OCHRE, SETTINGS, inline_svg
from cfgmigrate.trials.writer import CAUTIONS, Segment, Written

#: lines of the script that the page shows
SHOWN = 60
#: inches
WIDTH, HEIGHT = 5.2, 6.4


def render_trial(written: Written, title: str, machine: str, measured: str) -> str:
    """The page's text: one file that fetches nothing and runs nothing."""
    style = html.asset("page.css")
    lines = written.text.splitlines()
    return (
        html.environment()
        .get_template("trial.html")
        .render(
            title=title,
            machine=machine or "this machine",
            measured=measured,
            cautions=CAUTIONS,
            facts=written.facts,
            svg=html.own(path_picture(written)),
            lines=lines[:SHOWN],
            more=words.count(max(0, len(lines) - SHOWN), "line"),
            policy=html.own(html.policy(style)),
            css=html.own(style),
        )
        .lstrip()
    )


def path_picture(written: Written) -> str:
    """The path as inline SVG: from above, and from the side."""
    from matplotlib import rc_context
    from matplotlib.collections import LineCollection
    from matplotlib.figure import Figure

    known = [one for one in written.segments if not any(map(math.isnan, (*one.start, *one.end)))]
    with rc_context(SETTINGS):
        figure = Figure(figsize=(WIDTH, HEIGHT), layout="constrained")
        above, side = figure.subplots(2, 1)
        for axes, (across, up), names in ((above, (0, 1), "xy"), (side, (0, 2), "xz")):
            for fed, colour, width in ((False, FAINT, 0.6), (True, INK, 1.2)):
                drawn = _once((one for one in known if (one.feed > 0) == fed), across, up)
                axes.add_collection(LineCollection(drawn, colors=colour, linewidths=width))
            still = [one.end for one in known if one.feed > 0 and one.start == one.end]
            axes.plot(
                [spot[across] for spot in still], [spot[up] for spot in still], "o", color=OCHRE, markersize=3
            )
            axes.autoscale()
            axes.margins(0.05)
            axes.set(xlabel=f"{names[0]} in mm", ylabel=f"{names[1]} in mm")
        above.set_aspect("equal", adjustable="datalim")
        title = "The path from above and from the side"
        text = "Dark: filament is laid down. Faint: the nozzle moves without. Dots: filament is fed at one place."
        return inline_svg(figure, "picture-path", title, text)


def _once(segments: Iterable[Segment], across: int, up: int) -> list[list[tuple[float, float]]]:
    """Each stroke in these two axes once, whichever way it was gone; from the side, one stroke a layer."""
    strokes: dict[tuple[tuple[float, float], ...], None] = {}
    layers: dict[float, tuple[float, float]] = {}
    for one in segments:
        ends = sorted((round(end[across], 2), round(end[up], 2)) for end in (one.start, one.end))
        if ends[0] == ends[1]:
            continue
        if up == 2 and abs(ends[0][1] - ends[1][1]) < 0.05:
            low, high = layers.get(round(ends[0][1], 1), (math.inf, -math.inf))
            layers[round(ends[0][1], 1)] = min(low, ends[0][0]), max(high, ends[1][0])
        else:
            strokes[tuple(ends)] = None
    flat = [[(low, level), (high, level)] for level, (low, high) in layers.items()]
    return [list(stroke) for stroke in strokes] + flat
