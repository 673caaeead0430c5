"""The trade's plain words for a retraction: a lone `pull` is one only with what is measured of it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Reading
from cfgmigrate.machine.recognise import recognise


def retractions(text: str) -> list[Reading]:
    found = recognise([read("one.ini", f"{text}\n".encode(), "sectioned")]).readings
    return [each for each in found if each.quantity.startswith("retraction.")]


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("pull.mm = 5.2", "retraction.length"),
        ("pull = 5.2 mm", "retraction.length"),
        ("pull = 5.2  ; mm", "retraction.length"),
        ("pull_length = 5.2", "retraction.length"),
        ("[filament]\npull mm = 5.2", "retraction.length"),
        ("[pulling back]\nmm = 5.2", "retraction.length"),
        ("[retreat]\nlength = 5.2", "retraction.length"),
        ("suck_back_mm = 5.2", "retraction.length"),
        ("draw back = 5.2 mm", "retraction.length"),
        ("pull_mm_per_s = 40", "retraction.speed"),
        ("pull.v = 40", "retraction.speed"),
    ],
)
def test_a_pull_with_a_measure_is_a_retraction(text: str, quantity: str) -> None:
    assert [each.quantity for each in retractions(text)] == [quantity]


@pytest.mark.parametrize(
    "text",
    [
        "pull = 5.2",
        "pull_up = 1",
        "pull_up_mm = 5.2",
        "pull_down = 5 mm",
        "[button]\npullup = 1",
        "pull_up_ohm = 4700",
        "pulley_mm = 5.2",
        "[spring]\npull_mm = 5.2",
        "spring pull mm = 5.2",
        "[camera arm]\npull_mm = 5.2",
        "pull request mm = 5",
        "cold_pull_mm = 5",
        "only.pull.when.crossing = yes",
        "pull.min.travel = 1.5 mm",
        "pull_wipe_mm = 2",
        "[tool change]\npull_mm = 5",
        "pull_out_mm = 5",
        "pull_current_ma = 5",
        "[probe]\nretreat mm = 5",
    ],
)
def test_other_pulls_are_none(text: str) -> None:
    assert retractions(text) == []


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("v_back = 40 ; return of the carriage, mm/s", 0),
        ("v_back = 40 ; carriage return, mm/s", 0),
        ("v_back = 40 ; mm/s, return", 1),
        ("retract_speed = 40 ; mm/s, the carriage stands", 1),
    ],
)
def test_what_goes_back_by_its_remark_may_be_the_carriage(text: str, read: int) -> None:
    assert len(retractions(text)) == read
