"""Which feeder a plain sheet tells of is asked where the files call the only one that they have by a side."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FILE = """\
axes:
  x: {{high: 200}}
  y: {{high: 200}}
feeders:
  {name}:
    retraction length: 4.8
    lag seconds: 0.5
"""
SHEET = "old: {drive: tube-fed}\nnew: {drive: on the carriage, steps_per_mm: 426 1/mm}\n"


@pytest.mark.parametrize(
    ("name", "first", "states"),
    [
        ("left", "", ["unknown"]),
        ("right", "", ["unknown"]),
        ("left", "feeder: 1\n", []),
        ("only", "", []),
        ("only:\n    heads: 2\n  it", "", ["unknown"]),
        ("only:\n    heads: 1\n  it", "", []),
    ],
)
def test_one_feeder_on_a_side_or_of_several_counted_may_not_be_the_one_that_is_swapped(
    name: str, first: str, states: list[str], tmp_path: Path
) -> None:
    (tmp_path / "a.yaml").write_text(FILE.format(name=name))
    (tmp_path / "swap.yaml").write_text(first + SHEET)
    plan = api.prepare(tmp_path / "a.yaml", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    lit = [light for light in plan.lights if light.light == "feeder"]
    assert [light.state for light in lit] == states
    assert all("feeder: 1" in light.missing[0] for light in lit)


def test_of_several_feeders_each_is_offered_by_its_name(tmp_path: Path) -> None:
    text = FILE.format(name="left") + "  right:\n    retraction length: 5\n    lag seconds: 0.5\n"
    (tmp_path / "a.yaml").write_text(text)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "a.yaml", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (light,) = [light for light in plan.lights if light.light == "feeder"]
    assert "feeders 1 (left), 2 (right)" in light.why
    assert light.missing[0].endswith("feeder: 1 for left, or feeder: 2 for right")


SHARED = """\
axes:
  x: {high: 200}
  y: {high: 200}
both feeders:
  full steps: 200
  microsteps: 16
  gear ratio: 3
feeders:
  1:
    feed per turn: 30
    retraction length: 4.8
  2:
    feed per turn: 31
    retraction length: 5
"""
NEW = "new: {{drive: on the carriage, drive_gear: {{effective_diameter: {} mm, gear_ratio: '3:1'}}, motor: {{step_angle: {} deg}}, microsteps: 16}}"


@pytest.mark.parametrize("other", [1, 2])
def test_what_one_feeder_wants_of_a_shared_line_and_another_does_not_is_asked_of_hands(
    other: int, tmp_path: Path
) -> None:
    (tmp_path / "a.yaml").write_text(SHARED)
    both = ((number, NEW.format(8 + number / 10, 0.9 if number == other else 1.8)) for number in (1, 2))
    feeders = ", ".join(f"{number}: {{old: {{drive: tube-fed}}, {new}}}" for number, new in both)
    (tmp_path / "swap.yaml").write_text(f"feeders: {{{feeders}}}\n")
    plan = api.prepare(tmp_path / "a.yaml", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == "feeder.full_steps"]
    assert item.what.startswith(f"give feeder {other} a ") and item.what.endswith("of its own: 400")
    feed = {light.holder: light.state for light in plan.lights if light.light == "feed"}
    assert feed == {f"feeder {number}": "unknown" if number == other else "set" for number in (1, 2)}
    assert not api.verify(tmp_path / "packet")


NAMED = """\
axes:
  x: {high: 200}
feeders:
  all:
    full steps: 200          # a turn
  lark:
    retraction length: 4.8
  wren:
    retraction length: 5
"""


def test_a_value_of_one_feeder_is_told_as_a_line_below_its_name(tmp_path: Path) -> None:
    """The shared line without its remark."""
    (tmp_path / "a.yaml").write_text(NAMED)
    (tmp_path / "swap.yaml").write_text(f"feeder: wren\nold: {{drive: tube-fed}}\n{NEW.format(8, 0.9)}\n")
    plan = api.work_out(tmp_path / "a.yaml", tmp_path / "swap.yaml").plan
    (item,) = [each for each in plan.by_hand if each.rule == "feeder.full_steps"]
    assert item.steps[0].startswith("Write `full steps: 400` below [feeders.wren] in a.yaml, before line 9,")
    starter = api.measured_starter(tmp_path / "a.yaml", "swap.yaml", swap=tmp_path / "swap.yaml")
    assert "feeder: 2" in starter, "the one that the sheet is about"
