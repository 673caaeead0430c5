"""Lines that a third machine reads too: asked about before they are written, and told to hands where they stay."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.lines_of_others import OF_OTHERS_RULE
from cfgmigrate.plan.model import Plan

HOUSE = """# what holds in the house
[tug]
retraction length = 5.6 mm

[heron]
retraction speed = 42 mm/s

[feeder]
microsteps = 16
"""
HERON = """[who]
rules = ../common/house.txt

[feeder]
feed per turn = 21.4 mm
full steps = 200
"""
TEAL = "; keeps its long tube\n[who]\nrules = ../common/house.txt\n"
SHEET = """machine: Heron
old:
  drive: tube-fed
  drive_gear: {external_meshes: 1}
  tube: {length: 410 mm, bore: 1.9 mm, bend: 170 deg}
new:
  drive: on the carriage
  tube: {length: 38 mm, bore: 1.9 mm, bend: 20 deg}
  drive_gear: {effective_diameter: 7.8 ± 0.05 mm, gear_ratio: "49:8", external_meshes: 1}
  motor: {step_angle: 0.9 deg, rated_current: 0.8 A}
filament: {material: PLA, diameter: 1.75 mm}
"""
SHARED = "shared: {common/house.txt: %s}\n"


@pytest.fixture(autouse=True)
def hall(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    files = {"common/house.txt": HOUSE, "heron/heron.txt": HERON, "teal/teal.txt": TEAL}
    for path, text in files.items():
        (tmp_path / "hall" / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "hall" / path).write_text(text)
    (tmp_path / "heron.sheet").write_text(SHEET, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    say(tmp_path / "hall")
    return tmp_path / "hall"


def say(hall: Path, more: str = "") -> None:
    (hall / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {common/house.txt: in force, heron/heron.txt: in force, teal/teal.txt: other machine}\n"
        f'meanings: {{"[heron] retraction speed": retraction.speed}}\n{more}'
    )


def prepared() -> Plan:
    plan = api.prepare("hall", "heron.sheet", out="packet", replace=True).plan
    assert not [each for each in api.verify("packet") if "recorded" in each], (
        "it is the same worked out again"
    )
    return plan


def written(plan: Plan) -> set[str]:
    return {f"{edit.file}:{edit.line}" for change in plan.changes for edit in change.edits}


def state(plan: Plan, light: str) -> str:
    return next(each.state for each in plan.lights if each.light == light)


def test_a_line_that_a_third_machine_reads_is_asked_about_and_not_written() -> None:
    plan = prepared()
    assert "common/house.txt:3" not in written(plan)
    (asked,) = [each for each in plan.doubts if "is not this machine's alone" in each.why]
    assert asked.place.file == "common/house.txt" and "teal/teal.txt:3" in asked.why
    assert "retraction length 5.6 → " in asked.why
    assert (
        '"common/house.txt": swapped together' in asked.remedy and '"common/house.txt": left' in asked.remedy
    )
    assert state(plan, "retraction") == "unknown"


def test_a_part_that_goes_by_the_machine_s_own_name_is_its_own() -> None:
    assert "common/house.txt:6" in written(prepared())


@pytest.mark.parametrize("answer", ["swapped together", "ours alone"])
def test_said_to_be_swapped_together_or_nobody_else_s_it_is_written(answer: str, hall: Path) -> None:
    say(hall, SHARED % answer)
    plan = prepared()
    assert written(plan) >= {"common/house.txt:3", "common/house.txt:6"}
    assert state(plan, "retraction") == "set"


def test_left_for_another_machine_each_value_is_told_to_hands(hall: Path) -> None:
    say(hall, SHARED % "left")
    plan = prepared()
    assert "common/house.txt:3" not in written(plan)
    assert not [each for each in plan.doubts if "is not this machine's alone" in each.why]
    (item,) = [each for each in plan.by_hand if each.rule == OF_OTHERS_RULE]
    assert any("retraction length: 5.6 → " in step and "common/house.txt:3" in step for step in item.steps)
    light = next(each for each in plan.lights if each.light == "retraction")
    assert light.state == "by hand" and item.id in light.rests_on


def test_what_makes_the_feed_is_not_written_by_halves(hall: Path) -> None:
    """The count of steps in the shared file, and the own file's feed: each new beside the other's old is wrong by a factor."""
    (hall / "common" / "house.txt").write_text(HOUSE.replace("microsteps = 16", "full steps = 200"))
    (hall / "heron" / "heron.txt").write_text(HERON.replace("full steps = 200", "microsteps = 16"))
    plan = prepared()
    assert not written(plan) & {"common/house.txt:9", "heron/heron.txt:5"}
    assert state(plan, "feed") == "unknown"
    (asked,) = [each for each in plan.doubts if "is not this machine's alone" in each.why]
    theirs, own = asked.why.split("Lines of this machine's own wait with them")
    assert "common/house.txt:9" in theirs and "heron/heron.txt" not in theirs
    assert "heron/heron.txt:5" in own and "common/house.txt" not in own
    why = next(each.why for each in plan.left_alone if each.quantity == "feeder.feed_per_turn")
    assert "it makes the feed together with" in why and "teal/teal.txt" not in why


def test_left_for_others_the_own_lines_of_the_feed_are_told_to_be_written_where_they_stand(
    hall: Path,
) -> None:
    (hall / "common" / "house.txt").write_text(HOUSE.replace("microsteps = 16", "full steps = 200"))
    (hall / "heron" / "heron.txt").write_text(HERON.replace("full steps = 200", "microsteps = 16"))
    say(hall, SHARED % "left")
    (item,) = [each for each in prepared().by_hand if each.rule == OF_OTHERS_RULE]
    between = next(at for at, step in enumerate(item.steps) if "lines of this machine's own" in step)
    assert any("common/house.txt:9" in step for step in item.steps[:between])
    assert [step for step in item.steps[between + 1 :] if "heron/heron.txt:5" in step]
    assert not any("heron/heron.txt:5" in step for step in item.steps[:between])


@pytest.mark.parametrize(
    "head",
    [
        "# what holds for Heron and Teal alike",
        "# common to all three machines",
    ],
)
def test_a_file_that_says_in_prose_that_it_is_for_several_is_asked_about(head: str, hall: Path) -> None:
    (hall / "teal" / "teal.txt").write_text("; keeps its long tube\n")
    (hall / "common" / "house.txt").write_text(HOUSE.replace("# what holds in the house", head))
    plan = prepared()
    assert "common/house.txt:3" not in written(plan)
    assert [each for each in plan.doubts if "common/house.txt:1" in each.why and "alone" in each.why]


@pytest.mark.parametrize(
    "head", ["# Heron's. Teal has its own", "# Heron's house rules, not for Teal", "# Heron: feeder and bed"]
)
def test_a_head_that_only_mentions_another_machine_keeps_nothing_back(head: str, hall: Path) -> None:
    (hall / "teal" / "teal.txt").write_text("; keeps its long tube\n")
    (hall / "common" / "house.txt").write_text(HOUSE.replace("# what holds in the house", head))
    assert "common/house.txt:3" in written(prepared())


def test_a_note_that_names_the_file_keeps_nothing_back(hall: Path) -> None:
    (hall / "teal" / "teal.txt").write_text("; keeps its long tube\n")
    (hall / "notes.md").write_text("rules = common/house.txt\n")
    assert "common/house.txt:3" in written(prepared())


def test_a_file_that_nobody_else_names_is_written_as_ever(hall: Path) -> None:
    (hall / "teal" / "teal.txt").write_text("; keeps its long tube\n")
    assert "common/house.txt:3" in written(prepared())


def test_beside_a_part_of_this_machine_s_name_the_lines_for_all_wait_and_its_own_is_written(
    hall: Path,
) -> None:
    """Found with a user, whose club would have had the new retraction on a machine that keeps its tube."""
    threads = (
        "[all]\ntemperature = 207\nretraction = 5.2\n[heron]\nretraction = 5.0\n[plover]\nretraction = 6.4\n"
    )
    (hall / "heron" / "threads").mkdir()
    (hall / "heron" / "threads" / "pla.conf").write_text(threads)
    (hall / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {common/house.txt: in force, heron/heron.txt: in force, teal/teal.txt: other machine}\n"
        'meanings: {"[heron] retraction": retraction.length, "[plover] retraction": ignore}\n'
    )
    plan = prepared()
    assert "heron/threads/pla.conf:5" in written(plan)
    assert not {"heron/threads/pla.conf:3", "heron/threads/pla.conf:7"} & written(plan)


@pytest.mark.parametrize("part", ["plover", "sunday"])
def test_without_a_part_of_this_machine_s_name_a_profile_is_written_as_ever(hall: Path, part: str) -> None:
    (hall / "heron" / "threads").mkdir()
    threads = f"[all]\ntemperature = 207\nretraction = 5.2\n[{part}]\nfan = 60\n"
    (hall / "heron" / "threads" / "pla.conf").write_text(threads)
    assert "heron/threads/pla.conf:3" in written(prepared())
