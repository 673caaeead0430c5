"""Behind G20 a file's lengths may be inches, so what it sets is asked about; ISO 6983 has G20 for inches and G21 for mm."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.command import read
from cfgmigrate.machine.recognise import recognise


def machine_of(text: str):
    return recognise([read("a.nc", text.encode())])


@pytest.mark.parametrize("before", ["G20\n", "N10 G20 G90\n", "G21\nG020\n", "G91 G20 ; on\n"])
def test_a_length_behind_g20_is_asked_about_and_not_taken(before: str) -> None:
    machine = machine_of(f"{before}M92 E88.40\nM906 E800\n")
    assert [each.quantity for each in machine.readings] == ["motor.run_current"]
    assert machine.in_doubt["feeder.steps_per_mm"].line == before.count("\n") + 1
    assert "G20" in next(doubt.why for doubt in machine.doubts)


@pytest.mark.parametrize(
    "before", ["", "G21\n", "G20\nG21\n", "; G20\n", "(G20)\n", "G1 X20\n", "G201\n", "G20.1\n"]
)
def test_else_it_is_taken_as_it_stands(before: str) -> None:
    machine = machine_of(f"{before}M92 E88.40\n")
    assert machine.get("feeder.steps_per_mm").value == 88.4
    assert "feeder.steps_per_mm" not in machine.in_doubt
