"""What the measurements measure: texts that a dialect reads as its own, and tables at their place among the evidence."""

from __future__ import annotations

import pytest
from machines import configuration, text_of

from cfgmigrate.dialects import DIALECTS, detect

BEGIN, END = "<!-- figures: python -m tests.bench --write -->", "<!-- end of figures -->"


@pytest.mark.parametrize("name", sorted(DIALECTS))
def test_a_long_text_of_a_dialect_is_read_whole_in_it(name: str) -> None:
    text = text_of(name, 1_000)
    assert 1_000 <= text.count("\n") <= 1_010
    found = detect(text.encode())
    assert found is not None and found.name == name
    document = found.read("text", text.encode())
    assert len(document.settings) > 200
    assert not document.doubts


def test_a_configuration_has_the_lines_asked_for_in_four_files() -> None:
    files = configuration(1_000)
    assert len(files) == 4
    assert 1_000 <= sum(text.count("\n") for text in files.values()) < 1_040


def test_the_evidence_has_a_place_for_the_figures() -> None:
    from pathlib import Path

    readme = Path(__file__).with_name("README.md").read_text(encoding="utf-8")
    assert readme.count(BEGIN) == readme.count(END) == 1
    assert readme.index(BEGIN) < readme.index(END)
