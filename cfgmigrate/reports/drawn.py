"""A picture as it stands in a page, with its numbers as text."""

from __future__ import annotations

from msgspec import Struct


class Picture(Struct, frozen=True):
    """`svg` is ready to stand in a page; `numbers` are (what, value) and say all that the picture shows."""

    name: str
    title: str
    text: str
    svg: str
    numbers: tuple[tuple[str, str], ...]
