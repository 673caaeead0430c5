"""A graph's marks lie where its numbers are, along axes with round numbers that don't crowd."""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree

import pytest

from cfgmigrate.reports.svg import INK, MOST_TICKS, Axes, Scale, dots, frame, inline_svg, label, path


@pytest.mark.parametrize(
    "ends", [(0, 55), (-0.2, 1.28), (41.3, 88.9), (0, 0.004), (-700, 1.2e5), (3, 3.0001)]
)
def test_numbers_along_an_axis_are_round_within_its_ends_and_few(ends: tuple[float, float]) -> None:
    marked, _ = Axes(ends, (0, 1), ("", "")).numbers
    assert 3 <= len(marked) <= MOST_TICKS
    assert all(ends[0] <= value <= ends[1] for value, _ in marked)
    steps = {
        round((later - one) / (ends[1] - ends[0]), 3) for (one, _), (later, _) in itertools.pairwise(marked)
    }
    assert len(steps) == 1


def test_the_ends_of_the_axes_are_the_ends_of_the_frame() -> None:
    scale = Scale("x", (-2, 8), (10, 20), 40, 340, 6, 106)
    assert (scale.across(-2), scale.across(8), scale.across(3)) == (40, 340, 190)
    assert (scale.up(10), scale.up(20), scale.up(15)) == (106, 6, 56)


def test_a_drawing_without_a_height_is_to_one_scale() -> None:
    view = Axes((0, 300), (0, 150), ("", ""), "")
    view.add(frame((50, 50), (100, 100), INK))
    (box,) = ElementTree.fromstring(inline_svg([(view, 0)], "p", "t", "d")).iter("rect")
    assert float(box.get("width", 0)) == pytest.approx(float(box.get("height", 1)), abs=0.02)


def test_graphs_one_over_the_other_have_the_ends_of_their_axes_in_line() -> None:
    narrow, wide = Axes((0, 1), (0, 9), ("", "")), Axes((0, 1), (0, 90_000), ("", "up"))
    for axes in (narrow, wide):
        axes.add(path([(0, 0), (1, 9)], INK, ' id="mine"'))
    drawn = re.findall(
        r'd="M ([\d.]+),([\d.]+) L ([\d.]+),[\d.]+" fill="none" id="mine"',
        inline_svg([(narrow, 50), (wide, 50)], "p", "t", "d"),
    )
    assert len(drawn) == 2
    assert drawn[0][0] == drawn[1][0] and drawn[0][2] == drawn[1][2]
    assert float(drawn[0][1]) < float(drawn[1][1])


def test_what_looks_like_markup_is_text() -> None:
    axes = Axes((0, 1), (0, 1), ("<b>", "a & b"))
    axes.add(label(0.5, 0.5, "</svg>"), dots([(0.5, 0.5)], 2, INK))
    root = ElementTree.fromstring(inline_svg([(axes, 50)], "p", 'a "title" & <more>', "<text>"))
    texts = [element.text for element in root.iter("text")]
    assert "</svg>" in texts and "<b>" in texts and "a & b" in texts
    assert root.findtext("title") == 'a "title" & <more>'
