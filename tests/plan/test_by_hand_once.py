"""What is said to be a value that only a person sets is asked by what to write there, and no more once it stands there."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FILE = "[drive]\nmm per motor turn = 32.5\n[filament switch]\nleft = {left}\n"
SITE = 'site: 1\nmeanings:\n  "[filament switch] left": runout.distance\n'
SHEET = """\
old: {drive: tube-fed, filament_behind_sensor: 615 mm}
new: {drive: on the carriage, feed_per_turn: 5.4 mm, path_length: 61 mm, filament_behind_sensor: 89 mm}
"""


@pytest.mark.parametrize(("left", "asked"), [("615", True), ("89", False)])
def test_the_question_names_the_value_and_ends_with_it(left: str, asked: bool, tmp_path: Path) -> None:
    (tmp_path / "tern").mkdir()
    (tmp_path / "tern" / "tern.conf").write_text(FILE.format(left=left))
    (tmp_path / "tern" / "cfgmigrate.yaml").write_text(SITE)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "tern", tmp_path / "swap.yaml", out=tmp_path / "packet", browsed=False).plan
    found = [doubt for doubt in plan.doubts if doubt.place.line == 4]
    assert bool(found) == asked
    for doubt in found:
        assert "by hand" in doubt.remedy and "89" in doubt.remedy and "cfgmigrate.yaml" not in doubt.remedy
