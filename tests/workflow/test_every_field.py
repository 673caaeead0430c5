"""Every single field of a plan that is altered is noticed when the plan is worked out again."""

from __future__ import annotations

import copy
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.packet.folder import Packet
from cfgmigrate.workflow import again

SAMPLES = Path(__file__).parents[2] / "sample_configs"
#: what the plan can't be worked out again without, and is taken from it
TAKEN_AS_IT_IS = ("prepared_by", "contents", "hash", "seal")


@pytest.fixture(scope="module")
def packet(tmp_path_factory: pytest.TempPathFactory) -> Packet:
    folder = tmp_path_factory.mktemp("knot")
    config = shutil.copytree(SAMPLES / "knot", folder / "knot")
    return api.prepare([config], SAMPLES / "sheets" / "knot.yaml", out=folder / "packet")


def leaves(data: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value that holds no others, and to every element of a list."""
    if isinstance(data, dict):
        for name, inner in data.items():
            yield from leaves(inner, (*way, name))
    elif isinstance(data, list):
        for at, inner in enumerate(data):
            yield (*way, at)
            yield from leaves(inner, (*way, at))
    else:
        yield way


def altered(data: Any, way: tuple[Any, ...]) -> Any:
    """The data with one leaf made another; an element that holds others is taken out."""
    found = copy.deepcopy(data)
    inner = found
    for step in way[:-1]:
        inner = inner[step]
    value = inner[way[-1]]
    match value:
        case bool():
            inner[way[-1]] = not value
        case int() | float():
            inner[way[-1]] = value * (1 + 1e-9) + 1e-9
        case str():
            inner[way[-1]] = value + " "
        case None:
            inner[way[-1]] = 0.0
        case _:
            del inner[way[-1]]
    return found


@pytest.mark.parametrize("every", [47, pytest.param(4, marks=pytest.mark.exhaustive)])
def test_one_field_altered_is_noticed(packet: Packet, monkeypatch: pytest.MonkeyPatch, every: int) -> None:
    plan = again.plan_again(packet)
    monkeypatch.setattr(again, "plan_again", lambda _: plan)
    ways = [way for way in leaves(dict(packet.index)) if way[0] not in TAKEN_AS_IT_IS and way[0] != "format"]
    assert len(ways) > 1000
    for way in ways[::every]:
        index = altered(dict(packet.index), way)
        found = again.worked_out_again(replace(packet, index=index))
        assert found.faults or (way[0] == "doubts" and found.doubts), way


def test_doubts_that_were_taken_away_or_added_are_told(packet: Packet) -> None:
    index = copy.deepcopy(dict(packet.index))
    index["doubts"].append({"file": "x", "line": 1, "column": 1, "text": "x", "why": "made up"})
    found = again.worked_out_again(replace(packet, index=index))
    assert not found.faults and [each["why"] for each in found.doubts] == ["made up"]


def test_a_whole_number_longer_than_any_that_was_measured_is_a_difference_like_another(
    packet: Packet,
) -> None:
    index = copy.deepcopy(dict(packet.index))
    index["changes"][0]["edits"][0]["column"] = 10**400
    (fault,) = again.worked_out_again(replace(packet, index=index)).faults
    assert "column: recorded as 1000" in fault
