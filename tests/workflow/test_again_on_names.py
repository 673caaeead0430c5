"""A packet that was just prepared holds, whatever its site file got wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api

FILES = "[feeder]\nsteps per mm = 94.6\nretraction length = 5.5\nload speed = 5, 7, 9\nlag seconds = 0.82\n"
SLIPS = {
    "one number named of three": '"[feeder] load speed": feeder.max_speed',
    "another unit than the key's": '"[feeder] lag seconds": {quantity: lag.coefficient, unit: ms}',
}


@pytest.mark.parametrize("slip", SLIPS.values(), ids=SLIPS)
def test_a_slip_in_a_meaning_is_the_same_doubt_when_the_packet_is_worked_out_again(
    slip: str, tmp_path: Path
) -> None:
    (tmp_path / "dunlin").mkdir()
    (tmp_path / "dunlin" / "feeder.cfg").write_text(FILES)
    (tmp_path / "dunlin" / "cfgmigrate.yaml").write_text(
        f"site: 1\n# a line more than the packet's copy has\nmeanings:\n  {slip}\n"
    )
    (tmp_path / "sheet.yaml").write_text("new: {steps_per_mm: 560 1/mm, microsteps: 16}\n")
    plan = api.prepare(tmp_path / "dunlin", tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    assert any("meaning" in f"{doubt.why} {doubt.remedy}" for doubt in plan.doubts)
    assert api.verify(tmp_path / "packet") == ()
