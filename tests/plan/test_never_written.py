"""What is told in place of a value that is not written stands in the unit of its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

SHEET = """\
old: {drive: tube-fed, path_length: 560 mm, tube: {length: 470 mm, bore: 1.9 mm}}
new:
  drive: on the carriage
  gears_as_before: no
  motor_as_before: no
  recommended_feed_speed: 31.5 mm/s
  path_length: 52 mm
"""


@pytest.mark.parametrize(
    ("speed", "unit", "becomes"),
    [("2580", "mm/min", "1738.8 mm/min"), ("43", "mm/s", "28.98 mm/s")],
)
def test_a_person_is_told_to_write_a_speed_in_the_unit_in_which_its_line_was_read(
    tmp_path: Path, speed: str, unit: str, becomes: str
) -> None:
    (tmp_path / "sheet.yaml").write_text(SHEET)
    kept = tmp_path / "kept.nc"
    kept.write_text(
        f"; lengths mm\n; B71 feeder steps a mm\n; B73 retract: L length, V out\nB71 E411\nB73 L5.1 V{speed}\n"
    )
    plan = api.prepare(
        [kept], tmp_path / "sheet.yaml", out=tmp_path / "packet", dialects={str(kept): "command"}
    ).plan
    (doubt,) = (each for each in plan.doubts if "B73.V" in each.why)
    assert f"B73.V: {{quantity: retraction.speed, unit: {unit}}}" in doubt.why
    assert f"Write {becomes} there by hand" in doubt.remedy
