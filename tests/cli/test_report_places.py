"""The record is written to a place of its own: never over a file that is there, and what can't be written is told."""

from __future__ import annotations

from pathlib import Path

import pytest
from commandline import Runner

WREN = Path(__file__).parents[2] / "sample_configs" / "wren"


@pytest.mark.parametrize("name", ["body.txt", "body.md", "body.txt/record.md"])
def test_a_file_that_is_there_is_no_place_for_the_record(cli: Runner, tmp_path: Path, name: str) -> None:
    there = tmp_path / name.partition("/")[0]
    there.write_text("mine")
    said = cli("report", WREN, "-o", tmp_path / name)
    assert said.status == 3 and str(there) in said.err
    assert there.read_text() == "mine"
