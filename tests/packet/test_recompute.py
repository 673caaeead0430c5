"""The second opinion agrees with the engine, and notices every number that was altered."""

from __future__ import annotations

import copy
import json
import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.machine.whole_numbers import BY_HEAD, BY_NUMBERS
from cfgmigrate.packet.recompute import recompute
from cfgmigrate.plan.encoding import TYPED
from cfgmigrate.plan.identity import name_of

SAMPLES = Path(__file__).parents[2] / "sample_configs"
MACHINES = sorted(
    path.name for path in SAMPLES.iterdir() if (SAMPLES / "sheets" / f"{path.name}.yaml").is_file()
)


#: working a whole plan out once for each of its inputs takes long: with one sample in the quick tier
SMALLEST_FIRST = [
    pytest.param(name, marks=() if name == "knot" else pytest.mark.exhaustive) for name in MACHINES
]


@lru_cache
def plan_of(machine: str) -> str:
    found = api.work_out([SAMPLES / machine], SAMPLES / "sheets" / f"{machine}.yaml")
    return json.dumps(found.plan.to_json())


@pytest.fixture
def document(machine: str) -> dict[str, Any]:
    parsed: dict[str, Any] = json.loads(plan_of(machine))
    return parsed


@pytest.mark.parametrize("machine", MACHINES)
def test_every_value_and_every_uncertainty_comes_out_the_same_by_the_second_way(
    document: dict[str, Any],
) -> None:
    assert recompute(document) == []


@pytest.mark.parametrize("recommended", ["40", "60"])
def test_what_a_profile_holds_below_the_machine_s_value_rests_on_the_machine_s(
    tmp_path: Path, recommended: str
) -> None:
    """Whether that is written or stays."""
    profiles = tmp_path / "filaments"
    profiles.mkdir()
    (tmp_path / "m.conf").write_text(
        "[feeder]\nsteps_per_mm = 94.1\nmax_feed_speed = 60\n[x axis]\nmax = 200\n"
    )
    (profiles / "soft.conf").write_text("filament = soft\nnozzle_temperature = 228\nmax_feed_speed = 50\n")
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(f"new: {{steps_per_mm: 430 1/mm, recommended_feed_speed: {recommended} mm/s}}\n")
    plan = api.work_out([tmp_path], sheet).plan.to_json()
    assert "rule feeder.max_speed" in json.dumps(plan) and recompute(plan) == []


@pytest.mark.parametrize("machine", SMALLEST_FIRST[::2])
def test_every_altered_value_is_noticed(document: dict[str, Any]) -> None:
    """All at once: nothing is worked out from a recorded value, so each is told of by its own name."""
    altered = []
    for change in document["changes"]:
        if change["unrounded"] is not None:
            change["unrounded"] = change["unrounded"] * 1.01 + 1e-3
            name = name_of(change["rule"], change["holder"])
            altered.append(f"{name}: recorded as {change['unrounded']:.9g} ")
    problems = recompute(document)
    assert altered
    for beginning in altered:
        assert any(problem.startswith(beginning) for problem in problems), beginning


@pytest.mark.parametrize("machine", SMALLEST_FIRST[::2])
def test_the_first_input_of_every_change_without_a_choice_is_noticed_when_altered(
    document: dict[str, Any],
) -> None:
    """What a `min` or `max` passes over can't be seen by working out; `tests/workflow/test_every_field.py` sees all."""
    for index, change in enumerate(document["changes"]):
        altered = copy.deepcopy(document)
        inputs = altered["changes"][index]["derivation"]["inputs"]
        if not inputs or inputs[0]["value"] is None or "min(" in change["derivation"]["formula"]:
            continue
        inputs[0]["value"] = inputs[0]["value"] * 1.01 + 1e-3
        assert recompute(altered), change["quantity"]


def results(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        each
        for each in (*document["changes"], *document["findings"], *document["by_hand"])
        if each.get("derivation") and each.get("unrounded", each.get("value")) is not None
    ]


@pytest.mark.parametrize("machine", SMALLEST_FIRST)
def test_every_altered_uncertainty_is_noticed(document: dict[str, Any]) -> None:
    names = []
    for item in results(document):
        holder = item.get("new", item)
        holder["uncertainty"] = 1.1 * holder["uncertainty"] or 0.1 * abs(holder["value"] or 0.0) + 1e-3
        names.append(name_of(item["rule"], item["holder"]))
    problems = recompute(document)
    for name in names:
        assert any(problem.startswith(f"{name}: uncertainty") for problem in problems), name


@pytest.mark.parametrize("machine", SMALLEST_FIRST)
@pytest.mark.parametrize("side", [1, -1])
def test_every_value_written_otherwise_than_rounded_is_noticed(document: dict[str, Any], side: int) -> None:
    """Within the uncertainty too: only the stated rounding may stand between what was worked out and what is written."""
    names = []
    for change in document["changes"]:
        unrounded = change["unrounded"]
        if change["new"]["value"] is not None and unrounded is not None:
            step = 1.5 * TYPED.get(change["unit"], 0.0)  # a limit may be set in such steps
            away = max(change["new"]["uncertainty"], 0.02 * abs(unrounded), 1e-3, step)
            change["new"]["value"] = unrounded + side * away
            names.append(change["id"])
    problems = recompute(document)
    assert names
    for name in names:
        assert any(problem.startswith(f"{name}: written as") for problem in problems), name


@pytest.mark.parametrize("machine", ["knot"])
@pytest.mark.parametrize("said", ["", "rounded", "rounded to taste", "rounded to -1 mm"])
def test_a_rounding_that_says_nothing_is_noticed(document: dict[str, Any], said: str) -> None:
    altered = copy.deepcopy(document)
    change = next(each for each in altered["changes"] if each["unrounded"] is not None)
    change["rounding"] = said
    assert any("is no rounding" in problem for problem in recompute(altered))


@pytest.mark.parametrize("machine", ["knot"])
def test_what_was_not_worked_out_has_no_rounding_to_look_at(document: dict[str, Any]) -> None:
    """A choice, say, or several stages."""
    for change in document["changes"]:
        change["unrounded"] = change["new"]["value"] = None
    assert not [fault for fault in recompute(document) if "round" in fault]


@pytest.mark.parametrize("machine", ["knot"])
def test_a_result_that_is_there_twice_is_noticed(document: dict[str, Any]) -> None:
    for group in ("changes", "findings", "by_hand"):
        for item in document[group][:1]:
            altered = copy.deepcopy(document)
            altered[group].append(copy.deepcopy(item))
            assert any("2 times" in problem for problem in recompute(altered))


@pytest.mark.parametrize("machine", ["knot"])
@pytest.mark.parametrize("origin", ["rule no.such", "", "somewhere", "frame.conf", "constant:", "rule"])
def test_an_origin_that_leads_nowhere_is_noticed(document: dict[str, Any], origin: str) -> None:
    altered = copy.deepcopy(document)
    next(each for each in results(altered) if each["derivation"]["inputs"])["derivation"]["inputs"][0][
        "origin"
    ] = origin
    assert any("comes from" in problem for problem in recompute(altered))


@pytest.mark.parametrize("machine", MACHINES)
def test_a_formula_that_is_no_arithmetic_is_a_finding_and_is_not_run(document: dict[str, Any]) -> None:
    altered = copy.deepcopy(document)
    altered["changes"][0]["derivation"]["formula"] = "__import__('os').getcwd()"
    assert any("cannot be worked out again" in problem for problem in recompute(altered))


def finding(
    rule: str, formula: str, unit: str = "", inputs: list[dict[str, Any]] | None = None
) -> dict[str, Any]:
    derivation = {"formula": formula, "inputs": inputs or []}
    return {"rule": rule, "value": 1.0, "uncertainty": 0.0, "unit": unit, "derivation": derivation}


def of_rules(*findings: dict[str, Any]) -> dict[str, Any]:
    return {"changes": [], "by_hand": [], "findings": list(findings)}


@pytest.mark.parametrize(
    ("formula", "unit"),
    [
        ("1", "9**9**9**9"),
        ("1", "m**9**9**9"),
        ("1", "m^99999"),
        ("1", "(m)"),
        ("9^9^9^9", ""),
        ("-" * 9000 + "1", ""),
        ("1" + "+1" * 4900, ""),
        ("1" + "+1" * 100_000, ""),
        ("9" * 5000, ""),
        ("max()", ""),
    ],
)
def test_a_formula_or_a_unit_made_to_take_for_ever_is_a_finding(formula: str, unit: str) -> None:
    (problem,) = recompute(of_rules(finding("r", formula, unit)))
    assert problem.startswith("r: cannot be worked out again")


def test_a_formula_longer_than_any_is_not_even_parsed() -> None:
    formula = f"max(1{', 1' * 4000})"
    (problem,) = recompute(of_rules(finding("r", formula)))
    assert problem == "r: cannot be worked out again: the formula is too long"


def written(text: str, rounding: str, uncertainty: float = 0.3) -> list[str]:
    """What is said of a change that was worked out as 0.612 mm and stands in the file as `text`."""
    new = {"value": float(text), "uncertainty": uncertainty, "text": text}
    change = {
        "quantity": "retraction.length",
        "unit": "mm",
        "unrounded": 0.612,
        "new": new,
        "rounding": rounding,
    }
    return [each for each in recompute({"changes": [change]}) if "written" in each]


def test_a_large_uncertainty_allows_no_other_rounding_than_the_stated_one() -> None:
    assert written("0.61", "rounded to 0.01 mm") == []
    assert written("0.6", "rounded to 0.1 mm") == []
    assert written("0.62", "rounded to 0.01 mm, to the safe side") == []
    for text, rounding in (
        ("0.62", "rounded to 0.01 mm"),
        ("0.60", "rounded to 0.01 mm"),
        ("0.7", "rounded to 0.1 mm"),
        ("0.63", "rounded to 0.01 mm, to the safe side"),
    ):
        assert written(text, rounding), (text, rounding)


@pytest.mark.parametrize("unit", [" mm", "°", "%"])
def test_a_unit_may_stand_right_behind_the_step_of_a_rounding(unit: str) -> None:
    assert written("0.6", f"rounded to 0.1{unit}") == []
    change = {
        "quantity": "feeder.full_steps",
        "unit": "1",
        "unrounded": 400.0,
        "rounding": f"rounded to 0.1{unit}",
    }
    change["new"] = {"value": 400.0, "uncertainty": 0.0, "text": "0.9"}
    assert recompute({"changes": [change]}) == []


@pytest.mark.parametrize(("text", "right"), [("1740", True), ("1760", True), ("1700", False)])
def test_what_is_kept_within_a_limit_may_be_lower_by_the_step_in_which_limits_are_set(
    text: str, right: bool
) -> None:
    change = {
        "quantity": "retraction.speed",
        "unit": "mm/s",
        "unrounded": 29.4,
        "new": {"value": float(text) / 60, "uncertainty": 0.0, "text": text},
        "rounding": "rounded to 10 mm/min, to the safe side",
        "form": {"unit": "mm/min"},
        "derivation": {"formula": "min(a, b)", "inputs": []},
    }
    spoken = [each for each in recompute({"changes": [change]}) if "written" in each]
    assert (spoken == []) is right


@pytest.mark.parametrize(
    ("formula", "text", "right"),
    [
        ("min(a, b)", "0.61", True),
        ("min(a, b)", "0.60", True),
        ("min(a, b)", "0.59", False),
        ("a + b", "0.61", True),
        ("a + b", "0.60", False),
    ],
)
def test_what_is_kept_within_a_limit_may_be_rounded_down_twice_and_nothing_else_may(
    formula: str, text: str, right: bool
) -> None:
    change = {
        "quantity": "retraction.length",
        "unit": "mm",
        "unrounded": 0.612,
        "new": {"value": float(text), "uncertainty": 0.3, "text": text},
        "rounding": "rounded to 0.01 mm, to the safe side",
        "derivation": {"formula": formula, "inputs": []},
    }
    assert ([each for each in recompute({"changes": [change]}) if "written" in each] == []) is right


def test_there_is_a_step_for_each_file_that_other_machines_read() -> None:
    steps = [
        {"what": f"write {each}", "rule": "files.of_others", "value": None} for each in ("a.conf", "b.conf")
    ]
    assert recompute({"changes": [], "by_hand": steps}) == []


def test_a_stated_rounding_coarser_than_the_uncertainty_is_none() -> None:
    assert written("0.6", "rounded to 0.1 mm", uncertainty=0.001)


@pytest.mark.parametrize(("unit", "ok"), [("1/32 of 1.8 A rms", True), ("A rms", False)])
def test_what_counts_in_parts_of_a_unit_is_a_whole_number_of_them(unit: str, ok: bool) -> None:
    step = 1.8 / 32
    change = {
        "quantity": "motor.hold_current",
        "unit": "A",
        "unrounded": 5.49 * step,
        "new": {"value": 5 * step, "uncertainty": 0.0, "text": "5"},
        "rounding": f"rounded to 1 {unit}, to the safe side",
        "form": {"unit": unit, "factor": step},
    }
    assert ([each for each in recompute({"changes": [change]}) if "written" in each] == []) is ok


@pytest.mark.parametrize(("by", "ok"), [(BY_HEAD, True), (BY_NUMBERS, True), ("", False)])
def test_a_number_of_a_file_of_whole_numbers_is_cut_to_one(by: str, ok: bool) -> None:
    change = {
        "quantity": "axis.z.max",
        "unit": "mm",
        "unrounded": 229.6,
        "new": {"value": 229.0, "uncertainty": 0.0, "text": "229"},
        "rounding": "rounded to 1 mm, to the safe side",
        "form": {"unit": "mm", "whole": by},
    }
    assert ([each for each in recompute({"changes": [change]}) if "written" in each] == []) is ok


def test_results_that_rest_on_each_other_in_many_ways_are_worked_out_once_each() -> None:
    def after(rule: str, twice: str) -> dict[str, Any]:
        of = {"value": 1.0, "unit": "", "uncertainty": 0.0, "origin": f"rule {twice}"}
        return finding(rule, "a.a * a.b", "", [{"name": "a.a", **of}, {"name": "a.b", **of}])

    chain = [finding("r0", "1"), *(after(f"r{n}", f"r{n - 1}") for n in range(1, 60))]
    assert recompute(of_rules(*chain)) == []
    ring = [after("r0", "r1"), after("r1", "r0")]
    assert len(recompute(of_rules(*ring))) == 2


def test_more_work_than_any_packet_asks_for_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cfgmigrate.packet.recompute.MOST_FORMULAS", 10)
    problems = recompute(of_rules(*(finding(f"r{n}", "1") for n in range(50))))
    assert problems == ["r10: cannot be worked out again: it takes more than 10 formulas"]


def number(
    name: str, value: float, uncertainty: float = 0.0, unit: str = "", origin: str = "a.conf:1"
) -> dict[str, Any]:
    return {"name": name, "value": value, "unit": unit, "uncertainty": uncertainty, "origin": origin}


def result(
    rule: str, formula: str, value: float, uncertainty: float, *inputs: dict[str, Any]
) -> dict[str, Any]:
    return {**finding(rule, formula, "", list(inputs)), "value": value, "uncertainty": uncertainty}


@pytest.mark.parametrize(
    ("formula", "value"),
    [
        ("2 + 3 * 4", 14), ("2 - 3", -1), ("7 / 2", 3.5), ("2^3", 8), ("-2 + 5", 3), ("pi", math.pi),
        ("sqrt(9)", 3), ("exp(1)", math.e), ("abs(2 - 5)", 3), ("abs(5 - 2)", 3),
        ("floor(2.9)", 2), ("floor(2.9999999999)", 3), ("ceil(2.1)", 3), ("ceil(2.0000000001)", 2),
        ("min(4, 2, 3)", 2), ("max(2, 4, 3)", 4),
    ],
)  # fmt: skip
def test_what_a_formula_comes_to_is_what_it_says_and_no_other_number(formula: str, value: float) -> None:
    assert recompute(of_rules(result("r", formula, value, 0.0))) == []
    for other in (value * (1 + 1e-6), -value, value + 1):
        (problem,) = recompute(of_rules(result("r", formula, other, 0.0)))
        assert problem.startswith(f"r: recorded as {other:.9g} , works out as {value:.9g} ")


def test_a_bare_zero_takes_the_unit_of_its_neighbours_and_units_are_converted() -> None:
    lengths = [number("a.b", 5.0, unit="mm"), number("c.d", 2.0, unit="cm")]
    for formula, value in (("max(0, a.b - c.d)", 0.0), ("max(0, c.d - a.b)", 15.0), ("c.d / 2", 10.0)):
        item = {**result("r", formula, value, 0.0, *lengths), "unit": "mm"}
        assert recompute(of_rules(item)) == []
        assert len(recompute(of_rules({**item, "unit": "s"}))) == 1


@pytest.mark.parametrize(
    ("formula", "uncertainties"),
    [
        ("a.b * c.d", {0.5: True, 0.504: True, 0.496: True, 0.506: False, 0.494: False}),
        ("a.b + c.d", {0.05**0.5: True, 0.3: False}),
        ("min(a.b, 2)", {0.0: True, 0.1: True, 0.2: False}),
        ("min(a.b, 1)", {0.0: True, 0.1: False}),
    ],
)
def test_an_uncertainty_is_that_of_the_numbers_behind_it(
    formula: str, uncertainties: dict[float, bool]
) -> None:
    """By hand: 2.0 ± 0.1 times 3.0 ± 0.2 is 6.0 ± √((3·0.1)² + (2·0.2)²) (GUM, JCGM 100:2008, 5.1.2). Where a `min`
    turns over right at the value, either slope is right."""
    given = [number("a.b", 2.0, 0.1), number("c.d", 3.0, 0.2)]
    value = {"a.b * c.d": 6.0, "a.b + c.d": 5.0, "min(a.b, 2)": 2.0, "min(a.b, 1)": 1.0}[formula]
    for uncertainty, right in uncertainties.items():
        problems = recompute(of_rules(result("r", formula, value, uncertainty, *given)))
        assert (problems == []) is right, uncertainty
        assert right or problems[0].startswith("r: uncertainty recorded as")


def test_what_two_inputs_have_in_common_counts_once() -> None:
    one = result("one", "a.b * 2", 4.0, 0.2, number("a.b", 2.0, 0.1))
    two = result("two", "a.b * 3", 6.0, 0.3, number("a.b", 2.0, 0.1))
    inputs = [number("one", 4.0, 0.2, origin="rule one"), number("two", 6.0, 0.3, origin="rule two")]
    inputs = [{**each, "name": f"x.{each['name']}"} for each in inputs]
    for uncertainty, problems in ((0.1, 0), (math.hypot(0.2, 0.3), 1)):
        last = result("last", "x.two - x.one", 2.0, uncertainty, *inputs)
        assert len(recompute(of_rules(one, two, last))) == problems


def test_an_input_is_what_the_rule_that_it_comes_from_comes_to() -> None:
    one = result("one", "2", 2.0, 0.0)
    for said, problems in ((2.0, 0), (2.1, 1)):
        last = result("last", "x.one", said, 0.0, number("x.one", said, origin="rule one"))
        found = recompute(of_rules(one, last))
        assert len(found) == problems and all("recorded as 2.1 but comes to 2" in each for each in found)


def test_a_line_that_is_called_as_a_rule_is_stands_for_what_the_file_has() -> None:
    line = result("a.conf:1", "2", 2.0, 0.0)
    last = result("last", "a.b", 2.1, 0.0, number("a.b", 2.1, origin="a.conf:1"))
    assert recompute(of_rules(line, last)) == []


def test_where_a_contribution_comes_from_is_looked_at_too() -> None:
    item = result("r", "a.b", 2.0, 0.1, number("a.b", 2.0, 0.1))
    item["derivation"]["contributions"] = [{"name": "a.b", "origin": "nowhere"}]
    assert recompute(of_rules(item)) == ["r: a.b comes from 'nowhere', which is no place"]
    for origin in (
        "a.conf:1",
        "a.conf:1, before the install",
        "a.conf:1, as it will be",
        "constant: pi",
        "table x: y",
    ):
        item["derivation"]["contributions"] = [{"name": "a.b", "origin": origin}]
        assert recompute(of_rules(item)) == []


def test_what_is_said_not_to_be_rounded_is_not() -> None:
    assert written("0.61206", "as it was") == []
    assert written("0.6121", "as it was")
    assert written("0.5", "as it was")


@pytest.mark.parametrize(
    ("exact", "text", "rounding", "right"),
    [
        (186.4, "186", "rounded to 1 mm/s, to the safe side", True),
        (186.4, "185", "rounded to 1 mm/s, to the safe side", False),
        (186.4, "186", "rounded to 1 mm/s", False),
        (10.0 + 4e-1, "10", "rounded to 1 mm/s, to the safe side", True),
        (10.0, "9.5", "rounded to 1 mm/s, to the safe side", True),
        (9.4, "9", "rounded to 1 mm/s, to the safe side", False),
    ],
)
def test_a_limit_may_be_set_in_the_steps_that_people_type(
    exact: float, text: str, rounding: str, right: bool
) -> None:
    new = {"value": float(text), "uncertainty": 0.01, "text": text}
    change = {
        "quantity": "axis.z.max_speed",
        "unit": "mm/s",
        "unrounded": exact,
        "new": new,
        "rounding": rounding,
    }
    assert (recompute({"changes": [change]}) == []) is right


def test_a_speed_that_is_kept_within_a_limit_of_another_unit_holds(tmp_path: Path) -> None:
    sheet = (SAMPLES / "sheets" / "knot.yaml").read_text() + "\ncontroller: {max_step_rate: 11 kHz}\n"
    (tmp_path / "swap.yaml").write_text(sheet)
    found = api.work_out([SAMPLES / "knot"], tmp_path / "swap.yaml").plan
    assert "retraction.speed" in {change.quantity for change in found.changes}
    assert recompute(json.loads(json.dumps(found.to_json()))) == []


@pytest.mark.parametrize(
    ("quantity", "exact", "text", "right"),
    [
        ("axis.z.max", 218.4, "218", True),
        ("axis.z.max", 218.4, "219", False),
        ("axis.z.max", 218.4, "218.5", False),
        ("axis.x.min", 2.6, "3", True),
        ("axis.x.min", 2.6, "2", False),
        ("mesh.from_x", 11.6, "12", True),
        ("mesh.from_x", 11.6, "11", False),
        ("mesh.to_y", 160.6, "160", True),
        ("mesh.to_y", 160.6, "161", False),
        ("machine.max_acceleration", 1730.0, "1731", False),
        ("feeder.max_feed_length", 96.4, "97", True),
        ("feeder.max_feed_length", 96.4, "96", False),
    ],
)
def test_a_limit_that_was_rounded_beyond_is_noticed(
    quantity: str, exact: float, text: str, right: bool
) -> None:
    change = {
        "quantity": quantity,
        "unit": "mm",
        "unrounded": exact,
        "new": {"value": float(text), "uncertainty": 1.0, "text": text},
        "rounding": "rounded to 1 mm, to the safe side",
        "form": {"unit": "mm", "whole": BY_HEAD},
    }
    assert (recompute({"changes": [change]}) == []) is right


def test_so_is_a_run_current() -> None:
    new = {"value": 0.63, "uncertainty": 0.0, "text": "0.63"}
    current = {
        "quantity": "motor.run_current",
        "unit": "A",
        "unrounded": 0.624,
        "new": new,
        "rounding": "rounded to 0.01 A, to the safe side",
    }
    assert any("written" in each for each in recompute({"changes": [current]}))
