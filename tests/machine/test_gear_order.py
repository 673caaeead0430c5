"""A ratio of 1:1 doesn't show which gear's teeth stand first; a new one is written only where that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.gear_order import UNTOLD
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.encoding import write
from cfgmigrate.rules.derivation import Derivation
from cfgmigrate.rules.result import Result, Status

LINE = "feeder:\n  gear ratio: {}\n  microsteps: 16\n"


def ratio(value: str, said: str = "", folder: Path | None = None):
    names = None
    if folder:
        (folder / "names.yaml").write_text(f'"[feeder] gear ratio": {said}\n')
        names = read_names(folder / "names.yaml")
    machine = recognise([read("a.yaml", LINE.format(value).encode(), "nested")], names)
    (found,) = [each for each in machine.readings if each.quantity == "feeder.gear_ratio"]
    return found


@pytest.mark.parametrize(
    "value",
    [
        '"1:1"',
        "1:1  # teeth",
        "1:1  # turns of the motor : turns of the wheel",
        "1:1  # motor : motor",
        "1:1  # belt : wheel",
        "14:14",
        "1:1 x 1:1  # motor : wheel",
    ],
)
def test_a_ratio_of_1_of_which_nothing_says_the_order_is_never_written(value: str) -> None:
    found = ratio(value)
    assert (found.value, found.editable, found.why_not) == (1, False, UNTOLD)


@pytest.mark.parametrize(
    ("value", "number", "becomes"),
    [
        ('"1:1"   # motor : wheel', 1, "11:40"),
        ("1:1 # teeth on the motor to teeth on the wheel", 1, "11:40"),
        ("1:1 # wheel : motor", 1, "40:11"),
        ("12:36 # motor : wheel", 3, "11:40"),
        ("36:12 # motor : wheel", 3, "40:11"),
        ("36:12", 3, "40:11"),
    ],
)
def test_a_remark_says_which_gear_s_teeth_stand_first(value: str, number: float, becomes: str) -> None:
    found = ratio(value)
    told = Derivation("new.drive_gear.gear_ratio", "", (), "made up")
    result = Result("r", "feeder.gear_ratio", "", "", 40 / 11, 0.0, Status.COMPUTED, "w", told, text="40:11")
    assert found.editable and found.value == pytest.approx(number)
    assert write(result, found).text == becomes
    again = ratio(value.replace(found.text, becomes))
    assert again.value == pytest.approx(40 / 11)


def test_what_a_setting_is_does_not_say_the_order_and_the_order_can_be_said(tmp_path: Path) -> None:
    assert ratio("1:1", "feeder.gear_ratio", tmp_path).why_not == UNTOLD
    for order, turned in (("driving:driven", True), ("driven:driving", False)):
        found = ratio("1:1", f"{{quantity: feeder.gear_ratio, order: {order}}}", tmp_path)
        assert (found.editable, found.form.driving_first) == (True, turned)


@pytest.mark.parametrize(
    "said",
    ["{quantity: feeder.gear_ratio, order: left}", "{quantity: feeder.microsteps, order: driven:driving}"],
)
def test_an_order_that_says_nothing_is_refused(said: str, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="order is for ratios"):
        ratio("1:1", said, tmp_path)


def test_the_packet_asks_which_way_round(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(LINE.format('"1:1"') + "axes:\n  x: {high: 200}\n  y: {high: 200}\n")
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage, drive_gear: {gear_ratio: 40:11}}\n"
    )
    plan = api.prepare(tmp_path / "a.yaml", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (doubt,) = [each for each in plan.doubts if UNTOLD in each.why]
    assert "11:40 or 40:11?" in doubt.remedy and "order: driving:driven" in doubt.remedy
    assert not any(each.quantity == "feeder.gear_ratio" for each in plan.changes)


def test_a_packet_with_the_driving_gear_s_teeth_first_holds(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(
        LINE.format('"1:1"  # motor : wheel')
        + "axes:\n  x: {high: 200}\n  y: {high: 200}\ndrive: {steps per mm: 96.5}\n"
    )
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage, drive_gear: {gear_ratio: 40:11}}\n"
    )
    packet = api.prepare(tmp_path / "a.yaml", tmp_path / "swap.yaml", out=tmp_path / "packet")
    assert [each.new.text for each in packet.plan.changes if each.quantity == "feeder.gear_ratio"] == [
        "11:40"
    ]
    assert not api.verify(packet.folder)
