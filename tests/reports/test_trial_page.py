"""The picture of a test script's path shows what is laid down, where, and nothing that is not there."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from cfgmigrate.reports.trial_page import _joined, _once, path_picture, render_trial
from cfgmigrate.trials.writer import Segment, Written

Spot = tuple[float, float, float]
REACH = (-2.0, 200.0, 0.0, 180.0)


def move(start: Spot, end: Spot, feed: float = 0.0) -> Segment:
    return Segment(start, end, feed, 20.0, 1)


def written(*segments: Segment, lines: int = 3, reach: tuple[float, float, float, float] = REACH) -> Written:
    return Written("made", "G0\n" * lines, segments, (("bands", "3"),), reach)


def test_two_posts_on_one_layer_stay_two_from_the_side() -> None:
    posts = [move((10, 5, 0.2), (20, 5, 0.2), 1.0), move((60, 5, 0.2), (70, 5, 0.2), 1.0)]
    spans = sorted((stroke[0][0], stroke[1][0]) for stroke in _once(posts, 0, 2))
    assert spans == [(10, 20), (60, 70)]


def test_stretches_that_touch_are_one() -> None:
    assert _joined([(3, 5), (0, 1), (1, 3), (9, 11)]) == [(0, 5), (9, 11)]


def test_a_spiral_of_thousands_of_turns_is_a_hundred_strokes_at_most_from_the_side() -> None:
    turns = [
        move((0 if turn % 2 else 50, 0, turn * 0.01), (50 if turn % 2 else 0, 0, turn * 0.01 + 0.01), 1.0)
        for turn in range(6000)
    ]
    assert 50 <= len(_once(turns, 0, 2)) <= 101


@pytest.mark.parametrize(
    "segments",
    [
        [move((90, 80, 5), (90, 80, 150)), move((90, 80, 150), (90, 80, 155))],
        [move((90, 80, 5), (90, 80, 5), 100.0)],
        [move((90, 80, 0.2), (120, 80, 0.2), 2.0), move((120, 80, 0.2), (90, 85, 0.2))],
    ],
    ids=["cold moves of z", "fed at one place", "laid down"],
)
def test_every_kind_of_script_gives_a_picture_that_is_read_aloud(segments: list[Segment]) -> None:
    root = ElementTree.fromstring(path_picture(written(*segments)))
    assert [element.tag for element in root][:2] == ["title", "desc"]
    for path in root.iter("path"):
        assert re.fullmatch(r"(M \S+ L \S+( \S+)*? (Z )?)+", path.get("d", "").rstrip() + " "), path.get("d")


@pytest.mark.parametrize("reach", [REACH, (0.0, 120.0, 0.0, 500.0), (-300.0, 300.0, 0.0, 130.0)])
def test_the_view_from_above_is_to_scale_and_both_views_share_x(
    reach: tuple[float, float, float, float],
) -> None:
    laid = move((10, 20, 0.2), (110, 20, 0.2), 2.0), move((110, 20, 0.2), (110, 120, 0.2), 2.0)
    root = ElementTree.fromstring(path_picture(written(*laid, reach=reach)))
    shapes = [path.get("d", "") for path in root.iter("path") if path.get("d", "").endswith("Z ")]
    above, side = ([float(number) for number in re.findall(r"-?[\d.]+", shape)] for shape in shapes)
    assert above[2] - above[0] == pytest.approx(abs(above[5] - above[7]), abs=0.03)
    assert {min(above[::2]), max(above[::2])} == {min(side[::2]), max(side[::2])}


def test_the_page_says_how_many_lines_more_there_are_only_where_there_are_more() -> None:
    laid = move((90, 80, 0.2), (120, 80, 0.2), 2.0)
    assert "more.</p>" not in render_trial(written(laid), "Made.", "Wren", "nothing")
    assert "And 40 lines more.</p>" in render_trial(written(laid, lines=100), "Made.", "Wren", "nothing")
