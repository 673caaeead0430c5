"""Carried over, each value comes from the same holder, and one without a counterpart is nobody's to scale."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Holder
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.reread import unfaithful
from cfgmigrate.plan.model import Plan
from cfgmigrate.rules.carry_lanes import Carrying, meant

TWO_OLD = b"""[feeder]
steps per mm = 96.4
[feeder 2]
steps per mm = 101.7
[retraction]
length = 5.2
[retraction 2]
length = 6.4
"""
TWO_NEW = b"""feeder.steps_per_mm = 400
feeder_2.steps_per_mm = 400
retraction.length = 0.5 mm
retraction_2.length = 0.5 mm
"""
HEAD = "[feeder]\nsteps per mm = 96.4\n"


def filament(name: str, length: str, material: str = "") -> str:
    of = f"material = {material}\n" if material else ""
    return f"[filament {name}]\n{of}nozzle temperature = 230\nretraction length = {length}\n"


def carried(tmp_path: Path, old: bytes, new: bytes, sheet: str = "machine: Finch\n") -> Plan:
    for folder, data in (("old", old), ("new", new)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "machine.conf").write_bytes(data)
    (tmp_path / "sheet.yaml").write_text(sheet)
    packet = api.prepare(
        tmp_path / "new", tmp_path / "sheet.yaml", out=tmp_path / "packet", source=tmp_path / "old"
    )
    assert unfaithful(packet) == []
    assert api.verify(tmp_path / "packet") == ()
    return packet.plan


def written(plan: Plan) -> dict[tuple[str, str], float | None]:
    return {(change.quantity, change.holder): change.new.value for change in plan.changes}


def test_each_feeder_gets_the_values_of_the_same_feeder(tmp_path: Path) -> None:
    assert written(carried(tmp_path, TWO_OLD, TWO_NEW)) == {
        ("feeder.steps_per_mm", "feeder 1"): 96.4,
        ("feeder.steps_per_mm", "feeder 2"): 101.7,
        ("retraction.length", "feeder 1"): 5.2,
        ("retraction.length", "feeder 2"): 6.4,
    }


def test_a_feeder_that_the_old_machine_has_not_got_keeps_what_it_has(tmp_path: Path) -> None:
    plan = carried(tmp_path, b"[feeder]\nsteps per mm = 96.4\n[retraction]\nlength = 5.2\n", TWO_NEW)
    assert {holder for _, holder in written(plan)} == {"feeder 1"}


def test_a_feeder_that_the_new_machine_has_not_got_is_told_of(tmp_path: Path) -> None:
    plan = carried(tmp_path, TWO_OLD, b"feeder.steps_per_mm = 400\nretraction.length = 0.5 mm\n")
    assert written(plan) == {
        ("feeder.steps_per_mm", "machine"): 96.4,
        ("retraction.length", "machine"): 5.2,
    }
    assert [each.why for each in plan.left_alone if "feeder 2" in each.why]


def test_each_profile_gets_the_values_of_the_profile_of_its_name(tmp_path: Path) -> None:
    old = HEAD + filament("pla grey", "5.2") + filament("petg", "6.0") + filament("tpu", "2.0")
    new = HEAD + filament("PETG", "1.4") + filament("PLA_grey", "1.4")
    plan = carried(tmp_path, old.encode(), new.encode())
    assert written(plan) == {
        ("retraction.length", "filament PETG"): 6.0,
        ("retraction.length", "filament PLA grey"): 5.2,
    }
    assert [each for each in plan.left_alone if "no filament tpu" in each.why]


@pytest.mark.parametrize("alone", ["petg", "other"])
def test_the_only_profile_goes_with_a_machine_that_has_none(tmp_path: Path, alone: str) -> None:
    bare = b"[feeder]\nsteps per mm = 400\n[retraction]\nlength = 1.4\n"
    plan = carried(tmp_path, (HEAD + filament(alone, "6.0")).encode(), bare)
    assert written(plan)["retraction.length", "machine"] == 6.0


def test_what_the_old_machine_does_not_say_is_not_scaled_as_if_it_did(tmp_path: Path) -> None:
    """The new files' 3.1 mm for nylon may be anybody's value."""
    sheet = (
        "old: {tube: {length: 400 mm, bore: 2 mm, bend: 180 deg}}\n"
        "new: {tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}, force_needed: 50 N}\n"
        "filament: {material: PLA, diameter: 1.75 mm}\n"
    )
    old, new = HEAD + filament("pla", "5.2") + filament("petg", "6.0"), HEAD + filament("pla", "1.4", "PLA")
    plan = carried(tmp_path, old.encode(), (new + filament("nylon", "3.1", "PA")).encode(), sheet)
    assert [change.holder for change in plan.changes if change.quantity == "retraction.length"] == [
        "filament pla"
    ]
    light = next(light for light in plan.lights if light.name == "retraction @ filament nylon")
    assert light.state == "unknown"
    assert any("nylon" in doubt.why for doubt in plan.doubts)


def test_what_a_profile_sets_for_one_feeder_is_that_feeder_s_on_the_new_machine_too() -> None:
    two = TWO_OLD + filament("petg", "6.0").encode() + filament("pla", "5.0").encode()
    old = recognise([read("machine.conf", two, "sectioned")])
    new = recognise([read("machine.conf", two.replace(b"petg", b"PETG"), "sectioned")])
    one = next(each for each in old.readings if each.holder == Holder("filament", "petg"))
    for number in (0, 2):
        there = Carrying(old, new, "old").held_there(replace(one, holder=Holder("filament", "petg", number)))
        assert there is not None and there[0] == Holder("filament", "PETG", number)


def test_what_a_light_is_about_and_the_old_files_do_not_say_is_a_question() -> None:
    old = recognise([read("old.conf", b"feeder.steps_per_mm = 96.4\n", "flat")])
    said = b"feeder.steps_per_mm = 400\nretraction.length = 0.5 mm\nx.max_speed = 200\n"
    new = recognise([read("new.conf", said, "flat")])
    (asked,) = Carrying(old, new, "old").open_ones.values()
    assert asked == {"retraction.length": "old says nothing of it, and 0.5 is the new configuration's own"}


def test_what_only_the_old_files_have_is_known_to_the_rules_at_the_holder_that_it_has_on_the_new_machine() -> (
    None
):
    old = recognise([read("old.conf", b"feeder.steps_per_mm = 96.4\nretraction.length = 5.2 mm\n", "flat")])
    new = recognise([read("new.conf", b"feeder.steps_per_mm = 400\n", "flat")])
    found = {
        each.quantity: (each.value, each.place.file) for each in meant(Carrying(old, new, "old")).readings
    }
    assert found == {
        "feeder.steps_per_mm": (96.4, "old/old.conf"),
        "retraction.length": (5.2, "old/old.conf"),
    }
    two = recognise([read("old.conf", TWO_OLD, "sectioned")])
    one = recognise([read("new.conf", b"x.max_speed = 200\n", "flat")])
    kept = [
        (each.quantity, str(each.holder), each.value) for each in meant(Carrying(two, one, "old")).readings
    ]
    assert kept == [
        ("axis.x.max_speed", "machine", 200),
        ("feeder.steps_per_mm", "machine", 96.4),
        ("retraction.length", "machine", 5.2),
    ]
