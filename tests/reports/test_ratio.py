"""By how much a value moves is drawn to scale, with its uncertainty, and said in words beside it."""

from __future__ import annotations

import re
from types import SimpleNamespace
from xml.etree import ElementTree

from msgspec.structs import replace

from cfgmigrate.plan.model import Change, NewValue, OldValue
from cfgmigrate.reports.ratio import ratio_picture, ratio_text


def moved(wren: SimpleNamespace, old: float | None, new: float, spread: float = 0.0) -> Change:
    change = wren.plan.changes[0]
    before = None if old is None else OldValue(old, str(old), "a.conf", 1)
    return replace(change, old=before, new=NewValue(new, spread, str(new)), low=None, high=None)


def spot(picture: str) -> float:
    found = re.search(r'<circle[^>]* cx="([\d.]+)"', picture)
    assert found
    return float(found[1])


def test_half_and_double_are_equally_far_from_as_before(wren: SimpleNamespace) -> None:
    half, double = (spot(ratio_picture(moved(wren, 4.0, new))) for new in (2.0, 8.0))
    assert half + double == 320 and half < 160 < double


def test_the_whisker_is_the_uncertainty_and_the_words_say_the_same(wren: SimpleNamespace) -> None:
    change = moved(wren, 10.0, 5.0, 1.0)
    assert ratio_text(change) == "0.5 times the old value, between 0.417 and 0.6 by its uncertainty"
    picture = ElementTree.fromstring(ratio_picture(change))
    assert picture.get("aria-label") == ratio_text(change)
    assert 'class="stroke-ink"' in ratio_picture(change)
    assert 'class="stroke-ink"' not in ratio_picture(moved(wren, 10.0, 5.0))


def test_there_is_no_picture_without_two_numbers_of_one_sign(wren: SimpleNamespace) -> None:
    for old, new in ((None, 5.0), (0.0, 5.0), (5.0, 0.0), (-9.5, 3.5), (5.0, 5.0)):
        assert ratio_picture(moved(wren, old, new)) == ""
    assert ratio_picture(moved(wren, -9.5, -3.5))


def test_a_place_has_no_ratio_and_an_acceleration_has(wren: SimpleNamespace) -> None:
    change = moved(wren, 4.0, 2.0)
    for place in ("axis.z.max", "probe.offset_x", "mesh.to_y"):
        assert ratio_picture(replace(change, quantity=place)) == ""
    assert ratio_picture(replace(change, quantity="axis.x.max_acceleration"))
