"""A picture is drawn only from numbers of the plan, says all of them as text, and comes out the same."""

from __future__ import annotations

import io
import re
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace
from rich.console import Console

from cfgmigrate.plan.model import Plan
from cfgmigrate.reports.curve import curve, finding_of, points
from cfgmigrate.reports.markdown import render_markdown
from cfgmigrate.reports.picture_text import CURRENT, pictured
from cfgmigrate.reports.pictures import _drawn, draw
from cfgmigrate.reports.svg import COLOURS
from cfgmigrate.reports.terminal import show_full
from cfgmigrate.rules.result import Derivation


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
        used = {name for name in classes if name in COLOURS}
        assert "ink" in used


def test_slack_is_told_from_compression_without_colour(wren: SimpleNamespace) -> None:
    give = ElementTree.fromstring(draw(wren.plan)[0].svg)
    hatch = give.find("defs/pattern")
    assert hatch is not None
    bars = [one for one in give.iter("rect") if "beam" in one.get("class", "").split()]
    hatched = [one.get("fill") == f"url(#{hatch.get('id')})" for one in bars]
    assert hatched == [True, False, True, False]


def test_every_path_has_at_least_two_points_as_a_browser_wants_it(wren: SimpleNamespace) -> None:
    for picture in draw(wren.plan):
        for path in ElementTree.fromstring(picture.svg).iter("path"):
            d = path.get("d", "")
            assert re.fullmatch(r"M \S+,\S+ L( ?\S+,\S+)+", d), d


def test_a_picture_comes_out_the_same_every_time(wren: SimpleNamespace) -> None:
    once = [picture.svg for picture in draw(wren.plan)]
    _drawn.cache_clear()
    assert [picture.svg for picture in draw(wren.plan)] == once


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


def test_what_the_pictures_show_is_told_in_the_terminal_and_in_markdown_too(wren: SimpleNamespace) -> None:
    out = io.StringIO()
    show_full(wren.plan, Console(file=out, width=100))
    terminal = " ".join(out.getvalue().split())
    text = " ".join(render_markdown(wren.plan, wren.before, wren.after, wren.packet_hash).split())
    told = 0
    for picture in draw(wren.plan):
        assert picture.title in terminal and f"### {picture.title}" in text
        for name, value in picture.numbers:
            assert f"{name}: {value}" in terminal
            assert f"{name} | {value} |" in text
            told += 1
    assert told > 15


def test_the_text_of_the_pictures_is_that_beside_them(wren: SimpleNamespace) -> None:
    drawn = [(picture.name, picture.title, picture.numbers) for picture in draw(wren.plan)]
    assert drawn == [(one.name, one.title, one.numbers) for one in pictured(wren.plan)]


def test_of_a_curve_its_values_beside_the_chosen_current_are_told(wren: SimpleNamespace) -> None:
    """Half of 0.45 A heats the winding by about a quarter of what 0.45 A does; the push goes with the current."""
    motor = next(one for one in pictured(wren.plan) if one.name == "motor")
    half = dict(motor.numbers)["At half that current, 0.225 A"]
    winding = float(re.search(r"winding temperature ([0-9.]+) °C", half)[1])  # type: ignore[index]
    assert 45 + 0.2 * (59.0 - 45) < winding < 45 + 0.26 * (59.0 - 45)
    assert "push force" in half and "At one and a half times that current, 0.675 A" in dict(motor.numbers)


def test_a_winding_that_would_get_hotter_without_end_has_no_temperature(wren: SimpleNamespace) -> None:
    finding = finding_of(wren.plan, "motor.winding_temperature")
    assert finding is not None and finding.value is not None
    chosen = 0.45
    one = replace(finding.derivation.inputs[0], name="const.one", value=1.0, unit="A", origin="constant: one")
    push = finding_of(wren.plan, "feeder.push_force")
    assert push is not None
    run = next(given for given in push.derivation.inputs if given.name in CURRENT)
    formula = f"1 / (1 - 2 * {run.name} / const.one)"
    falls = replace(
        finding,
        unit="",
        value=1 / (1 - 2 * chosen),
        derivation=replace(finding.derivation, formula=formula, inputs=(run, one)),
    )
    plan = replace(wren.plan, findings=(falls,))
    numbers = dict(next(one for one in pictured(plan) if one.name == "motor").numbers)
    assert numbers["At one and a half times that current, 0.675 A"] == "winding temperature without end"


def test_machines_that_are_alike_have_the_same_pictures_drawn_once(wren: SimpleNamespace) -> None:
    def elsewhere(derivation: Derivation) -> Derivation:
        moved = (
            given if given.origin.startswith("rule ") else replace(given, origin="other.yaml:99")
            for given in derivation.inputs
        )
        return replace(derivation, inputs=tuple(moved))

    other = replace(
        wren.plan,
        machine="Dunlin",
        sheet_path="other.yaml",
        changes=tuple(replace(one, derivation=elsewhere(one.derivation)) for one in wren.plan.changes),
        findings=tuple(replace(one, derivation=elsewhere(one.derivation)) for one in wren.plan.findings),
    )
    assert other != wren.plan
    assert all(one is two for one, two in zip(draw(wren.plan), draw(other), strict=True))
