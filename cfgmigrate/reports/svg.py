"""Graphs as inline SVG: the same bytes every time, no style attribute, the page's own colours.

A page with a strict content policy takes no style attributes, so colours are classes that follow the page into
the dark and onto paper. Each drawing is read aloud by its title and description. A graph is its axes and a list of
marks; a mark is put down at its numbers, and where these lie in pixels the axes say.

This module deliberately knows nothing of plans: what graphs show is in `pictures.py`, `place_pictures.py` and
`trial_page.py`. No line is cut off at the axes: who draws one knows how far they go.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from html import escape

from msgspec import Struct, field

# Names of the page's colours.
INK, SOFT, FAINT, OCHRE, SLATE, PAPER = "ink", "soft", "faint", "ochre", "slate", "paper"
COLOURS = frozenset({INK, SOFT, FAINT, OCHRE, SLATE, PAPER})
#: instead of a colour: stripes
HATCHED = "hatched"

WIDTH, ROOM = 360, 14
"""Pixels: a drawing's width, and the room above, beside and below it for letters. Together they fit a phone without
shrinking the letters much."""
ABOVE, BELOW, ROW_GAP = 6, 17.5, 8
"""Pixels: what the numbers along the axes take above and below a graph, and what is between two graphs."""
MOST_TICKS = 9
DASHED, DOTTED = (
    ' stroke-width="1.4" stroke-dasharray="7 4"',
    ' stroke-width="1.2" stroke-dasharray="1.2 2.4"',
)

_TICK, _LETTER, _NAME = 3.5, 6.4, 14
"""Pixels: a mark along an axis, about what one letter takes, and the name of the axis that goes up."""
_HATCH = (
    '<defs><pattern id="{name}-hatch" width="4.5" height="4.5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="4.5" height="4.5" class="fill-ochre"/>'
    '<rect width="1.6" height="4.5" class="fill-paper"/></pattern></defs>'
)

Spot = tuple[float, float]
Marked = Sequence[tuple[float, str]]


class Scale(Struct, frozen=True):
    """The frame of a graph's axes in pixels, and the numbers at its ends. `name` makes the drawing's ids its own."""

    name: str
    x: Spot
    y: Spot
    left: float
    right: float
    top: float
    bottom: float

    def across(self, value: float) -> float:
        return self.left + (value - self.x[0]) / (self.x[1] - self.x[0]) * (self.right - self.left)

    def up(self, value: float) -> float:
        return self.bottom - (value - self.y[0]) / (self.y[1] - self.y[0]) * (self.bottom - self.top)

    def at(self, spot: Spot) -> str:
        return f"{_px(self.across(spot[0]))},{_px(self.up(spot[1]))}"


Mark = Callable[[Scale], str]


class Axes(Struct):
    """A graph from end to end of `x` and `y`, with their names and numbers along them, round ones where none are given.
    `grid` says which of them have lines across the graph."""

    x: Spot
    y: Spot
    names: tuple[str, str]
    grid: str = "xy"
    along_x: Marked | None = None
    along_y: Marked | None = None
    ticks: bool = True
    marks: list[Mark] = field(default_factory=list)

    def add(self, *marks: Mark) -> None:
        self.marks += marks

    @property
    def numbers(self) -> tuple[Marked, Marked]:
        across = self.along_x if self.along_x is not None else _round_numbers(*self.x)
        return across, self.along_y if self.along_y is not None else _round_numbers(*self.y)


def path(spots: Iterable[Spot], colour: str, style: str = ' stroke-width="1.8"') -> Mark:
    """A line through these places."""
    first, *others = spots
    return lambda scale: _line([scale.at(first), *map(scale.at, others or [first])], colour, style)


def level(y: float, colour: str, style: str) -> Mark:
    """A line all across."""
    return lambda scale: path([(scale.x[0], y), (scale.x[1], y)], colour, style)(scale)


def upright(x: float, colour: str, style: str) -> Mark:
    """A line from top to bottom."""
    return lambda scale: path([(x, scale.y[0]), (x, scale.y[1])], colour, style)(scale)


def bar(row: float, start: float, end: float, thick: float, colour: str) -> Mark:
    """A bar from `start` to `end` along a row."""

    def drawn(scale: Scale) -> str:
        kind = f'beam" fill="url(#{scale.name}-hatch)' if colour == HATCHED else f"beam fill-{colour}"
        return _box(scale, (start, row - thick / 2), (end, row + thick / 2), kind)

    return drawn


def frame(low: Spot, high: Spot, colour: str) -> Mark:
    """The outline of a field."""
    return lambda scale: _box(scale, low, high, f'stroke-{colour}" fill="none" stroke-width="0.8')


def strokes(parts: Sequence[Sequence[Spot]], colour: str, width: float) -> Mark:
    """All of them as one shape of many parts."""

    def drawn(scale: Scale) -> str:
        shape = "".join(f"M {scale.at(first)} L {' '.join(map(scale.at, more))} Z " for first, *more in parts)
        return f'<path d="{shape}" fill="none" stroke-width="{width:g}" class="stroke-{colour}"/>'

    return drawn


def dots(spots: Sequence[Spot], radius: float, colour: str) -> Mark:
    """A dot at each place; the radius in pixels."""
    return lambda scale: "".join(
        f'<circle cx="{_px(scale.across(x))}" cy="{_px(scale.up(y))}" r="{radius:g}" class="fill-{colour}"/>'
        for x, y in spots
    )


def label(
    x: float,
    y: float,
    text: str,
    colour: str = INK,
    *,
    across: str = "start",
    up: str = "auto",
    off: Spot = (0, 0),
) -> Mark:
    """Letters at a place, `off` by pixels to the right and down, readable on top of any line. `across` and `up` are
    which part of them lies there, in SVG's words."""
    return lambda scale: _letters(
        scale.across(x) + off[0],
        scale.up(y) + off[1],
        text,
        f' text-anchor="{across}" dominant-baseline="{up}" stroke-width="3" paint-order="stroke"',
        f"fill-{colour} stroke-paper",
    )


def inline_svg(rows: Sequence[tuple[Axes, float]], name: str, title: str, description: str) -> str:
    """Graphs one over the other, each with the height of its axes in pixels (0: as wide, so high, to one scale), with
    the ends of their axes in line, as an `<svg>` element to stand in a page. `name` makes its ids its own."""
    left = max(_beside(axes) for axes, _ in rows)
    parts: list[str] = []
    reached = 0.0
    for axes, height in rows:
        if not height:
            height = (WIDTH - 1 - left) * (axes.y[1] - axes.y[0]) / (axes.x[1] - axes.x[0])
        top = reached + (ROW_GAP if parts else 0) + ABOVE
        scale = Scale(name, axes.x, axes.y, left, WIDTH - 1, top, top + height)
        parts.append(_graph(axes, scale))
        reached = scale.bottom + (BELOW if axes.ticks else 0)
    body = "".join(parts)
    hatch = _HATCH.format(name=name) if f"#{name}-hatch" in body else ""
    return (
        f'<svg viewBox="0 {-ROOM} {WIDTH + ROOM} {_px(reached + 2 * ROOM)}" role="img" class="picture" '
        f'aria-labelledby="{name}-title {name}-text"><title id="{name}-title">{escape(title)}</title>'
        f'<desc id="{name}-text">{escape(description)}</desc>{hatch}{body}</svg>'
    )


def _graph(axes: Axes, scale: Scale) -> str:
    """The axes, what runs along them, and the marks."""
    across, up = axes.numbers
    corner = scale.at((scale.x[0], scale.y[0]))
    edge = [scale.at((scale.x[0], scale.y[1])), corner, scale.at((scale.x[1], scale.y[0]))]
    parts = [_line(edge, SOFT, ' stroke-width="0.8"')]
    for x, text in across:
        at = scale.across(x)
        parts += _grid(f"{_px(at)},{_px(scale.bottom)}", f"{_px(at)},{_px(scale.top)}", "x" in axes.grid)
        if axes.ticks:
            parts += [
                _tick(at, scale.bottom, at, scale.bottom + _TICK),
                _letters(
                    at, scale.bottom + _TICK + 3, text, ' text-anchor="middle" dominant-baseline="hanging"'
                ),
            ]
    for y, text in up:
        at = scale.up(y)
        parts += _grid(f"{_px(scale.left)},{_px(at)}", f"{_px(scale.right)},{_px(at)}", "y" in axes.grid)
        parts += [
            _tick(scale.left, at, scale.left - _TICK, at),
            _letters(scale.left - _TICK - 3, at, text, ' text-anchor="end" dominant-baseline="middle"'),
        ]
    parts += [mark(scale) for mark in axes.marks]
    if axes.names[0]:
        middle = (scale.left + scale.right) / 2
        place = ' text-anchor="middle" dominant-baseline="hanging"'
        parts.append(_letters(middle, scale.bottom + 20, axes.names[0], place))
    if axes.names[1]:
        middle = (scale.top + scale.bottom) / 2
        place = f' text-anchor="middle" transform="rotate(-90 10 {_px(middle)})"'
        parts.append(_letters(10, middle, axes.names[1], place))
    return "".join(parts)


def _beside(axes: Axes) -> float:
    """Pixels to the left of a graph for its letters, whose widths in any one font are a guess."""
    longest = max((len(text) for _, text in axes.numbers[1]), default=0)
    return longest * _LETTER + _TICK + 8 + (_NAME if axes.names[1] else 0)


def _round_numbers(low: float, high: float) -> Marked:
    """Multiples of 1, 2 or 5 times a power of ten, so many that they don't crowd."""
    rough = (high - low) / (MOST_TICKS - 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * each for each in (1, 2, 5, 10) if power * each >= rough * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    ticks = [round(number * step, 6) for number in range(first, last + 1)]
    return [(tick, f"{tick:g}") for tick in ticks]


def _grid(start: str, end: str, drawn: bool) -> list[str]:
    return [_line([start, end], FAINT, ' stroke-width="0.6"')] if drawn else []


def _tick(x: float, y: float, to_x: float, to_y: float) -> str:
    return _line([f"{_px(x)},{_px(y)}", f"{_px(to_x)},{_px(to_y)}"], INK, ' stroke-width="0.8"')


def _line(points: Sequence[str], colour: str, style: str) -> str:
    return f'<path d="M {points[0]} L {" ".join(points[1:])}" fill="none"{style} class="stroke-{colour}"/>'


def _box(scale: Scale, low: Spot, high: Spot, kind: str) -> str:
    x, y = scale.across(low[0]), scale.up(high[1])
    size = f'width="{_px(scale.across(high[0]) - x)}" height="{_px(scale.up(low[1]) - y)}"'
    return f'<rect x="{_px(x)}" y="{_px(y)}" {size} class="{kind}"/>'


def _letters(x: float, y: float, text: str, place: str, kind: str = "fill-ink") -> str:
    return f'<text x="{_px(x)}" y="{_px(y)}" font-size="10"{place} class="{kind}">{escape(text, quote=False)}</text>'


def _px(value: float) -> str:
    """Pixels to a hundredth."""
    return f"{round(value, 2) + 0.0:g}" if abs(value) < 1000 else f"{value:.2f}"
