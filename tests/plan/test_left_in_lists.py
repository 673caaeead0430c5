"""An entry of a list that is said to be nothing keeps its old value, where another entry changes: the light says so."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.model import LINES_LEFT, Plan

MACHINE = "feed:\n  full: 200\n  micro: 16\n  steps: 93.45\n"
LIST = (
    "rows:\n  - thread: pla oat\n    drawn: 5.2\n  - thread: petg fig\n    drawn: %s\nbasket:\n  drawn: 7.4\n"
)
SHEET = """old: {drive: tube-fed, path_length: 540 mm, tube: {length: 480 mm}}
new:
  drive: on the carriage
  path_length: 49 mm
  feed_per_turn: 4.682 mm
  motor: {step_angle: 1.8 deg, rated_current: 0.7 A, recommended_current: 0.54 A}
filament: {material: PLA, diameter: 1.75 mm}
"""


def prepared(folder: Path, monkeypatch: pytest.MonkeyPatch, second: str = "6.4", more: str = "") -> Plan:
    monkeypatch.chdir(folder)
    Path("m").mkdir()
    Path("m/m.yaml").write_text(MACHINE)
    Path("m/list.yaml").write_text(LIST % second)
    Path("m/cfgmigrate.yaml").write_text(
        'site: 1\nroles: {m.yaml: in force, list.yaml: in force}\nmeanings:\n  "[rows.0] drawn": retraction.length\n'
        f'  "[rows.1] drawn": ignore\n{more}'
    )
    Path("sheet.yaml").write_text(SHEET)
    return api.prepare("m", "sheet.yaml", out="packet").plan


def told(plan: Plan) -> str:
    return " ".join(step for item in plan.by_hand if item.rule == LINES_LEFT for step in item.steps)


def test_an_entry_that_is_said_to_be_nothing_is_named_and_the_light_is_not_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = prepared(tmp_path, monkeypatch)
    assert ("list.yaml", 3) in {(edit.file, edit.line) for change in plan.changes for edit in change.edits}
    light = next(each for each in plan.lights if each.light == "retraction")
    assert light.state == "by hand"
    assert "list.yaml:5" in light.why and "keeps the old retraction length" in light.why
    assert "list.yaml:5" in told(plan)


def test_an_entry_that_holds_the_new_value_already_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = prepared(tmp_path, monkeypatch, second="0.5")
    light = next(each for each in plan.lights if each.light == "retraction")
    assert light.state == "set" and "another entry" not in told(plan)


def test_the_same_key_outside_the_list_is_another_thing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = prepared(tmp_path, monkeypatch, second="0.5", more='  "[basket] drawn": ignore\n')
    light = next(each for each in plan.lights if each.light == "retraction")
    assert light.state == "set" and "basket" not in light.why
