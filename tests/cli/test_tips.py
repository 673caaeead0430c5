"""What counts from a nozzle's tip is moved by the shift of that tip, and not by that of another one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commandline import Runner

FRAME = """[axis x]
lowest spot = -12
highest spot = 310
[axis y]
lowest spot = -5
highest spot = 262
[axis z]
highest spot = 244
[probe]
offset x = -33
offset y = 11.5
offset z = -1.42
"""
FEEDERS = "[feeder 1]\nturn length = 22.9 mm\n[feeder 2]\nturn length = 22.7 mm\n"
ONE = "old: {drive: tube-fed}\nnew: {drive: on the carriage, feed_per_turn: 6.5 mm}\n"
BOTH = "feeders:\n  1: {new: {drive: on the carriage, feed_per_turn: 6.5 mm}}\n  2: {same_as: 1}\n"
SHIFT = """carriage:
  nozzle_shift: {x: 0 mm, y: 3 mm, z: 0.8 mm}
  probe_shift: {x: 0 mm, y: 0 mm, z: 0 mm}
  probe_room: 2 mm
  z_stop: probe
"""
CLEAR = "clearance: {less_at_high_x: 8.5 mm, highest_z: 230 mm, keep_clear: 2 mm}\n"
OF_A_TIP = {"probe.offset_y", "probe.offset_z", "axis.y.min", "axis.z.max"}


def prepared(
    cli: Runner, desk: Path, swapped: str, more: str = "", feeders: str = FEEDERS, clear: str = CLEAR
) -> dict[str, Any]:
    (desk / "config").mkdir()
    Path(desk, "config/frame.conf").write_text(FRAME + feeders)
    Path(desk, "swap.yaml").write_text(f"machine: Heron\n{swapped}{SHIFT}{more}{clear}")
    packet = str(desk / "packet")
    said = cli("prepare", str(desk / "config"), "--sheet", str(desk / "swap.yaml"), "-o", packet, "--json")
    assert said.status == 0, said.err
    assert cli("verify", packet).status == 0
    found: dict[str, Any] = json.loads(said.out)
    return found


def written(plan: dict[str, Any]) -> set[str]:
    return {change["quantity"] for change in plan["changes"]}


def height(plan: dict[str, Any]) -> str:
    return next(str(light["state"]) for light in plan["lights"] if light["light"] == "height")


def asked(plan: dict[str, Any]) -> str:
    return json.dumps(plan["doubts"])


def ends(plan: dict[str, Any]) -> list[str]:
    return [item["rule"] for item in plan["by_hand"] if item["rule"].startswith("protected.end_stop")]


def test_while_nobody_says_whose_tip_has_moved_nothing_is_written_that_counts_from_one(
    cli: Runner, tmp_path: Path
) -> None:
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}")
    assert written(plan).isdisjoint(OF_A_TIP) and not ends(plan)
    assert "this machine has 2 feeders; if each has a tip of its own" in asked(plan)
    assert "carriage.one_nozzle: yes" in asked(plan)
    assert height(plan) == "unknown"
    # in x no tip has moved, so that the carriage's own loss is the same for each of them
    assert "axis.x.max" in written(plan)


def test_feeders_that_share_one_nozzle_move_it_together(cli: Runner, tmp_path: Path) -> None:
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}", "  one_nozzle: yes\n")
    assert written(plan) >= OF_A_TIP and ends(plan)
    assert "tip of its own" not in asked(plan) and height(plan) == "set"


def test_a_tip_of_its_own_is_set_by_hand_by_its_number(cli: Runner, tmp_path: Path) -> None:
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}", "  one_nozzle: no\n")
    assert written(plan).isdisjoint(OF_A_TIP) and not ends(plan)
    told = {item["rule"]: item["what"] for item in plan["by_hand"]}
    assert "moved by 3 mm in y" in told["tips.y"] and "moved by 0.8 mm in z" in told["tips.z"]
    assert "tips.x" not in told
    assert height(plan) == "by hand"


def test_a_tip_of_its_own_names_the_lines_that_may_count_from_it(cli: Runner, tmp_path: Path) -> None:
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}", "  one_nozzle: no\n")
    steps = {item["rule"]: " ".join(item["steps"]) for item in plan["by_hand"]}
    for rule, lines in {"tips.y": (5, 6, 11), "tips.z": (8, 12)}.items():
        assert all(f"frame.conf:{line} (" in steps[rule] for line in lines), steps[rule]
    # those of the axis along which no tip has moved are none of them
    assert not any(f"frame.conf:{line} (" in text for text in steps.values() for line in (2, 3, 10))


@pytest.mark.parametrize(
    ("swapped", "feeders"),
    [(BOTH, FEEDERS), (ONE, "[feeder]\nturn length = 22.9 mm\n")],
    ids=["both", "alone"],
)
def test_where_every_feeder_is_swapped_the_shift_is_that_of_all(
    cli: Runner, tmp_path: Path, swapped: str, feeders: str
) -> None:
    plan = prepared(cli, tmp_path, swapped, feeders=feeders)
    assert written(plan) >= OF_A_TIP and "tip of its own" not in asked(plan)


def test_the_furthest_place_of_a_tip_is_a_question_too(cli: Runner, tmp_path: Path) -> None:
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}", clear="clearance: {highest_x: 300 mm}\n")
    assert "axis.x.max" not in written(plan)
    assert "clearance.less_at_high_x" in asked(plan)


def test_how_much_less_far_the_carriage_gets_counts_whichever_tip_has_moved(
    cli: Runner, tmp_path: Path
) -> None:
    clear = "clearance: {less_at_low_y: 4 mm, highest_z: 230 mm}\n"
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}", "  one_nozzle: no\n", clear=clear)
    (change,) = [change for change in plan["changes"] if change["quantity"] == "axis.y.min"]
    # the carriage's 4, and the 3 mm of the tip that has moved: within it every tip gets there, whichever this counts from
    assert float(change["new"]["text"]) - float(change["old"]["text"]) == 7
    assert written(plan).isdisjoint(OF_A_TIP - {"axis.y.min"})


def test_what_lies_at_an_end_stop_is_not_held_to_a_limit_that_another_tip_has_moved(
    cli: Runner, tmp_path: Path
) -> None:
    stands = "[axis y]\nend stop position = -5\n[bed map]\nlowest y = -4\n[parking]\ny = -4\n"
    clear = "clearance: {less_at_low_y: 0 mm, highest_z: 230 mm}\n"
    for answer, moved in (("no", set()), ("yes", {"park.y"})):
        desk = tmp_path / answer
        desk.mkdir()
        more = f"  one_nozzle: {answer}\n"
        plan = prepared(cli, desk, f"feeder: 1\n{ONE}", more, FEEDERS + stands, clear)
        assert {"park.y", "mesh.from_y"} & written(plan) == moved


def test_a_bed_map_is_not_held_to_what_another_tip_gains(cli: Runner, tmp_path: Path) -> None:
    """262 − 6 + 11.5 is where the probe gets to; the 3 mm of the tip that has moved are none of it."""
    edge = "[bed map]\nto y = 270\n"
    clear = "clearance: {less_at_high_y: 6 mm, highest_z: 230 mm}\n"
    plan = prepared(cli, tmp_path, f"feeder: 1\n{ONE}", "  one_nozzle: no\n", FEEDERS + edge, clear)
    (change,) = [change for change in plan["changes"] if change["quantity"] == "mesh.max_y"]
    assert float(change["new"]["text"]) == 267.5


def test_where_a_second_tip_stands_is_told_with_what_it_becomes_and_never_written(
    cli: Runner, tmp_path: Path
) -> None:
    stands = "[second tip]\noffset x = 24.15\noffset y = -0.08\n"
    plan = prepared(cli, tmp_path, f"feeder: 2\n{ONE}", "  one_nozzle: no\n", FEEDERS + stands)
    (steps,) = [item["steps"] for item in plan["by_hand"] if item["rule"] == "tips.y"]
    assert steps[0].startswith(
        "frame.conf:19 ([second tip] offset y = -0.08) becomes 2.92 where it is this tip"
    )
    assert "-3.08 where it is another tip" in steps[0] and "tips" not in written(plan)
    assert not any("offset" in change["edits"][0]["old"] for change in plan["changes"])
