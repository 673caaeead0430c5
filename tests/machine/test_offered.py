"""What is offered for strange words is checked when it is loaded, and tells which numbers are usual."""

from __future__ import annotations

from inspect import unwrap
from typing import Any

import pytest

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine import offered as module
from cfgmigrate.machine.offered import Offered, offered

GOOD: dict[str, Any] = {
    "meanings": ["retraction length"],
    "near": {"pull": ["retraction", "retraction.length"]},
    "usual": {"axis.@.max_speed": [50, 400], "feeder.microsteps": [8, 16, 32]},
}


def loaded(monkeypatch: pytest.MonkeyPatch, **other: Any) -> Offered:
    real = module.load
    monkeypatch.setattr(module, "load", lambda path, shapes: {**real(path, shapes), **GOOD, **other})
    built: Offered = unwrap(offered)()
    return built


def test_bounds_are_of_each_axis_and_in_the_quantity_s_unit(monkeypatch: pytest.MonkeyPatch) -> None:
    found = loaded(monkeypatch)
    assert set(found.usual) == {
        "axis.x.max_speed",
        "axis.y.max_speed",
        "axis.z.max_speed",
        "feeder.microsteps",
    }
    assert [found.is_usual("axis.x.max_speed", value) for value in (49, 50, 400, 401)] == [
        False,
        True,
        True,
        False,
    ]
    assert [found.is_usual("feeder.microsteps", value) for value in (8, 12, 32)] == [True, False, True]
    assert found.is_usual("retraction.length", 5) is None
    telling = [found.telling(name) for name in ("axis.x.max_speed", "feeder.microsteps", "retraction.length")]
    assert 0 < telling[0] < telling[1] < 1 and telling[2] == 0


def test_of_numbers_that_are_named_one_by_one_it_counts_how_many_they_are_and_not_how_far_apart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    usual = {"axis.x.full_steps": [48, 200, 400], "axis.y.full_steps": [199, 200, 201]}
    usual["feeder.microsteps"] = [8, 16, 32, 64]
    found = loaded(monkeypatch, usual=usual)
    wide, close, four = (found.telling(name) for name in usual)
    assert four < wide == close


@pytest.mark.parametrize(
    "wrong",
    [
        {"usual": {"axis.x.max_sped": [50, 400]}},
        {"usual": {"axis.x.max_speed": [50]}},
        {"usual": {"axis.x.max_speed": [400, 50]}},
        {"meanings": ["retraction quux"]},
        {"near": {"pull": ["quux"]}},
        {"near": {"pull": ["retraction.quux"]}},
    ],
    ids=str,
)
def test_a_file_that_names_what_there_is_not_is_refused(
    monkeypatch: pytest.MonkeyPatch, wrong: dict[str, Any]
) -> None:
    with pytest.raises(BadInput):
        loaded(monkeypatch, **wrong)
