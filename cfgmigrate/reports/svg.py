"""Inline SVG from matplotlib: the same bytes every time, no style attribute, the page's own colours.

A page with a strict content policy takes no style attributes, so they become presentation attributes;
the drawing's colours become classes that follow the page into the dark and onto paper; what names the
program or the day is left out. Each drawing is read aloud by its title and description.

This module deliberately draws nothing: that is in `pictures.py`.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# Colour in the drawing: name of the page's colour.
INK, SOFT, FAINT, OCHRE, SLATE, PAPER = "#101112", "#505152", "#c0c1c2", "#905013", "#204060", "#fdfcfb"
COLOURS = {INK: "ink", SOFT: "soft", FAINT: "faint", OCHRE: "ochre", SLATE: "slate", PAPER: "paper"}

SETTINGS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "the same ids every time",
    "font.family": "sans-serif",
    "font.size": 10,
    "text.color": INK,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.facecolor": "none",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "figure.facecolor": "none",
    "grid.color": FAINT,
    "grid.linewidth": 0.6,
    "hatch.color": PAPER,
    "hatch.linewidth": 1.2,
    "legend.frameon": False,
    "lines.linewidth": 1.8,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
}

_SVG = "{http://www.w3.org/2000/svg}"
_LINK = "{http://www.w3.org/1999/xlink}href"
_UNWANTED = {"metadata", "style"}


def inline_svg(figure: Figure, name: str, title: str, description: str) -> str:
    """The figure as an `<svg>` element to stand in a page. `name` makes its ids its own. Called under
    `SETTINGS`, as the figure was made."""
    out = io.BytesIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    root = ElementTree.fromstring(out.getvalue())
    _clean(root, name)
    for attribute in ("width", "height", "version"):
        root.attrib.pop(attribute, None)
    root.set("role", "img")
    root.set("class", "picture")
    root.set("aria-labelledby", f"{name}-title {name}-text")
    for index, (tag, text) in enumerate([("title", title), ("desc", description)]):
        element = ElementTree.Element(tag, {"id": f"{name}-{'title' if tag == 'title' else 'text'}"})
        element.text = text
        root.insert(index, element)
    return ElementTree.tostring(root, encoding="unicode")


def _clean(element: ElementTree.Element, name: str) -> None:
    """No namespaces (HTML knows them by itself), no style attributes, ids of this picture's own."""
    element.tag = element.tag.removeprefix(_SVG)
    link = element.attrib.pop(_LINK, None)
    if link:
        element.set("href", f"#{name}-{link[1:]}")
    if "id" in element.attrib:
        element.set("id", f"{name}-{element.attrib['id']}")
    for attribute, value in _declarations(element.attrib.pop("style", "")):
        element.set(attribute, value)
    for attribute, value in list(element.attrib.items()):
        element.set(attribute, re.sub(r"url\(#", f"url(#{name}-", value))
    _colour(element)
    for child in list(element):
        if child.tag.removeprefix(_SVG) in _UNWANTED:
            element.remove(child)
        else:
            _clean(child, name)


def _declarations(style: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for declaration in filter(str.strip, style.split(";")):
        attribute, _, value = declaration.partition(":")
        attribute, value = attribute.strip(), value.strip()
        if attribute == "font":
            size = re.search(r"([\d.]+px)", value)
            found += [("font-size", size[1])] if size else []
        else:
            found.append((attribute, value))
    return found


def _colour(element: ElementTree.Element) -> None:
    classes: list[str] = []
    for attribute in ("fill", "stroke"):
        name = COLOURS.get(element.attrib.get(attribute, "").lower())
        if name:
            del element.attrib[attribute]
            classes.append(f"{attribute}-{name}")
    if element.tag == "text" and "fill" not in element.attrib and not classes:
        classes.append("fill-ink")
    if classes:
        element.set("class", " ".join(classes))
