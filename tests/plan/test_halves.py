"""Where only one of loading and unloading is changed, the change says that the other is a question and stays old."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.halves import _may_be_of
from cfgmigrate.plan.model import Plan
from cfgmigrate.workflow.prepare import work_out

FRAME = "[feeder]\nsteps per mm = 90\nmicrosteps = 16\n{lengths}[retraction]\nlength mm = 5.3\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 450 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}
"""
SCRIPTS = "[feeder]\nmax feed length mm = 500\n[script load]\nlines:\n  M83\n  G1 E470 F1800\n  G1 E60 F300\n[script unload]\nlines:\n  M83\n  G1 E10 F300\n  G1 E-{} F1800\n"


@pytest.mark.parametrize(
    ("lengths", "scripts", "said"),
    [
        (
            "load length mm = 530\nunload length mm = 5600\n",
            "",
            ["The unload length stays old, as hen.conf:5"],
        ),
        ("load length mm = 5300\nunload length mm = 560\n", "", ["The load length stays old, as hen.conf:4"]),
        ("load length mm = 530\nunload length mm = 560\n", "", []),
        ("", SCRIPTS.format(300), ["The unload script stays old, as hen.conf:17"]),
        ("", SCRIPTS.format(490), []),
    ],
)
def test_a_change_to_one_half_names_the_other_that_is_a_question(
    tmp_path: Path, lengths: str, scripts: str, said: list[str]
) -> None:
    (tmp_path / "hen.conf").write_text(FRAME.format(lengths=lengths) + scripts)
    (tmp_path / "sheet.yaml").write_text(SHEET)
    plan = work_out([tmp_path / "hen.conf"], tmp_path / "sheet.yaml").plan
    assert any("oad" in change.label for change in plan.changes)
    assert [why for _, why in warned(plan)] == said


def test_each_feeder_has_halves_of_its_own(tmp_path: Path) -> None:
    """That the left one's are both written says nothing of the right one's."""
    lengths = "load length mm = 530\nunload length mm = {}\n"
    left, right = (FRAME.format(lengths=lengths.format(each)).partition("[ret")[0] for each in (560, 5600))
    (tmp_path / "hen.conf").write_text(left.replace("]", " left]") + right.replace("]", " right]"))
    one = SHEET.replace("\n", "\n    ")
    (tmp_path / "sheet.yaml").write_text(f"feeders:\n  1:\n    {one}\n  2: {{same_as: 1}}\n")
    plan = work_out([tmp_path / "hen.conf"], tmp_path / "sheet.yaml").plan
    assert warned(plan) == [("feeder 2", "The unload length stays old, as hen.conf:10")]


@pytest.mark.parametrize(("line", "may_be_of"), [(1, {1, 2}), (3, {1}), (5, {2}), (8, {1, 2})])
def test_a_line_in_doubt_may_be_of_the_feeders_of_its_section(line: int, may_be_of: set[int]) -> None:
    text = "room = 3\n[feeder left]\nsteps per mm = 90\n[feeder right]\nodd = 2\nsteps per mm = 91\n[odd]\nb = 1\n"
    machine = recognise([read("hen.conf", text.encode(), "sectioned")])
    doubt = Doubt(Place("hen.conf", line, 1), "", "", "")
    assert {number for number in (1, 2) if _may_be_of(machine, doubt, number)} == may_be_of


def warned(plan: Plan) -> list[tuple[str, str]]:
    """Whose changes are warned of with their other half, and what is said."""
    return [
        (change.holder, each.partition(" is a question")[0])
        for change in plan.changes
        for each in change.warnings
        if "belong together" in each
    ]
