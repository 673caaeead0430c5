"""An old configuration carried over into a new one keeps its physical meaning, whatever the dialects."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.packet.reread import unfaithful
from cfgmigrate.plan.model import Plan

OLD = b"""[feeder]
mm per turn = 21.38
gear ratio = 3:1
full steps per turn = 200
microsteps = 16
[driver feeder]
run current rms = 680 mA
[retraction]
retraction length = 4.6 mm
[axis z]
highest spot = 262
[heater nozzle]
max temperature = 275
[feeder lag]
lag coefficient = 0.4
"""

NEW = b"""feeder.steps_per_mm = 100
feeder.full_steps = 400
feeder.microsteps = 32
feeder.run_current_rms = 0.5 A
retraction.length = 4.60 mm
axis.z.max = 200 mm
heater.hotend.max_temperature = 300
"""


def carried(tmp_path: Path, old: bytes, new: bytes, sheet: str = "machine: Wren\n") -> Plan:
    for folder, data in (("old", old), ("new", new)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "machine.conf").write_bytes(data)
    (tmp_path / "sheet.yaml").write_text(sheet)
    found = api.work_out([tmp_path / "new"], tmp_path / "sheet.yaml", source=[tmp_path / "old"])
    (tmp_path / "new" / "machine.conf").write_bytes(found.after["machine.conf"])
    return found.plan


def test_steps_per_mm_follow_from_the_old_feed_per_turn_and_its_gears(tmp_path: Path) -> None:
    plan = carried(tmp_path, OLD, NEW)
    change = next(change for change in plan.changes if change.quantity == "feeder.steps_per_mm")
    assert change.unrounded == pytest.approx(200 * 16 * 3 / 21.38)  # by hand: 449.0178
    assert change.new.text == "449"
    assert {given.origin for given in change.derivation.inputs} == {
        f"old/machine.conf:{line}" for line in (2, 3, 4, 5)
    }


def test_a_feed_per_turn_with_the_gears_folded_in_follows_from_one_beside_them(tmp_path: Path) -> None:
    new = b"[feeder]\nmm per turn = 10.0\nfull steps per turn = 200\nmicrosteps = 16\n"
    plan = carried(tmp_path, OLD, new)
    assert [change.unrounded for change in plan.changes] == [pytest.approx(21.38 / 3)]


def test_the_unit_of_the_new_file_is_kept(tmp_path: Path) -> None:
    plan = carried(tmp_path, OLD, NEW)
    change = next(change for change in plan.changes if change.quantity == "motor.run_current")
    assert change.new.text == "0.68"


def test_a_protected_value_is_not_carried_over_but_named(tmp_path: Path) -> None:
    plan = carried(tmp_path, OLD, NEW)
    assert not any(change.quantity.startswith("heater") for change in plan.changes)
    assert any(
        item.quantity == "heater.hotend.max_temperature" and "protected" in item.why
        for item in plan.left_alone
    )


def test_what_the_new_configuration_has_no_place_for_is_listed(tmp_path: Path) -> None:
    plan = carried(tmp_path, OLD, NEW)
    assert any(item.quantity == "lag.coefficient" and "no place" in item.why for item in plan.left_alone)


def test_after_carrying_over_nothing_that_could_be_carried_differs(tmp_path: Path) -> None:
    carried(tmp_path, OLD, NEW)
    comparison = api.compare(tmp_path / "old", tmp_path / "new")
    assert [difference.quantity.id for difference in comparison.differences] == [
        "heater.hotend.max_temperature"
    ]


def test_carrying_over_twice_changes_nothing_more(tmp_path: Path) -> None:
    carried(tmp_path, OLD, NEW)
    again = api.work_out([tmp_path / "new"], tmp_path / "sheet.yaml", source=[tmp_path / "old"])
    assert again.plan.changes == ()


def test_the_sheet_applies_to_the_old_values(tmp_path: Path) -> None:
    sheet = """
machine: Wren
old: {tube: {length: 400 mm, bore: 2.0 mm, bend: 180 deg}}
new: {tube: {length: 40 mm, bore: 2.0 mm, bend: 0 deg}, force_needed: 50 N}
filament: {material: PLA, diameter: 1.75 mm}
"""
    plan = carried(tmp_path, OLD, NEW.replace(b"4.60", b"1.00"), sheet)
    change = next(change for change in plan.changes if change.quantity == "retraction.length")
    slack, elastic = 3.14159265 * 0.25, 50 * 400 / (3600 * 2.405282)
    # what melt (0.2 mm) and hot end (20 mm of cold filament) ask for stays; the tube's part goes with its give
    stays, ratio = 0.2 + elastic / 20, elastic / 10 / (elastic + slack)
    assert change.unrounded == pytest.approx(stays + (4.6 - stays) * ratio * (0.7 + 0.3 * ratio), rel=1e-6)
    assert change.old is not None and change.old.text == "1.00"


SAMPLES = data_folder("sample_configs")
MACHINES = sorted(path.name for path in SAMPLES.iterdir() if path.is_dir() and path.name != "sheets")


@pytest.mark.exhaustive
@pytest.mark.parametrize(("old", "new"), list(itertools.permutations(MACHINES, 2)))
def test_every_sample_is_carried_over_into_every_other(tmp_path: Path, old: str, new: str) -> None:
    sheet = SAMPLES / "sheets" / f"{new}.yaml"
    packet = api.prepare([SAMPLES / new], sheet, out=tmp_path / "packet", source=[SAMPLES / old])
    assert packet.plan.changes
    assert unfaithful(packet) == []


def test_microsteps_that_no_driver_has_are_not_carried_over(tmp_path: Path) -> None:
    plan = carried(
        tmp_path,
        b"[feeder]\nsteps per mm = 92.6\n",
        b"[feeder]\nmm per turn = 7.54\nfull steps = 200\nmicrosteps = 16\n",
    )
    assert "feeder.microsteps" not in {change.quantity for change in plan.changes}
