"""A test script as a page: its picture, its numbers, its cautions and its first lines.

The picture is the path seen from above and from the side. What is laid down again and again at the same place
is drawn once, so that a spiral of thousands of moves stays a small picture.

This module deliberately works nothing out: moves and numbers are the script's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from cfgmigrate.reports import html, wording
from cfgmigrate.reports.svg import FAINT, INK, OCHRE, SOFT, Axes, dots, frame, inline_svg, strokes
from cfgmigrate.trials.writer import CAUTIONS, Segment, Written

#: lines of the script that the page shows
LINES_SHOWN = 60
#: pixels: so high is the view from the side
SIDE_VIEW = 118
#: the view from above is at most so many times as deep as wide, and shows so much (part of the reach) around it
DEEPEST_PICTURE, MARGIN_SHARE = 2.0, 0.03
#: a move that rises less than this (mm) is a flat one
FLAT = 0.05
#: so many layers are told apart from the side, so that a tall thing does not become a black block
LAYERS = 100
PATH_LEGEND = (
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
            facts=[(wording.capital(name), value) for name, value in written.facts],
            legend=PATH_LEGEND,
            svg=html.own(path_picture(written)),
            stops=written.stops,
            lines=lines[:LINES_SHOWN],
            more=wording.count(len(lines) - LINES_SHOWN, "line") if len(lines) > LINES_SHOWN else "",
            policy=html.own(html.policy(style)),
            css=html.own(style),
        )
        .lstrip()
    )


def path_picture(written: Written) -> str:
    """The path as inline SVG: from above, within the machine's reach, and from the side, both over the same x."""

    known = [one for one in written.segments if not any(map(math.isnan, (*one.start, *one.end)))]
    x0, x1, y0, y1 = written.reach
    wide, deep = x1 - x0, y1 - y0
    beside = MARGIN_SHARE * wide + max(0.0, deep / DEEPEST_PICTURE - wide) / 2
    x, y = (x0 - beside, x1 + beside), (y0 - MARGIN_SHARE * deep, y1 + MARGIN_SHARE * deep)
    above = Axes(x, y, ("", "y in mm"), "")
    above.add(frame((x0, y0), (x1, y1), SOFT))
    highest = max(one.end[2] for one in known)
    side = Axes(x, (0, 1.08 * highest or 1), ("x in mm", "z in mm"), "")
    for view, across, up in ((above, 0, 1), (side, 0, 2)):
        for fed, colour, width in ((False, FAINT, 0.5), (True, INK, 0.7)):
            laid = _once((one for one in known if (one.feed > 0) == fed), across, up)
            if laid:
                view.add(strokes(laid, colour, width))
        spots = list(dict.fromkeys((one.end[across], one.end[up]) for one in _halts(known)))
        if spots:
            view.add(dots(spots, 1.8, OCHRE))
    title = "The path from above, within the machine's reach, and from the side"
    return inline_svg([(above, 0), (side, SIDE_VIEW)], "picture-path", title, PATH_LEGEND)


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
