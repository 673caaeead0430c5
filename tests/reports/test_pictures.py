"""A picture is drawn only from numbers of the plan, says all of them as text, and comes out the same."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

from cfgmigrate.changes.plan import Plan
from cfgmigrate.reports.curve import curve, finding_of, points
from cfgmigrate.reports.pictures import CURRENT, draw
from cfgmigrate.reports.svg import COLOURS


def without(plan: Plan, *rules: str) -> Plan:
    return replace(plan, findings=tuple(one for one in plan.findings if one.rule not in rules))


def names(plan: Plan) -> list[str]:
    return [picture.name for picture in draw(plan)]


def test_three_pictures_are_drawn_where_all_their_numbers_are_known(wren: SimpleNamespace) -> None:
    assert names(wren.plan) == ["give", "motor", "height"]


def test_a_picture_whose_numbers_are_missing_is_not_drawn(wren: SimpleNamespace, empty: Plan) -> None:
    assert names(without(wren.plan, "path.slack_new")) == ["motor", "height"]
    heat = ("motor.winding_temperature", "motor.case_temperature", "feeder.push_force")
    assert names(without(wren.plan, *heat)) == ["give", "height"]
    assert names(empty) == []


def test_a_picture_is_well_formed_has_a_title_and_a_description(wren: SimpleNamespace) -> None:
    for picture in draw(wren.plan):
        root = ElementTree.fromstring(picture.svg)
        title, description = root.find("title"), root.find("desc")
        assert title is not None and title.text == picture.title
        assert description is not None and description.text
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"


def test_a_picture_holds_no_style_no_link_to_outside_and_only_the_pages_colours(
    wren: SimpleNamespace,
) -> None:
    for picture in draw(wren.plan):
        assert "style" not in picture.svg
        assert "http" not in picture.svg
        assert "metadata" not in picture.svg
        for colour in re.findall(r'(?:fill|stroke)="(#[0-9a-fA-F]{6})"', picture.svg):
            pytest.fail(f"{picture.name} has a colour of its own: {colour}")
        classes = set(re.findall(r"(?:fill|stroke)-(\w+)", picture.svg)) - {"opacity", "rule", "miterlimit"}
        used = {name for name in classes if name in COLOURS.values()}
        assert "ink" in used


def test_a_picture_comes_out_the_same_every_time(wren: SimpleNamespace) -> None:
    assert [picture.svg for picture in draw(wren.plan)] == [picture.svg for picture in draw(wren.plan)]


def test_ids_within_the_pictures_do_not_meet(wren: SimpleNamespace) -> None:
    ids = [found for picture in draw(wren.plan) for found in re.findall(r' id="([^"]+)"', picture.svg)]
    assert len(ids) == len(set(ids))
    for picture in draw(wren.plan):
        for target in re.findall(r'(?:href="#|url\(#)([^")]+)', picture.svg):
            assert target in ids


def test_the_numbers_of_a_picture_stand_beside_it_as_text(wren: SimpleNamespace) -> None:
    give, motor, height = draw(wren.plan)
    assert ("Give of the old path", "1.84 ± 0.35 mm") in give.numbers
    assert ("Temperature of the winding", "59.0 ± 3.6 °C") in motor.numbers
    assert ("Most that the driver delivers", "0.56 A") in motor.numbers
    assert dict(height.numbers) == {"Before": "200 mm", "After": "186.5 mm", "Found clear up to": "188.5 mm"}


def test_a_curve_goes_through_the_plans_own_point(wren: SimpleNamespace) -> None:
    for rule in ("motor.winding_temperature", "motor.case_temperature", "feeder.push_force"):
        found = curve(wren.plan, rule, CURRENT, 0.45, "A")
        finding = finding_of(wren.plan, rule)
        assert found is not None and finding is not None
        assert found.at(0.45) == pytest.approx(finding.value, rel=1e-9)


def test_the_heat_curve_is_the_closed_form(wren: SimpleNamespace) -> None:
    """T = (T_a + p (1 − α T_20)) / (1 − α p) in °C, p from the rated rise: worked out here by itself.

    α = 1/(234.5 + 20) rounded to 0.00393 /K (sources.md, IEC 60034-1); the rise of 80 K is common practice, no source.
    """
    found = curve(wren.plan, "motor.winding_temperature", CURRENT, 0.45, "A")
    assert found is not None
    for current in (0.2, 0.45, 0.7):
        power = 80 * current**2 / (1 + 0.00393 * (25 + 80 - 20))
        expected = 45 + power * (1 + 0.00393 * (45 - 20)) / (1 - 0.00393 * power)
        assert found.at(current) == pytest.approx(expected, abs=1e-6)


def test_a_formula_that_does_not_give_the_findings_value_gives_no_curve(wren: SimpleNamespace) -> None:
    finding = finding_of(wren.plan, "feeder.push_force")
    assert finding is not None and finding.value is not None
    wrong = replace(finding, value=finding.value * 1.01)
    plan = replace(without(wren.plan, "feeder.push_force"), findings=(*wren.plan.findings[:-1], wrong))
    assert curve(plan, "feeder.push_force", CURRENT, 0.45, "A") is None


def test_a_finding_that_does_not_rest_on_the_current_gives_no_curve(wren: SimpleNamespace) -> None:
    assert curve(wren.plan, "path.give_old", CURRENT, 0.45, "A") is None


def test_where_a_formula_has_no_value_the_curve_has_a_gap(wren: SimpleNamespace) -> None:
    finding = finding_of(wren.plan, "feeder.push_force")
    assert finding is not None
    odd = replace(
        finding,
        value=1.0,
        unit="",
        derivation=replace(finding.derivation, formula="0.45 / motor.run_current"),
    )
    odd = replace(
        odd,
        derivation=replace(odd.derivation, formula="0.45 * 0.45 / (motor.run_current * motor.run_current)"),
    )
    plan = replace(wren.plan, findings=(odd,))
    found = curve(plan, "feeder.push_force", CURRENT, 0.45, "A")
    assert found is None or [value for value, _ in points(found, [0.0, 0.45])] == [0.45]
