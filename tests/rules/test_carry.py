"""An old configuration carried over into a new one keeps its physical meaning, whatever the dialects."""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping
from pathlib import Path

import pytest
from msgspec.structs import replace
from rulebench import machine_of

from cfgmigrate import api
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import relations
from cfgmigrate.machine.relations import outcome_of
from cfgmigrate.packet.recompute import recompute
from cfgmigrate.packet.reread import unfaithful
from cfgmigrate.plan.model import Plan
from cfgmigrate.rules.carry import values_of

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


def test_a_feed_per_turn_of_a_drive_without_gears_is_that_of_the_gears_beside_it_by_a_formula_that_comes_out(
    tmp_path: Path,
) -> None:
    plan = carried(
        tmp_path, b"[feeder]\nmm per turn = 21.4\n", b"[feeder]\nmm per turn = 10\ngear ratio = 3\n"
    )
    assert [change.unrounded for change in plan.changes] == [pytest.approx(21.4 * 3)]
    assert recompute(json.loads(json.dumps(plan.to_json()))) == []


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


def test_gears_that_are_folded_into_the_new_steps_per_mm_have_their_place_there(tmp_path: Path) -> None:
    plan = carried(
        tmp_path, b"[feeder]\nsteps per mm = 449\ngear ratio = 3:1\n", b"feeder.steps_per_mm = 449\n"
    )
    assert not any("has no place for it" in item.why for item in plan.left_alone)


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


STEPS, FULL, MICRO, GEAR, FEED = "steps_per_mm", "full_steps", "microsteps", "gear_ratio", "feed_per_turn"
SAID: tuple[dict[str, float], ...] = (
    {STEPS: 140.37},
    {FULL: 200, MICRO: 16, GEAR: 3, FEED: 21.38},
    {FULL: 200, MICRO: 16, FEED: 7.1},
    {STEPS: 140.37, FULL: 200, MICRO: 16},
    {STEPS: 160.0, FULL: 400, FEED: 20},
    {STEPS: 160.0, FULL: 400, GEAR: 2, FEED: 40},
)
HAS: tuple[dict[str, float], ...] = (
    {STEPS: 100},
    {FULL: 400, MICRO: 16, GEAR: 2, FEED: 30},
    {FULL: 400, MICRO: 32, FEED: 9},
    {FULL: 200, MICRO: 16, FEED: 9},
    {STEPS: 128, FULL: 400, MICRO: 32, FEED: 100},
    {STEPS: 160, FULL: 200, MICRO: 16, GEAR: 2, FEED: 40},
)


def said_by(values: Mapping[str, float], whose: str) -> Machine:
    named = {FEED: "feed_per_turn" if whose == "feeder" else "travel_per_turn"}
    return machine_of({f"was.{whose}.{named.get(name, name)}": f"{value}" for name, value in values.items()})


@pytest.mark.parametrize("whose", ["feeder", "axis.x"])
@pytest.mark.parametrize(("old", "new"), itertools.product(SAID, HAS), ids=lambda each: " ".join(each))
def test_what_is_carried_over_leaves_the_steps_of_a_millimetre_as_they_were(
    old: dict[str, float], new: dict[str, float], whose: str
) -> None:
    """However either side says it; and the motor and the driver are those of the new machine, unless the old files tell
    them, or all but them."""
    source, target = said_by(old, whose), said_by(new, whose)
    found = values_of(source, target)
    assert found
    relation = next(each for each in relations() if each.outcome.id == f"{whose}.{STEPS}")
    there = dict(target.by_quantity)
    for name, carried in found.items():
        there[name] = replace(there[name], value=carried.value)
        assert 1 <= carried.value <= 500
        numbers = carried.formula
        for each in sorted(carried.inputs, key=lambda each: -len(each.quantity)):
            numbers = numbers.replace(f"was.{each.quantity}", repr(each.value))
        assert eval(numbers) == pytest.approx(carried.value)
    wanted = outcome_of(relation, source.by_quantity)
    assert wanted is not None
    for readings in (there, {name: each for name, each in there.items() if name != relation.outcome.id}):
        came_to = outcome_of(relation, readings)
        assert came_to is None or came_to.value == pytest.approx(wanted.value)
    for part in (FULL, MICRO):
        told = part in old or {*old} >= {STEPS, FULL, MICRO, FEED} - {part}
        assert told or f"{whose}.{part}" not in found


def test_what_would_be_worked_out_past_all_that_is_plausible_is_not_carried_over() -> None:
    new = said_by({FULL: 200, MICRO: 16, FEED: 9}, "feeder")
    assert values_of(said_by({STEPS: 400}, "feeder"), new)["feeder.feed_per_turn"].value == pytest.approx(8)
    assert "feeder.feed_per_turn" not in values_of(said_by({STEPS: 19000}, "feeder"), new)


AXIS = b"[x]\nmicrosteps = 16\nmm a turn = 40\n[z]\nhighest = 280\n[feeder]\nsteps per mm = 419\n"


def test_microsteps_are_not_carried_over_beside_steps_per_mm_that_stay(tmp_path: Path) -> None:
    new = b"[x]\nsteps per mm = 160\nmicrosteps = 32\n[feeder]\nsteps per mm = 500\n"
    plan = carried(tmp_path, AXIS, new)
    assert [change.quantity for change in plan.changes] == ["feeder.steps_per_mm"]
    asked = next(doubt for doubt in plan.doubts if doubt.place.line == 3)
    assert "belongs to the X steps per mm" in asked.why and "160 at machine.conf:2" in asked.why


def test_microsteps_go_with_the_steps_per_mm_that_are_carried_over_too(tmp_path: Path) -> None:
    new = b"[x]\nsteps per mm = 160\nmicrosteps = 32\n"
    plan = carried(tmp_path, b"[x]\nsteps per mm = 80\nmicrosteps = 16\n", new)
    assert sorted(change.new.text for change in plan.changes) == ["16", "80"]


def test_steps_per_mm_of_an_unknown_count_of_microsteps_are_asked_about(tmp_path: Path) -> None:
    new = b"[x]\nsteps per mm = 160\nmicrosteps = 32\n"
    plan = carried(tmp_path, b"[x]\nsteps per mm = 80\n", new)
    asked = next(doubt for doubt in plan.doubts if doubt.place.line == 2)
    assert "do not say for how many microsteps" in asked.why and "32 at machine.conf:3" in asked.why


def test_an_offset_of_another_sign_is_asked_about_and_its_light_is_unknown(tmp_path: Path) -> None:
    old = b"[probe]\noffset x = -28\noffset z = 1.85\n[z]\nhighest = 280\n"
    new = b"[probe]\noffset x = -5\noffset z = -1.20\n[z]\nhighest = 280\n"
    sheet = "machine: Wren\ncarriage: {height_as_before: yes}\nclearance: {as_before: yes}\n"
    plan = carried(tmp_path, old, new, sheet)
    assert [change.quantity for change in plan.changes] == ["probe.offset_x"]
    assert any(doubt.place.line == 3 and "the other way round" in doubt.why for doubt in plan.doubts)
    assert next(light for light in plan.lights if light.light == "height").state == "unknown"


def test_an_offset_that_a_person_wrote_in_the_way_of_the_new_files_is_no_question(tmp_path: Path) -> None:
    old = b"[probe]\noffset z = 1.85\n"
    plan = carried(tmp_path, old, b"[probe]\noffset z = -1.85\n")
    assert not plan.changes and not any(doubt.place.line == 2 for doubt in plan.doubts)


def test_a_height_of_which_the_old_files_say_nothing_is_not_as_before(tmp_path: Path) -> None:
    sheet = "machine: Wren\ncarriage: {height_as_before: yes}\nclearance: {as_before: yes}\n"
    plan = carried(
        tmp_path, b"[z]\nhighest = 280\n", b"[probe]\noffset z = -1.20\n[z]\nhighest = 200\n", sheet
    )
    light = next(light for light in plan.lights if light.light == "height")
    assert light.state == "unknown" and "old says nothing of it" in light.why


def test_directions_and_sense_resistors_are_the_boards_and_asked_about(tmp_path: Path) -> None:
    old = b"[x]\nhighest = 300\nreversed = yes\n[feeder]\nreversed = yes\nsense resistor = 0.11 ohm\n"
    new = b"[x]\nhighest = 200\nreversed = no\n[feeder]\nreversed = yes\nsense resistor = 0.15 ohm\n"
    plan = carried(tmp_path, old, new)
    assert [change.quantity for change in plan.changes] == ["axis.x.max"]
    asked = {doubt.place.line for doubt in plan.doubts if "how this board is made and wired" in doubt.why}
    assert asked == {3, 6}
