"""One card for each thing that a person looks at: nothing of a rule is left out, and every report shows all of it."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.plan.model import ByHand, Plan
from cfgmigrate.reports.card import Kind, cards_of, in_order
from cfgmigrate.reports.item_text import by_hand_value
from cfgmigrate.reports.markdown import render_markdown
from cfgmigrate.reports.overview import alarms
from cfgmigrate.reports.page import render_page
from cfgmigrate.reports.practice import LEGEND, MARK, marked

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
MACHINES = sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml"))


@pytest.fixture(scope="module", params=MACHINES)
def sample(request: pytest.FixtureRequest) -> Any:
    return api.work_out([SAMPLES / request.param], SAMPLES / "sheets" / f"{request.param}.yaml")


def texts_of_rules(plan: Plan) -> list[str]:
    """What the rules that spoke warn of and how they say it is checked, wherever the plan keeps it."""
    found = []
    told = plan.to_json()
    for said in (*told["changes"], *told["by_hand"], *told["findings"]):
        found += [*said.get("warnings", ()), *said.get("cautions", ()), said.get("verify", "")]
    return [text for text in found if text]


def test_every_text_of_a_rule_that_spoke_is_in_the_packets_pages(sample: Any) -> None:
    """Law 14."""
    import html

    def words(text: str) -> str:
        return "".join(text.replace("\\", "").split())

    page = render_page(sample.plan, sample.before, sample.after, "0" * 64)
    said = {
        "changes.md": words(render_markdown(sample.plan, sample.before, sample.after, "0" * 64)),
        "changes.html": words(html.unescape(page.replace("<wbr>", ""))),
    }
    texts = texts_of_rules(sample.plan)
    assert texts
    for name, whole in said.items():
        assert [text for text in texts if words(marked(text).replace("\\", "")) not in whole] == [], name


def test_each_item_of_a_plan_has_one_card_with_a_number_of_its_own(sample: Any) -> None:
    cards, plan = cards_of(sample.plan), sample.plan
    assert len(cards.all) == len(plan.changes) + len(plan.by_hand) + len(plan.findings) + len(plan.doubts)
    assert len({card.number for card in cards.all}) == len(cards.all)
    for kind, those in zip(Kind, (cards.changes, cards.by_hand, cards.findings, cards.doubts), strict=True):
        assert [card.number for card in those] == [f"{kind.value}{n}" for n in range(1, len(those) + 1)]


def test_of_one_holder_what_a_warning_is_of_stands_first(sample: Any) -> None:
    by_holder: dict[str, list[bool]] = {}
    for card in cards_of(sample.plan).changes:
        by_holder.setdefault(card.holder, []).append(bool(card.warnings))
    for holder, warned in by_holder.items():
        assert warned == sorted(warned, reverse=True), holder


def test_a_legend_explains_the_names_in_the_order_in_which_the_formula_has_them(sample: Any) -> None:
    for card in cards_of(sample.plan).all:
        if card.calculation and card.calculation.formula:
            formula = card.calculation.formula
            places = [formula.find(given.name) for given in card.calculation.legend]
            within = [place for place in places if place >= 0]
            assert within == sorted(within), card.number


def test_the_order_of_the_cards_does_not_hang_on_the_order_of_the_files(wren: SimpleNamespace) -> None:
    turned = replace(wren.plan, changes=tuple(reversed(wren.plan.changes)))
    kept = {change.quantity for change in in_order(wren.plan.changes)}
    assert {change.quantity for change in in_order(turned.changes)} == kept
    assert in_order(turned.changes)[0].warnings and in_order(wren.plan.changes)[0].warnings


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("constant: common practice, no source", f"constant {MARK}"),
        ("constant: common practice, no source: enough to flush", f"constant {MARK}: enough to flush"),
        ("Common practice, no source: 5 to 6 mm", f"{MARK} 5 to 6 mm"),
        ("it is common practice, no source, for a tube", f"it is {MARK}, for a tube"),
        ("the driver's data sheet", "the driver's data sheet"),
    ],
)
def test_what_has_no_source_is_marked_and_the_mark_explained_once(said: str, shown: str) -> None:
    assert marked(said) == shown
    assert "no source" in LEGEND


def test_no_report_repeats_that_a_fact_has_no_source(sample: Any) -> None:
    text = render_markdown(sample.plan, sample.before, sample.after, "0" * 64)
    assert "ractice, no source" not in text
    assert text.count(LEGEND) == 1


@pytest.mark.parametrize(
    ("what", "shown"),
    [
        ("Set it to about 0.38 V with its screw.", ""),
        ("Set it to 0.389 ± 0.048 V.", ""),
        ("Set it.", "0.389 V"),
    ],
)
def test_a_figure_that_a_step_by_hand_tells_is_not_told_behind_it_again(what: str, shown: str) -> None:
    step = ByHand(what, 0.389, "V", "why", text="0.389 ± 0.048 V", uncertainty=0.048)
    assert by_hand_value(step) == shown


def test_warnings_that_differ_in_their_numbers_alone_are_one() -> None:
    texts = (
        "The files keep the old end at −2 mm.",
        "The files keep the old end at −3.5 mm.",
        "Another thing.",
    )
    hands = tuple(
        ByHand(f"Measure the edge of {number}", None, "", "", warnings=(text,))
        for number, text in enumerate(texts)
    )
    told = alarms(cards_of(Plan("", (), "", "", "", by_hand=hands)))
    assert [(each.number, each.about, each.text) for each in told] == [
        ("H1, H2", "Measure the edge of 0 and 1", "The files keep the old end at −2 and −3.5 mm."),
        ("H3", "Measure the edge of 2", "Another thing."),
    ]
