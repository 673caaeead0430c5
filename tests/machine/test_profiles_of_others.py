"""A profile that is for one machine alone is asked about and never written, unless that is a feeder of this one."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

_REELS = "filaments:\n  PLA plain:\n    retraction: 6.5\n    retraction speed: 45\n  {}:\n    retraction: 0.9\n    retraction speed: 30\n"


def reels(name: str) -> Machine:
    return recognise([read("filaments.yaml", _REELS.format(name).encode(), "nested")])


def written(machine: Machine) -> set[float | None]:
    return {each.value for each in machine.every_reading if each.editable}


@pytest.mark.parametrize(
    "name", ["PETG black on heron only", "PETG only for heron", "PETG for the heron only"]
)
def test_what_a_name_gives_to_one_machine_alone_is_asked_about_and_not_written(name: str) -> None:
    machine = reels(name)
    assert written(machine) == {6.5, 45.0}
    (asked,) = [each for each in machine.doubts if "heron alone" in each.why]
    assert asked.about.startswith("retraction.")


@pytest.mark.parametrize("name", ["PETG black", "PETG on glass", "PETG draft only"])
def test_a_name_that_names_no_machine_is_any_profiles(name: str) -> None:
    assert written(reels(name)) == {6.5, 45.0, 0.9, 30.0}
