"""What notes the voltage of the feeder's screw is told by its name, or by its number where the name is of nothing else."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.screw_lines import notes_voltage


@pytest.mark.parametrize(
    ("name", "named"),
    [("REEL_VOLTS", False), ("STIRRER_SCREW_VOLTS", False), ("FIL_VOLTS", True), ("SCREW_VOLTS", True)],
)
def test_a_voltage_of_the_same_number_is_the_feeder_s_only_where_its_name_has_no_other_thing(
    name: str, named: bool
) -> None:
    machine = recognise([read("bowl.h", f"#define X_MAX 9\n#define {name} 0.86\n".encode(), "header")])
    (note,) = machine.unread[-1:]
    assert bool(notes_voltage(note, 0.86)) is named and not notes_voltage(note, 0.85)
