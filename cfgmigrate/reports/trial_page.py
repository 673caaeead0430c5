"""A test script as a page: its picture, its numbers, its cautions and its first lines.

The picture is the path seen from above and from the side. What is laid down again and again at the same place
is drawn once, so that a spiral of thousands of moves stays a small picture.

This module deliberately works nothing out: moves and numbers are the script's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.reports import html, words
from cfgmigrate.reports.svg import FAINT, INK, OCHRE, SETTINGS, SOFT, inline_svg
from cfgmigrate.trials.writer import CAUTIONS, Segment, Written

#: lines of the script that the page shows
SHOWN = 60
#: inches: the width, and the height of the view from the side
WIDTH, SIDE = 5.2, 2.2
#: a move that rises less than this (mm) is a flat one
FLAT = 0.05
#: so many layers are told apart from the side, so that a tall thing does not become a black block
LAYERS = 100
LEGEND = (
    "Dark: filament is laid down. Faint: the nozzle moves without. Dots: it stays at one place, to feed or to be "
    "looked at. The frame is how far x and y reach; height is not to scale."
)


def render_trial(written: Written, title: str, machine: str, measured: str) -> str:
    """The page's text: one file that fetches nothing and runs nothing."""
    style = html.asset("page.css")
    lines = written.text.splitlines()
    return (
        html.environment()
        .get_template("trial.html")
        .render(
            title=title.rstrip("."),
            machine=machine or "this machine",
            measured=measured,
            cautions=CAUTIONS,
            facts=[(words.capital(name), value) for name, value in written.facts],
            legend=LEGEND,
            svg=html.own(path_picture(written)),
            lines=lines[:SHOWN],
            more=words.count(len(lines) - SHOWN, "line") if len(lines) > SHOWN else "",
            policy=html.own(html.policy(style)),
            css=html.own(style),
        )
        .lstrip()
    )


def path_picture(written: Written) -> str:
    """The path as inline SVG: from above, within the machine's reach, and from the side, both over the same x."""
    from matplotlib import rc_context
    from matplotlib.collections import LineCollection
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

    known = [one for one in written.segments if not any(map(math.isnan, (*one.start, *one.end)))]
    x0, x1, y0, y1 = written.reach
    with rc_context(SETTINGS):
        deep = min(2.0, max(0.4, (y1 - y0) / (x1 - x0)))
        figure = Figure(figsize=(WIDTH, WIDTH * deep + SIDE), layout="constrained")
        above, side = figure.subplots(2, 1, height_ratios=(WIDTH * deep, SIDE))
        above.add_patch(Rectangle((x0, y0), x1 - x0, y1 - y0, fill=False, edgecolor=SOFT, linewidth=0.8))
        for axes, (across, up), names in ((above, (0, 1), "xy"), (side, (0, 2), "xz")):
            for fed, colour, width in ((False, FAINT, 0.5), (True, INK, 0.7)):
                drawn = _once((one for one in known if (one.feed > 0) == fed), across, up)
                axes.add_collection(LineCollection(drawn, colors=colour, linewidths=width))
            spots = list(dict.fromkeys((one.end[across], one.end[up]) for one in _halts(known)))
            axes.plot(
                [spot[0] for spot in spots], [spot[1] for spot in spots], "o", color=OCHRE, markersize=3
            )
            axes.autoscale()
            axes.set(xlabel=f"{names[0]} in mm", ylabel=f"{names[1]} in mm")
            axes.set_xlim(x0 - 0.03 * (x1 - x0), x1 + 0.03 * (x1 - x0))
        above.set_ylim(y0 - 0.03 * (y1 - y0), y1 + 0.03 * (y1 - y0))
        above.set_aspect("equal")
        side.set_ylim(0, 1.08 * max(one.end[2] for one in known))
        title = "The path from above, within the machine's reach, and from the side"
        return inline_svg(figure, "picture-path", title, LEGEND)


def _halts(segments: Sequence[Segment]) -> Iterator[Segment]:
    """Where filament is fed at one place; in a script without filament every end of a move."""
    without = not any(one.feed for one in segments)
    return (one for one in segments if without or (one.feed > 0 and one.start == one.end))


def _once(segments: Iterable[Segment], across: int, up: int) -> list[list[tuple[float, float]]]:
    """Each stroke in these two axes once, whichever way it was gone; from the side, one stroke for all that
    touch within a layer."""
    segments = list(segments)
    layer = max([2 * FLAT, *(one.end[2] / LAYERS for one in segments)])
    strokes: dict[tuple[tuple[float, float], ...], None] = {}
    layers: dict[float, list[tuple[float, float]]] = {}
    for one in segments:
        ends = sorted((round(end[across], 2), round(end[up], 2)) for end in (one.start, one.end))
        if ends[0] == ends[1]:
            continue
        if up == 2 and abs(ends[0][1] - ends[1][1]) < FLAT:
            layers.setdefault(round(ends[0][1] / layer) * layer, []).append((ends[0][0], ends[1][0]))
        else:
            strokes[tuple(ends)] = None
    flat = [[(low, level), (high, level)] for level, found in layers.items() for low, high in _joined(found)]
    return [list(stroke) for stroke in strokes] + flat


def _joined(stretches: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Stretches of a line, those that touch as one."""
    found: list[tuple[float, float]] = []
    for low, high in sorted(stretches):
        if found and low <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], high)
        else:
            found.append((low, high))
    return found
