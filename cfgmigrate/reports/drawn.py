"""A picture as it stands in a page, with its numbers as text."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cfgmigrate.reports.picture_text import Pictured
from cfgmigrate.reports.svg import Axes, inline_svg


class Picture(Struct, frozen=True):
    """`svg` is ready to stand in a page; `numbers` are (what, value) and say all that the picture shows."""

    name: str
    title: str
    text: str
    svg: str
    numbers: tuple[tuple[str, str], ...]


def drawn(said: Pictured, rows: Sequence[tuple[Axes, float]], text: str) -> Picture:
    """The picture of what is said, from its rows of axes, each with its height; `text` says what is to be seen."""
    svg = inline_svg(rows, f"picture-{said.name}", said.title, text)
    return Picture(said.name, said.title, text, svg, said.numbers)
