"""What notes the voltage of the feeder's screw is told by its name, or by its number where the name is of nothing else."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.model import ByHand
from cfgmigrate.plan.screw_lines import notes_voltage, old_voltage, too_much_before
from cfgmigrate.rules.result import Derivation, Input
from cfgmigrate.sheet.model import SheetEntry

CURRENTS = tuple(
    Input(f"motor.{name}", name, value, "A", 0.0, "here")
    for name, value in (("wanted_current", 0.55), ("current_limit", 0.7))
)
TO_SET = ByHand("Set it", 0.44, "V", "", Derivation("", "", CURRENTS, "here"))


def noted(lines: bytes) -> Machine:
    return recognise([read("m.conf", b"[feeder]\n" + lines + b"\n", "sectioned")])


@pytest.mark.parametrize(
    ("name", "named"),
    [
        ("REEL_VOLTS", False),
        ("STIRRER_SCREW_VOLTS", False),
        ("FIL_VOLTS", True),
        ("SCREW_VOLTS", True),
        ("FEEDER_LOGIC_VOLTS", False),
    ],
)
def test_a_voltage_of_the_same_number_is_the_feeder_s_only_where_its_name_has_no_other_thing(
    name: str, named: bool
) -> None:
    machine = recognise([read("bowl.h", f"#define X_MAX 9\n#define {name} 0.86\n".encode(), "header")])
    (note,) = machine.unread[-1:]
    assert bool(notes_voltage(note, 0.86)) is named and not notes_voltage(note, 0.85)


def test_a_noted_voltage_is_told_as_the_current_that_it_gives_the_new_motor() -> None:
    """0.8 V/A: 0.44 V for 0.55 A, which is less than the 0.7 A allowed; so 0.84 V are 1.05 A."""
    machine, item = noted(b"screw_volts = 0.84"), TO_SET
    note, current = old_voltage(machine, {}, item)
    assert "screw_volts = 0.84" in note and "0.84 V is about 1.05 A RMS" in current
    told = too_much_before(machine, {}, item)
    assert "at 0.84 V, gives the new motor about 1.05 A RMS, and 0.7 A is the most" in told
    assert "Do not run the new motor before" in told and "Without one" in told
    stands = replace(
        item, derivation=Derivation("", "", (CURRENTS[0], replace(CURRENTS[1], value=1.04)), "here")
    )
    assert not too_much_before(machine, {}, stands)
    (alone,) = old_voltage(machine, {}, ByHand("Find it", None, "", ""))
    assert alone == note


@pytest.mark.parametrize(
    ("lines", "fields", "told"),
    [
        (b"logic_voltage = 3.3\nsensor_volts = 5", {}, ""),
        (b"logic_voltage = 3.3", {"old.driver.reference_voltage": 0.5}, ""),
        (b"screw_volts = 0.84\nlogic_voltage = 3.3", {}, "at 0.84 V, gives"),
        (b"new_screw_volts = 0.44\nold_screw_volts = 0.84", {}, "at 0.84 V, gives"),
        (b"screw_volts = 0.44\nold_volts = 0.84", {}, "at 0.84 V, the highest that the files note, gives"),
        (
            b"screw_volts = 0.84",
            {"old.driver.sense_resistor": 0.1, "new.driver.sense_resistor": 0.1},
            "at 0.84 V, gives",
        ),
        (b"screw_volts = 0.84", {"old.driver.sense_resistor": 0.1, "new.driver.sense_resistor": 0.2}, ""),
        (b"screw_volts = 0.84", {"old.driver.part": "A1", "new.driver.part": "B2"}, ""),
    ],
)
def test_a_screw_is_told_to_stand_only_where_the_sheet_or_a_note_of_nothing_else_says_it(
    lines: bytes, fields: dict[str, float | str], told: str
) -> None:
    """Another driver has another screw."""
    here = Place("s.yaml", 1, 1)
    entries = {
        path: SheetEntry(
            path, str(given), here, **({"word": given} if isinstance(given, str) else {"value": given})
        )
        for path, given in fields.items()
    }
    warned = too_much_before(noted(lines), {"": entries}, TO_SET)
    assert told in warned if told else not warned
    steps = " ".join(old_voltage(noted(lines), {"": entries}, TO_SET))
    assert "3.3 V is" not in steps and "5 V is about 6" not in steps
    other = len(fields) == 2 and not told
    assert ("another one" in steps) is other and not (other and "0.84 V is" in steps)
