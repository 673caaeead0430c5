"""A formula that a changed length turns below nothing is dangerous at that change, and keeps the retraction's light unknown."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm, bore: 2 mm}}
new: {drive: on the carriage, path_length: 50 mm, tube: {length: 14 mm}}
"""
HEADER = "#define RETRACTION_MM 5.5f\n#define TUBE_LEN 430\n#define LOAD_QUICK (TUBE_LEN - %d)\n"


def planned(folder: Path, less: int) -> Plan:
    (folder / "egret").mkdir()
    (folder / "egret" / "egret.h").write_text(HEADER % less)
    (folder / "swap.yaml").write_text(SHEET)
    return api.prepare(folder / "egret", folder / "swap.yaml", out=folder / "packet", browsed=False).plan


@pytest.mark.parametrize(("less", "turned"), [(20, True), (10, False)])
def test_a_load_that_would_pull_is_said_at_the_length_and_holds_the_light(
    tmp_path: Path, less: int, turned: bool
) -> None:
    plan = planned(tmp_path, less)
    (change,) = [each for each in plan.changes if each.quantity == "feeder.tube_length"]
    assert any("LOAD_QUICK" in each and "comes to -6" in each for each in change.warnings) is turned
    (light,) = [each for each in plan.lights if each.light == "retraction"]
    assert ("LOAD_QUICK (egret.h:3) comes to -6 then" in light.why and light.state == "unknown") is turned
    assert any("in place of that formula" in each for each in light.missing) is turned
