"""What a profile says for one feeder alone is that feeder's: written for a swapped one, and left for another."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import Plan

FEEDER = """[feeder {name}]
full steps = 200
turn length = 22.9
retraction length = 4.6
lag coefficient = 0.5
filament diameter = 1.75
"""
PROFILE = """[both]
name = grey
material = PLA
retractionLength = 4.7
{parts}"""
SHEET = """feeder: 2
old: {drive: tube-fed, path_length: 690 mm}
new: {drive: on the carriage, path_length: 54 mm, feed_per_turn: 6.5 mm}
"""


def prepared(desk: Path, names: tuple[str, str], parts: str) -> Plan:
    (desk / "ladle" / "reels").mkdir(parents=True)
    (desk / "ladle" / "ladle.ini").write_text("".join(FEEDER.format(name=name) for name in names))
    (desk / "ladle" / "reels" / "grey.ini").write_text(PROFILE.format(parts=parts))
    (desk / "ladle" / "cfgmigrate.yaml").write_text("site: 1\nroles: {reels/grey.ini: profile}\n")
    (desk / "sheet.yaml").write_text(SHEET)
    return api.prepare(desk / "ladle", desk / "sheet.yaml", out=desk / "packet").plan


@pytest.mark.parametrize(
    ("names", "heads"),
    [
        (("port", "starboard"), ("only on feeder port", "only on feeder starboard")),
        (("one", "two"), ("feeder one", "feeder two")),
        (("port", "starboard"), ("with the port feeder", "with the starboard feeder")),
    ],
)
def test_a_part_of_a_profile_for_one_feeder_is_written_for_that_one(
    tmp_path: Path, names: tuple[str, str], heads: tuple[str, str]
) -> None:
    parts = "".join(f"[{head}]\nmeltLag = {value}\n" for head, value in zip(heads, (0.46, 0.48), strict=True))
    plan = prepared(tmp_path, names, parts)
    (change,) = [
        each for each in plan.changes if "grey" in each.holder and each.quantity == "lag.coefficient"
    ]
    assert (change.holder, [(edit.line, edit.old) for edit in change.edits]) == (
        "filament grey for feeder 2",
        [(8, "0.48")],
    )
    edited = {(edit.file, edit.line) for each in plan.changes for edit in each.edits}
    assert ("reels/grey.ini", 6) not in edited


def test_a_value_of_its_own_has_its_place_in_the_part_for_that_feeder(tmp_path: Path) -> None:
    heads = ("only on feeder port", "only on feeder starboard")
    parts = "".join(f"[{head}]\nmeltLag = 0.46\n" for head in heads)
    plan = prepared(tmp_path, ("port", "starboard"), parts)
    (item,) = [each for each in plan.by_hand if "retraction length of its own" in each.what]
    assert item.steps[0].startswith(
        "reels/grey.ini:4 stays for the others. Its line, retractionLength with 0."
    )
    assert "below [only on feeder starboard] in reels/grey.ini" in item.steps[0]


SPOOL = """[spool]
usedOn = feeder {name}
name = soft
material = PETG
retractionLength = 5.5
"""


@pytest.mark.parametrize(("number", "changed"), [(0, []), (1, ["filament soft"])])
def test_a_profile_that_says_on_which_feeder_it_is_used_is_that_ones_alone(
    tmp_path: Path, number: int, changed: list[str]
) -> None:
    names = ("port", "starboard")
    (tmp_path / "ladle" / "reels").mkdir(parents=True)
    (tmp_path / "ladle" / "ladle.ini").write_text("".join(FEEDER.format(name=name) for name in names))
    (tmp_path / "ladle" / "reels" / "soft.ini").write_text(SPOOL.format(name=names[number]))
    (tmp_path / "ladle" / "cfgmigrate.yaml").write_text("site: 1\nroles: {reels/soft.ini: profile}\n")
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    assert [each.holder for each in plan.changes if "soft" in each.holder] == changed
    assert not any("of its own with filament soft" in each.what for each in plan.by_hand)


NOTHING = 'meanings: {"reels/soft.ini [spool] retractionLength": ignore}\n'


@pytest.mark.parametrize("head", ["plum", "spool"])
def test_a_profile_whose_own_value_is_not_understood_or_said_to_be_nothing_is_not_said_to_have_none(
    tmp_path: Path, head: str
) -> None:
    (tmp_path / "ladle" / "reels").mkdir(parents=True)
    (tmp_path / "ladle" / "ladle.ini").write_text(
        "".join(FEEDER.format(name=name) for name in ("port", "starboard"))
    )
    text = SPOOL.format(name="starboard").replace("[spool]", f"[{head}]").replace("PETG", "TPU")
    (tmp_path / "ladle" / "reels" / "soft.ini").write_text(text)
    (tmp_path / "ladle" / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {reels/soft.ini: profile}\n" + ("" if head == "plum" else NOTHING)
    )
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    (change,) = [each for each in plan.changes if each.quantity == "retraction.length"]
    assert not any("has no value of its own" in each for each in change.warnings)
    assert any("reels/soft.ini:5" in each for each in change.warnings)
