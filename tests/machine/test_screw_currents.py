"""Where the files say that a screw sets a driver's current, a number beside is a note, and how it is set is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.interview import next_question
from cfgmigrate.plan.unlocking import Workings
from cfgmigrate.rules import library
from cfgmigrate.sheet.reader import parse_sheet

NOTE = "[push]\nsteps in a millimetre: 93.6\nmotor amps: 1.20 # as I remember it\n"
SCREW = ["current by the screw: yes\n", "reference voltage: 0.96\n", "vref = 0.96\n"]


@pytest.mark.parametrize("line", SCREW)
def test_a_current_beside_a_screw_is_a_question(line: str) -> None:
    machine = recognise([read("feeder.cfg", (NOTE + line).encode(), "sectioned")])
    assert machine.get("motor.run_current") is None
    (doubt,) = [each for each in machine.doubts if each.about == "motor.run_current"]
    assert doubt.place.line == 3 and "line 4" in doubt.why and "set_by: screw" in doubt.remedy


@pytest.mark.parametrize(
    "remark",
    ["by the screw on the board", "Trimmer at 0.6 V", "screw B is at half past four", "turned to 2 o'clock"],
)
def test_so_it_is_where_its_remark_says_so(remark: str) -> None:
    machine = recognise([read("a.cfg", f"[feeder]\nrun current = 1.2 # {remark}\n".encode(), "sectioned")])
    assert [each.about for each in machine.doubts] == ["motor.run_current"]
    assert not machine.readings


@pytest.mark.parametrize("remark", ["no longer, not by a screw", "plug C, screw terminals"])
def test_a_remark_about_no_screw_or_one_that_holds_leaves_it(remark: str) -> None:
    machine = recognise([read("a.cfg", f"[feeder]\nrun current = 1.2 # {remark}\n".encode(), "sectioned")])
    assert machine.get("motor.run_current").value == 1.2


def test_so_it_is_where_the_keys_of_a_flat_file_begin_alike() -> None:
    machine = recognise([read("a.cfg", b"feeder.current = 1.2\nfeeder.vref = 0.96\nx.vref = 0.7\n", "flat")])
    assert [each.about for each in machine.doubts] == ["motor.run_current"]


@pytest.mark.parametrize(
    "beside",
    [
        "current by the screw: no\nreference voltage: 0.96\n",
        "[across]\ncurrent by the screw: yes\n",
        "tension screw: 3 turns\n",
    ],
)
def test_no_screw_another_motor_s_or_one_of_something_else_leaves_it_be(beside: str) -> None:
    machine = recognise([read("feeder.cfg", (NOTE + beside).encode(), "sectioned")])
    assert machine.get("motor.run_current").value == 1.2


def test_what_the_user_named_as_the_current_stands(tmp_path: Path) -> None:
    (tmp_path / "names.yaml").write_text('"[push] motor amps": motor.run_current\n')
    names = read_names(tmp_path / "names.yaml")
    machine = recognise([read("feeder.cfg", (NOTE + SCREW[0]).encode(), "sectioned")], names)
    assert machine.get("motor.run_current").value == 1.2


def test_the_light_is_unknown_until_the_sheet_says_how_the_current_is_set_and_that_is_asked(
    tmp_path: Path,
) -> None:
    (tmp_path / "feeder.cfg").write_text(NOTE + SCREW[0])
    sheet = b"new: {motor: {step_angle: 1.8 deg, rated_current: 0.8 A}}\n"
    bench = Workings(library.book(), api.read_machine([tmp_path / "feeder.cfg"])[1], library.tables())
    asked, declined = "", []
    while asked != "new.driver.set_by" and len(declined) < 20:
        question = next_question(bench, parse_sheet(sheet, "sheet.yaml"), declined)
        assert question is not None and question.stage != "to be surer"
        declined.append(asked := question.field.path)
    assert asked == "new.driver.set_by"


@pytest.mark.parametrize(
    "line", ["volts for one amp: 0.8", "current by the screw: yes", "reference voltage: 0.96"]
)
def test_what_is_said_of_a_driver_s_screw_is_not_offered_as_a_current(line: str) -> None:
    machine = recognise([read("feeder.cfg", f"[push]\nmotor plug: E\n{line}\n".encode(), "sectioned")])
    assert not [near for each in machine.unread for near in each.nearest if near.startswith("motor.")]
