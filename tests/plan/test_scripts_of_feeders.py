"""A script that several feeders use is changed only where all of them have got the same new path."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FEEDER = """\
feeder.{0}.steps_per_mm = 138.5
feeder.{0}.full_steps = 200
feeder.{0}.microsteps = 16
feeder.{0}.retraction.length_mm = 5.2
"""
NEW = "{old: {tube: {length: 460 mm}}, new: {tube: {length: 32 mm}, drive: on the carriage}}"


@pytest.mark.parametrize(
    ("swapped", "written"), [(f"1: {NEW}", 0), (f"2: {NEW}", 0), (f"1: {NEW}\n  2: {NEW}", 1)]
)
def test_a_load_that_serves_a_feeder_that_was_not_swapped_is_not_shortened(
    tmp_path: Path, swapped: str, written: int
) -> None:
    """Shortened for the swapped one, it would leave the other one's filament half way in its tube."""
    feeders = "".join(FEEDER.format(number) for number in (1, 2))
    (tmp_path / "feeders.txt").write_text(f"axis.z.max = 310\n{feeders}load.script = M83\\nG1 E500 F900\n")
    (tmp_path / "swap.yaml").write_text(f"feeders:\n  {swapped}\n")
    plan = api.prepare([tmp_path / "feeders.txt"], tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    assert len([change for change in plan.changes if change.quantity == "script.load.e"]) == written
    told = [doubt for doubt in plan.doubts if "E500" in doubt.text]
    assert len(told) == 1 - written
    assert all("whether the script is for that feeder alone is not certain" in doubt.why for doubt in told)


@pytest.mark.parametrize(("tool", "slow"), [("T0", True), ("T1", False), ("G21", True)])
def test_a_feed_is_held_to_the_speed_of_the_feeder_that_the_tool_in_force_takes(
    tmp_path: Path, tool: str, slow: bool
) -> None:
    """The first feeder may turn at 20 mm/s from now on, the second at 60: 45 mm/s are too fast for the first alone, and
    where no tool is taken it may be the first."""
    feeders = "".join(
        FEEDER.format(number) + f"feeder.{number}.max.speed.mm.per.s = 70\n" for number in (1, 2)
    )
    script = f"end.script = M83\\n{tool}\\nG1 E-4 F2700\nother.script.start = T0\\nT1\n"
    (tmp_path / "feeders.txt").write_text(f"axis.z.max = 310\n{feeders}{script}")
    (tmp_path / "swap.yaml").write_text(
        "feeders:\n  1: {new: {recommended_feed_speed: 20 mm/s}}\n  2: {new: {recommended_feed_speed: 60 mm/s}}\n"
    )
    plan = api.prepare([tmp_path / "feeders.txt"], tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    assert {change.holder: change.new.value for change in plan.changes} == {"feeder 1": 20, "feeder 2": 60}
    told = [doubt for doubt in plan.doubts if "the feeder may turn at 20 mm/s" in doubt.why]
    assert bool(told) == slow
    assert not [doubt for doubt in plan.doubts if "at 60 mm/s" in doubt.why]
