"""What the site file says of a section goes before any counting of numbers; where a number may be counted from 0 or from 1, nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.told_sections import by_told_sections
from cfgmigrate.plan.model import Plan

BOARD = """\
read also = pullers.json
[socket 1]
serves = x
[socket 2]
serves = y
[socket 3]
serves = z
[socket 4]
serves = drive {fourth}
current amps peak = 1.52
[socket 5]
serves = drive {fifth}
coil amps peak = 1.52
"""
PULLERS = """\
{"drives": [
  {"side": "landward", "microsteps": 16, "stepsPerMm": 301.2},
  {"side": "seaward", "microsteps": 16, "stepsPerMm": 299.8}]}
"""
SITE = """\
site: 1
{feeders}meanings:
  "[socket 4] current amps peak": {fourth}
  "[socket 5] coil amps peak": {fifth}
"""
FEEDERS = (
    'feeders: {{1: {{name: landward, known_as: ["[drives.0]", "[{first}]"]}}, '
    '2: {{name: seaward, known_as: ["[drives.1]", "[{second}]"]}}}}\n'
)
SHEET = """\
feeders:
  {feeder}:
    old: {{drive: tube-fed, steps_per_mm: {steps} 1/mm}}
    new:
      drive: on the carriage
      microsteps: 8
      drive_gear: {{effective_diameter: 7.6 mm, gear_ratio: "58:10"}}
      path_length: 49 mm
      motor: {{rated_current: 0.8 A, step_angle: 0.9 deg}}
"""
CURRENT = "{quantity: motor.run_current, unit: A peak}"


def planned(
    folder: Path,
    feeder: int,
    feeders: str = "",
    said: tuple[str, str] = ("ignore", CURRENT),
    at: tuple[int, int] = (2, 1),
) -> Plan:
    (folder / "pier.ini").write_text(BOARD.format(fourth=at[0], fifth=at[1]))
    (folder / "pullers.json").write_text(PULLERS)
    (folder / "cfgmigrate.yaml").write_text(SITE.format(feeders=feeders, fourth=said[0], fifth=said[1]))
    (folder / "swap.yaml").write_text(SHEET.format(feeder=feeder, steps=(301.2, 299.8)[feeder - 1]))
    return api.prepare(folder, folder / "swap.yaml", out=folder.parent / f"{folder.name} packet").plan


def current(plan: Plan) -> list[str]:
    return [
        f"{edit.file}:{edit.line}"
        for each in plan.changes
        for edit in each.edits
        if each.quantity == "motor.run_current"
    ]


def light(plan: Plan, feeder: int, of: str = "current") -> str:
    return next(
        each.state for each in plan.lights if each.light == of and each.holder.startswith(f"feeder {feeder}")
    )


def test_a_section_of_which_it_is_said_whose_it_is_is_that_ones_whatever_its_number(tmp_path: Path) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    first.mkdir(), second.mkdir()
    told = FEEDERS.format(first="socket 5", second="socket 4")
    plan = planned(first, 1, told)
    assert current(plan) == ["pier.ini:13"] and light(plan, 1) == "set"
    assert current(planned(second, 2, told)) == []


@pytest.mark.parametrize("feeder", [1, 2])
@pytest.mark.parametrize("said", [("ignore", CURRENT), (CURRENT, "ignore"), (CURRENT, CURRENT)])
def test_a_number_beside_a_list_that_may_be_counted_from_0_or_1_is_written_for_neither(
    feeder: int, said: tuple[str, str], tmp_path: Path
) -> None:
    plan = planned(tmp_path, feeder, said=said)
    assert current(plan) == [] and light(plan, feeder) == "unknown"


def test_numbers_that_begin_at_0_as_a_list_does_are_counted_with_it(tmp_path: Path) -> None:
    plan = planned(tmp_path, 1, said=(CURRENT, CURRENT), at=(1, 0))
    assert current(plan) == ["pier.ini:13"]


def test_a_section_that_is_said_of_two_feeders_is_told_of_none() -> None:
    document = read("pier.ini", b"[socket 5]\namps = 1\n[socket 5 fan]\namps = 1\n", "sectioned")
    one, other = Feeder(1, "", ("[socket 5]",)), Feeder(2, "", ("[Socket 5]",))
    assert list(by_told_sections([document], [one, other])) == []
    assert [number for _, number in by_told_sections([document], [one])] == [1]
