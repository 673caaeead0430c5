"""How far a step of the feeder's motor moves the filament is the feed, and never left old in silence."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.names import names_in
from cfgmigrate.machine.recognise import recognise


@pytest.mark.parametrize(
    ("dialect", "line", "asked"),
    [
        ("header", "#define EXT_UM_PER_FULL 172.79", True),
        ("header", "#define FEEDER_UM_PER_FULL_STEP 172.79", True),
        ("sectioned", "[feeder]\nmm per full = 0.17", True),
        ("sectioned", "[feeder]\nmicrons per full step = 172", True),
        ("nested", '{"wire drive": {"step size": "1.9106 um"}}', True),
        ("nested", '{"wire drive": {"step size": 16}}', False),
        ("sectioned", "[z]\nmm per full = 0.02", False),
        ("sectioned", "[probe]\num per full = 20", False),
        ("header", "#define Z_UM_PER_FULL 20", False),
        ("header", "#define EXT_FULL_MM 172", False),
        ("sectioned", "[feeder]\num per full step = old", False),
    ],
)
def test_a_way_for_each_step_of_the_feeder_that_is_not_read_is_asked_about(
    dialect: str, line: str, asked: bool
) -> None:
    machine = recognise([read("m.txt", f"{line}\n".encode(), dialect)])
    assert ("feeder.steps_per_mm" in machine.in_doubt) is asked
    assert machine.get("feeder.steps_per_mm") is None


def test_a_length_behind_the_number_is_that_of_one_step_where_the_site_file_says_so() -> None:
    names = names_in(
        b'"[wire drive] step size": {quantity: feeder.steps_per_mm, unit: um per step}\n', "n.yaml"
    )
    machine = recognise([read("m.json", b'{"wire drive": {"step size": "2 um"}}', "nested")], names)
    assert machine.get("feeder.steps_per_mm").value == pytest.approx(500)
    other = recognise([read("m.json", b'{"wire drive": {"step size": "2 mm"}}', "nested")], names)
    assert other.get("feeder.steps_per_mm") is None and other.doubts
