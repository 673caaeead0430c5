"""A change as a picture in its row: by how much the value moves, how sure that is, and the range to try.

One line from a part of the old value to so many times it, drawn to a logarithmic scale, so that half and double are
equally far from "as before". The whisker is the uncertainty, the band the range to try.

This module deliberately works out nothing but the ratio of two numbers that stand beside the picture.
"""

from __future__ import annotations

from html import escape
from math import ceil, log2

from cfgmigrate.ground import number_text
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.model import Change

RATIO_WIDTH, HIGH, RATIO_MARGIN = 320, 34, 8
PLACE_ON_THE_BED = pattern(r"(?:probe|mesh|end_stop|script)\..*|axis\.\w+\.(?:min|max)")
"""Of a place a ratio says nothing."""
LEAST_DOUBLINGS = 1
"""Even a small change is drawn on a scale from half to double."""


def ratio_picture(change: Change) -> str:
    """The picture as an `<svg>` element; "" where there are no two numbers of one sign, nothing moves, or it is a place."""
    if PLACE_ON_THE_BED.fullmatch(change.quantity):
        return ""
    old, new = change.old.value if change.old else None, change.new.value
    if not old or not new or old * new < 0 or old == new:
        return ""
    spread = change.new.uncertainty / abs(new)
    whisker = [1 / (1 + spread), 1 + spread]
    band = [edge / old for edge in (change.low, change.high) if edge is not None and edge / old > 0]
    ratio = new / old
    ends = [ratio, *(ratio * each for each in whisker), *band]
    most = max(LEAST_DOUBLINGS, ceil(max(abs(log2(each)) for each in ends)))

    def at(each: float) -> float:
        return round(RATIO_MARGIN + (log2(each) / most + 1) / 2 * (RATIO_WIDTH - 2 * RATIO_MARGIN), 1)

    parts = [f'<path class="stroke-soft" d="M{RATIO_MARGIN} 17H{RATIO_WIDTH - RATIO_MARGIN}M{at(1)} 8V26"/>']
    if len(band) == 2:
        low, high = sorted(map(at, band))
        parts.append(
            f'<rect class="fill-faint" x="{low}" y="11" width="{max(high - low, 1):g}" height="12"/>'
        )
    parts.append(f'<path class="stroke-slate wide" d="M{at(1)} 17H{at(ratio)}"/>')
    if spread:
        low, high = (at(ratio * each) for each in whisker)
        parts.append(f'<path class="stroke-ink" d="M{low} 17H{high}M{low} 13V21M{high} 13V21"/>')
    parts.append(f'<circle class="fill-slate" cx="{at(ratio)}" cy="17" r="4"/>')
    parts += [
        f'<text x="{RATIO_MARGIN}" y="33">÷ {2**most:g}</text>',
        f'<text x="{at(1)}" y="33" text-anchor="middle">as before</text>',
        f'<text x="{RATIO_WIDTH - RATIO_MARGIN}" y="33" text-anchor="end">× {2**most:g}</text>',
    ]
    return (
        f'<svg class="ratio" viewBox="0 0 {RATIO_WIDTH} {HIGH + 2}" role="img" aria-label="{escape(ratio_text(change))}">'
        f"{''.join(parts)}</svg>"
    )


def ratio_text(change: Change) -> str:
    """The same in words: `0.12 times the old value, between 0.09 and 0.15 by its uncertainty`."""
    assert change.old is not None and change.old.value and change.new.value
    ratio = change.new.value / change.old.value
    spread = change.new.uncertainty / abs(change.new.value)
    told = f"{number_text.number(ratio, digits=3)} times the old value"
    if not spread:
        return told
    low, high = (number_text.number(each, digits=3) for each in (ratio / (1 + spread), ratio * (1 + spread)))
    return f"{told}, between {low} and {high} by its uncertainty"
