"""Graphs as inline SVG: the same bytes every time, no style attribute, the page's own colours.

A page with a strict content policy takes no style attributes, so colours are classes that follow the page into
the dark and onto paper. Each drawing is read aloud by its title and description.

This module deliberately draws nothing by itself: axes and marks are the plotting library's, what they show is
in `pictures.py` and `trial_page.py`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree

if TYPE_CHECKING:
    from ziaplot import Graph, LayoutV, Scatter, Text

# Colour in the drawing: name of the page's colour.
INK, SOFT, FAINT, OCHRE, SLATE, PAPER = "#101112", "#505152", "#c0c1c2", "#905013", "#204060", "#fdfcfb"
COLOURS = {INK: "ink", SOFT: "soft", FAINT: "faint", OCHRE: "ochre", SLATE: "slate", PAPER: "paper"}

WIDTH, ROOM = 360, 14
"""Pixels: a drawing's width, and the room above, beside and below it for letters. Together they fit a phone without
shrinking the letters much."""
ABOVE, BELOW, ROW_GAP = 6, 17.5, 8
"""Pixels: what the numbers along the axes take above and below a graph, and what is between two graphs."""
MOST_TICKS = 9

DASHED, DOTTED = "stroke: 7 4; stroke_width: 1.4", "stroke: 1.2 2.4; stroke_width: 1.2"

# The library's own style language; "-" is a plain line.
STYLE = f"""
* {{ color: {INK}; font_size: 10; }}
Canvas {{ color: none; }}
Graph {{ color: none; edge_color: {SOFT}; edge_width: 0.8; }}
Graph.GridX {{ color: {FAINT}; stroke: -; stroke_width: 0.6; }}
Graph.GridY {{ color: {FAINT}; stroke: -; stroke_width: 0.6; }}
Graph.TickX {{ height: 3.5; stroke_width: 0.8; margin: 3; pad: 0; }}
Graph.TickY {{ height: 3.5; stroke_width: 0.8; margin: 3; pad: 0; }}
Text {{ font_size: 10; }}
PolyLine {{ stroke_width: 1.8; }}
Scatter {{ edge_color: none; edge_width: 0; }}
Bars {{ edge_color: none; edge_width: 0; }}
Shape {{ stroke: -; stroke_width: 0.8; }}
"""
NO_GRID_X, NO_GRID_Y = "Graph.GridX { color: none; }", "Graph.GridY { color: none; }"
NO_MARKS = "Graph.TickX { height: 0; } Graph.TickY { height: 0; }"


def graph(x: tuple[float, float], y: tuple[float, float], names: tuple[str, str], *styles: str) -> Graph:
    """Axes from end to end of `x` and `y`, with their names and round numbers along them."""
    from ziaplot import Graph, config

    config.text, config.precision = "text", 2
    made = Graph().css("".join([STYLE, *styles]))
    across, up = _round_numbers(*x), _round_numbers(*y)
    # blanks are not drawn: they keep the name of y off its numbers, whose widths in any one font are a guess
    made.xrange(*x).xticks(across).yrange(*y).yticks(up, [f"  {tick:g}" for tick in up])
    made.axesnames(y=names[1])
    if names[0]:
        made.add(label(sum(x) / 2, y[0], names[0], across="center", up="top", off=(0, 20)))
    return made


def label(
    x: float,
    y: float,
    text: str,
    colour: str = INK,
    *,
    across: str = "left",
    up: str = "bottom",
    off: tuple[float, float] = (0, 0),
) -> Text:
    """Letters at a place of a graph, `off` by pixels to the right and down, readable on top of any line."""
    from ziaplot import Text

    made = Text(x, y, text, halign=across, valign=up).color(colour)
    halo = {"stroke": PAPER, "stroke-width": "3", "paint-order": "stroke"}
    for name, value in {"dx": f"{off[0]:g}", "dy": f"{off[1]:g}", **halo}.items():
        made.attribute(name, value)
    return made


def dots(spots: Sequence[tuple[float, float]], radius: float, colour: str) -> Scatter:
    """A dot at each spot; the radius in pixels."""
    from ziaplot import Scatter

    # the path that carries the dots needs two points, be they the same
    x, y = zip(*spots, spots[-1], strict=True)
    return Scatter(x, y).marker("o", radius).color(colour)


def stacked(graphs: list[Graph], plots: list[float]) -> LayoutV:
    """Graphs one over the other, with the ends of their axes in line; `plots` are the axes' heights in pixels."""
    from ziaplot import LayoutV

    heights = [
        ABOVE + plot + (BELOW if graph.showxticks else 0) for graph, plot in zip(graphs, plots, strict=True)
    ]
    made = LayoutV(*graphs, row_gap=ROW_GAP, row_heights=" ".join(f"{height:g}" for height in heights))
    return made.size(WIDTH, sum(heights) + ROW_GAP * (len(graphs) - 1))


def inline_svg(drawing: Graph | LayoutV, name: str, title: str, description: str) -> str:
    """The drawing as an `<svg>` element to stand in a page. `name` makes its ids its own."""
    root = drawing.svgxml()
    _clean(root, name)
    for attribute in ("xmlns", "width", "height"):
        root.attrib.pop(attribute)
    root.set("viewBox", f"0 {-ROOM} {WIDTH + ROOM} {drawing.height + 2 * ROOM:g}")
    root.set("role", "img")
    root.set("class", "picture")
    root.set("aria-labelledby", f"{name}-title {name}-text")
    for index, (tag, text) in enumerate([("title", title), ("desc", description)]):
        element = ElementTree.Element(tag, {"id": f"{name}-{'title' if tag == 'title' else 'text'}"})
        element.text = text
        root.insert(index, element)
    return ElementTree.tostring(root, encoding="unicode")


def _round_numbers(low: float, high: float) -> list[float]:
    from ziaplot.diagrams.graph import getticks

    return [round(tick, 6) for tick in getticks(low, high, MOST_TICKS) if low <= tick <= high]


def _clean(element: ElementTree.Element, name: str) -> None:
    """Ids of this picture's own, and the page's colours instead of the drawing's."""
    if "id" in element.attrib:
        element.set("id", f"{name}-{element.attrib['id']}")
    for attribute, value in element.attrib.items():
        element.set(attribute, re.sub(r"url\(#", f"url(#{name}-", value))
    classes: list[str] = []
    for attribute in ("fill", "stroke"):
        colour = COLOURS.get(element.attrib.get(attribute, ""))
        if colour:
            del element.attrib[attribute]
            classes.append(f"{attribute}-{colour}")
    if classes:
        element.set("class", " ".join(classes))
    for child in element:
        _clean(child, name)
