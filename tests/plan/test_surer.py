"""What is promised of a better measurement is what comes of it."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.plan.surer import better_fields, budget_line, surer
from cfgmigrate.plan.unlocking import Workings
from cfgmigrate.rules import library
from cfgmigrate.rules.result import Contribution
from cfgmigrate.sheet.reader import read_sheet

SAMPLES = Path(__file__).parents[2] / "sample_configs"


def bench() -> Workings:
    return Workings(library.book(), api.read_machine([SAMPLES / "plover"])[1], library.tables())


def test_without_the_doubt_of_a_field_the_uncertainty_is_what_its_share_leaves() -> None:
    sheet, at = read_sheet(SAMPLES / "sheets" / "plover.yaml"), bench()
    before = at.stand(sheet).results
    looked_at = 0
    for result in before.values():
        for part in result.derivation.contributions:
            entry = sheet.entries.get(part.name)
            if entry is None or not entry.uncertainty or part.share < 0.2:
                continue
            exact = replace(sheet, entries={**sheet.entries, part.name: replace(entry, uncertainty=0.0)})
            then = at.stand(exact).results[result.rule]
            left = math.sqrt(max(0.0, 1 - part.share)) * result.uncertainty
            assert then.uncertainty == pytest.approx(left, rel=1e-6, abs=1e-9)
            looked_at += 1
    assert looked_at


def test_the_measurement_that_helps_most_comes_first_and_says_so() -> None:
    found = surer(bench(), read_sheet(SAMPLES / "sheets" / "plover.yaml"))
    assert found and [each.part for each in found] == sorted(each.part for each in found)
    assert all(each.text.startswith(("measure the ", "enter the ")) for each in found)


def test_a_budget_that_no_measurement_dominates_says_nothing() -> None:
    assert budget_line((), "feed") == ""
    assert budget_line((Contribution("const.push_force", "constant", 0.9),), "feed") == ""
    assert budget_line((Contribution("new.tube.length", "s.yaml:3", 0.1),), "feed") == ""
    said = budget_line((Contribution("new.tube.length", "s.yaml:3", 0.75),), "retraction")
    assert (
        said
        == "measure the new tube length better: were it known exactly, the ± of the retraction would be 50 % of what it is"
    )


def test_the_packet_says_what_would_make_a_value_surer(tmp_path: Path) -> None:
    packet = api.prepare(SAMPLES / "plover", SAMPLES / "sheets" / "plover.yaml", out=tmp_path / "packet")
    page = (packet.folder / "changes.md").read_text(encoding="utf-8")
    assert "To be surer" in page and "better: were it known exactly" in page


def test_explain_names_the_fields_that_open_the_best_way() -> None:
    rule = library.book().rule("retraction.length")
    assert rule is not None and better_fields(rule)
