"""Objects of a list that are of a feeder each."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
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
