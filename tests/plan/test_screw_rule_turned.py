"""A figure of the screw that is the files' own rule turned round is asked about; another driver's is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.screw_lines import SCREW_RULES
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
        ("ampere = volts x 1.25 / 1.41", "1.25 V/A", False),
        ("24 V = 1.2 A", "0.05 V/A", False),
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


def test_the_screw_is_not_told_to_be_set_by_a_rule_that_is_asked_about(tmp_path: Path) -> None:
    (tmp_path / "finch.conf").write_text("[feeder]\n# one volt is 1.25 ampere\nsteps_per_mm = 94\n")
    told = []
    for figure in ("1.25 V/A", "0.9 V/A"):
        (tmp_path / "swap.yaml").write_text(
            f"new: {{driver: {{set_by: screw, volts_per_amp: {figure}}}, motor: {{rated_current: 1 A, recommended_current: 0.4 A}}}}\n"
        )
        plan = api.work_out(tmp_path / "finch.conf", tmp_path / "swap.yaml").plan
        told.append(any(item.rule in SCREW_RULES for item in plan.by_hand))
    assert told == [False, True]
