"""A figure of the screw that is the files' own rule turned round is asked about; another driver's is not."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.screw_rule_turned import screw_rule_turned
from cfgmigrate.sheet.reader import parse_sheet


@pytest.mark.parametrize(
    ("noted", "figure", "asked"),
    [
        ("one volt is 1.25 ampere", "1.25 V/A", True),
        ("turned in march. volts times 1.25 = ampere", "1.25 V/A", True),
        ("one volt is 1.25 ampere", "0.8 V/A", False),
        ("one volt is 1.25 ampere", "0.9 V/A", False),
        ("0.8 A at 1 V", "0.8 V/A", False),
    ],
)
def test_a_rule_turned_round_is_asked_about_and_no_other(noted: str, figure: str, asked: bool) -> None:
    machine = recognise(
        [read("finch.conf", f"[feeder]\n# {noted}\nsteps_per_mm = 94\n".encode(), "sectioned")]
    )
    sheet = parse_sheet(f"new: {{driver: {{volts_per_amp: {figure}}}}}\n".encode(), "swap.yaml")
    found = screw_rule_turned(machine, sheet)
    assert bool(found) is asked
    assert not asked or ("0.8 V/A" in found[0].doubt.remedy and found[0].light.state == "unknown")
