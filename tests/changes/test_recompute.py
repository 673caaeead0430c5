"""The second opinion agrees with the engine, and notices every number that was altered."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.changes.recompute import recompute

SAMPLES = Path(__file__).parents[2] / "sample_configs"
MACHINES = sorted(
    path.name for path in SAMPLES.iterdir() if (SAMPLES / "sheets" / f"{path.name}.yaml").is_file()
)


@pytest.fixture(scope="module", params=MACHINES)
def document(request: pytest.FixtureRequest) -> dict[str, Any]:
    found = api.work_out([SAMPLES / request.param], SAMPLES / "sheets" / f"{request.param}.yaml")
    parsed: dict[str, Any] = json.loads(json.dumps(found.plan.to_json()))
    return parsed


def test_every_value_and_every_uncertainty_comes_out_the_same_by_the_second_way(
    document: dict[str, Any],
) -> None:
    assert recompute(document) == []


def test_every_altered_value_is_noticed(document: dict[str, Any]) -> None:
    for index, change in enumerate(document["changes"]):
        if change["unrounded"] is None:
            continue
        altered = copy.deepcopy(document)
        altered["changes"][index]["unrounded"] = change["unrounded"] * 1.01 + 1e-3
        assert recompute(altered), change["quantity"]


def test_every_altered_input_is_noticed(document: dict[str, Any]) -> None:
    for index, change in enumerate(document["changes"]):
        altered = copy.deepcopy(document)
        inputs = altered["changes"][index]["derivation"]["inputs"]
        if not inputs or inputs[0]["value"] is None or "min(" in change["derivation"]["formula"]:
            continue
        inputs[0]["value"] = inputs[0]["value"] * 1.01 + 1e-3
        assert recompute(altered), change["quantity"]


def test_a_formula_that_is_no_arithmetic_is_a_finding_and_is_not_run(document: dict[str, Any]) -> None:
    altered = copy.deepcopy(document)
    altered["changes"][0]["derivation"]["formula"] = "__import__('os').getcwd()"
    assert any("cannot be worked out again" in problem for problem in recompute(altered))
