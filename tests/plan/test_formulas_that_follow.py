"""A formula that follows a changed number is told with what it comes to, and asked about where that can't be right."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.plan.formulas_apart import _is_right, questions
from cfgmigrate.plan.formulas_that_follow import Followed, NamedTexts, name_comes_to
from cfgmigrate.plan.model import Plan
from cfgmigrate.rules.result import Derivation, Result, Status
from cfgmigrate.sheet.model import Sheet

HEADER = """\
#define RETRACTION_MM 5.5f
#define TUBE_LEN 430
#define HOT_PART 40
#define LOAD_QUICK (TUBE_LEN - 20)
#define EYE_SENSOR_TO_TIP (TUBE_LEN + HOT_PART + 30)
#define HALVES (TUBE_LEN / 4)
#define WHOLE_LEN (TUBE_LEN + HOT_PART)
#define SENSOR_LEFT_OVER 20
#define HOT_ONLY (HOT_PART + 2)
#define RETRACTION_LENGTH_MM (HOT_PART / 8)
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 430 mm}}
new: {drive: on the carriage, path_length: 50 mm, tube: {length: 14 mm}, filament_behind_sensor: 500 mm}
"""


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    folder: Path = tmp_path_factory.mktemp("following")
    (folder / "egret").mkdir()
    (folder / "egret" / "egret.h").write_text(HEADER)
    (folder / "swap.yaml").write_text(SHEET)
    return api.prepare(folder / "egret", folder / "swap.yaml", out=folder / "packet", browsed=False).plan


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (4, "it follows TUBE_LEN and comes to -6 then, for 410 before: less than nothing"),
        (5, "comes to 84 then, for 500 before, and the sheet says 500 mm"),
    ],
)
def test_one_that_comes_to_what_can_t_be_right_is_asked_about(plan: Plan, line: int, said: str) -> None:
    (asked,) = [each for each in plan.doubts if each.place.line == line]
    assert said in asked.why and "in place of the formula by hand" in asked.remedy


def test_one_of_a_value_that_is_written_elsewhere_is_not_said_to_follow_and_its_light_is_unknown(
    plan: Plan,
) -> None:
    (asked,) = [each for each in plan.doubts if each.place.line == 10]
    assert "stays what it was" in asked.why and "egret.h:1 becomes" in asked.why
    (light,) = [each for each in plan.lights if each.name == "retraction"]
    assert light.state == "unknown" and "egret.h:10" in light.why


def test_the_others_are_told_with_their_number_and_what_does_not_follow_is_not(plan: Plan) -> None:
    told = [step for each in plan.by_hand for step in each.steps if "follows" in step]
    assert [step.partition(" (it ")[2] for step in told] == [
        "follows TUBE_LEN and comes to 3 then, for 107 before)",
        "follows TUBE_LEN and comes to 54 then, for 470 before)",
    ]


def test_what_is_left_over_behind_a_sensor_is_not_written_as_the_way_from_it(plan: Plan) -> None:
    assert "runout.distance" not in {each.quantity for each in plan.changes}
    assert [each.remedy for each in plan.doubts if each.place.line == 8] == [
        'say so in cfgmigrate.yaml, under meanings: "SENSOR_LEFT_OVER": runout.distance'
    ]


def test_another_question_about_the_line_of_a_formula_stays_as_it_is() -> None:
    setting = read("egret.h", b"#define LOAD_QUICK (TUBE_LEN - 20)\n", "header").settings[0]
    followed = Followed(read("egret.h", b"\n", "header"), setting, ("TUBE_LEN",), 410, 30)
    other = Doubt(Place("egret.h", 1), "LOAD_QUICK", "the words fit two things", "say which")
    assert list(questions([followed], [other], Sheet("swap.yaml", b""))) == [other]


@pytest.mark.parametrize(
    ("after", "down", "right"),
    [(381.1, False, True), (379.5, False, True), (291.0, False, False), (0.0, True, False), (None, True, False),
     (360.0, True, True), (360.0, False, False), (386.0, True, False), (200.0, True, False)],
)  # fmt: skip
def test_a_number_is_right_within_its_uncertainty_and_a_limit_a_little_to_the_safe_side(
    after: float | None, down: bool, right: bool
) -> None:
    worked_out = Result(
        "r", "axis.z.max", "", "mm", 381.1, 2.3, Status.COMPUTED, "w", Derivation("", "", (), "")
    )
    assert _is_right(after, 381.1, replace(worked_out, round_down=down)) is right


@pytest.mark.parametrize(("after", "said"), [(0.0, "comes to 0"), (None, "comes to no number")])
def test_one_of_which_a_part_becomes_nothing_is_not_said_to_be_left(after: float | None, said: str) -> None:
    setting = read("egret.h", b"#define PULL_SLOW (REACH / 4)\n", "header").settings[0]
    followed = Followed(read("egret.h", b"\n", "header"), setting, ("REACH",), 4, after, ("REACH",))
    asked = Doubt(Place(read("egret.h", b"", "header").path, 1), "PULL_SLOW", "", "leave the formula")
    (doubt,) = questions([followed], [asked], Sheet("swap.yaml", b""))
    assert f"{said} since REACH becomes 0" in doubt.why and doubt.remedy.startswith("write the number")


@pytest.mark.parametrize(("sign", "last", "comes_to"), [("+", "1", 40.0**6), ("*", "999", None)])
def test_names_that_rest_on_a_name_many_times_over_are_worked_out_once_and_to_no_monstrous_number(
    sign: str, last: str, comes_to: float | None
) -> None:
    texts = {f"A{at}": sign.join([f"A{at + 1}"] * 40) for at in range(6)}
    assert name_comes_to("A0", NamedTexts({**texts, "A6": last})) == comes_to
