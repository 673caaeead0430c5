"""Objects of a list that are of a feeder each."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    "second, held", [("filament, inner", 2), ("inner filament pump", 0), ("soap pump", 0)]
)
def test_objects_of_a_list_are_a_feeder_each_by_what_stands_beside_the_filament(
    second: str, held: int
) -> None:
    rows = '"microsteps": 16, "steps per mm": 140, "run current": "600 mA", "pull back": {"mm": 4}'
    text = '{"motors": [{"for": "x", "microsteps": 16}, {"for": "filament, outer", %s}, {"for": "%s", %s}]}'
    found = recognise([read("tern.json", (text % (rows, second, rows)).encode(), "nested")])
    pulls = [str(each.holder) for each in found.every_reading if each.quantity == "retraction.length"]
    assert len(pulls) == len(set(pulls)) == held


def test_the_objects_of_a_list_below_feeds_are_a_feeder_each() -> None:
    each = '{{"label": "{}", "steps_per_mm": {}, "microsteps": {}, "full_steps": 200}}'
    text = f'{{"wire_feeds": [{each.format("left", 401.5, 16)}, {each.format("right", 98.5, 32)}]}}'
    readings = recognise([read("one.json", text.encode(), "nested")]).readings
    assert {(each.holder.name, each.quantity, each.value) for each in readings} >= {
        ("1", "feeder.steps_per_mm", 401.5), ("2", "feeder.steps_per_mm", 98.5), ("2", "feeder.microsteps", 32),
    }  # fmt: skip


_ROW = '{"for": "filament, %s", "microsteps": 16, "steps per mm": %s, "run current": "600 mA", "pull back": {"mm": 4}}'
INNER_AND_OUTER = '{"motors": [{"for": "x", "microsteps": 16}, %s, %s]}' % (  # noqa: UP031
    _ROW % ("outer", 140),
    _ROW % ("inner", 150),
)


def test_a_feeder_is_known_by_the_name_that_only_a_list_has() -> None:
    for told, outer in (({1: "outer", 2: "inner"}, "1"), ({1: "inner", 2: "outer"}, "2")):
        feeders = [Feeder(number, known_as=(name,)) for number, name in told.items()]
        found = recognise([read("tern.json", INNER_AND_OUTER.encode(), "nested")], feeders=feeders)
        steps = {
            each.value: each.holder.name for each in found.readings if each.quantity == "feeder.steps_per_mm"
        }
        assert steps[140] == outer and len(set(steps.values())) == len(steps) == 2
        assert found.feeders == (1, 2)
        assert not [each for each in found.doubts if "has no effect" in each.why]


def test_a_name_that_no_list_has_is_told_to_have_no_effect() -> None:
    feeders = [Feeder(1, known_as=("lower",))]
    found = recognise([read("tern.json", INNER_AND_OUTER.encode(), "nested")], feeders=feeders)
    assert [each.text for each in found.doubts if "has no effect" in each.why] == [
        "feeders: 1: known_as: lower"
    ]
