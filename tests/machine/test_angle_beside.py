"""Full steps that their remark says over again in degrees are left to a person."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise

_SHEET = "new:\n  drive: on the carriage\n  motor: {step_angle: 0.9 deg}\n"


@pytest.mark.parametrize(
    ("line", "written"), [("200", True), ("200  ; 1.8 deg", False), ("200 ; of the small one", True)]
)
def test_a_count_of_steps_beside_its_angle_is_read_and_not_written(line: str, written: bool) -> None:
    text = f"[feeder motor]\nfull steps a turn = {line}\n"
    (reading,) = recognise([read("m.conf", text.encode(), "sectioned")]).readings
    assert (reading.value, reading.editable) == (200, written)


def test_a_new_motor_of_another_angle_is_set_there_by_hand_and_no_packet_is_refused(tmp_path: Path) -> None:
    line = b"full steps a turn = 200       ; 1.8 deg\n"
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "m.conf").write_bytes(b"[feeder motor]\n" + line + b"[x axis]\nmax = 221\n")
    (tmp_path / "swap.yaml").write_text(_SHEET)
    packet = api.prepare(tmp_path / "m", tmp_path / "swap.yaml", out=tmp_path / "packet")
    assert not [change for change in packet.plan.changes if change.quantity == "feeder.full_steps"]
    assert "m.conf:2" in (packet.folder / "checklist.md").read_text()
    assert "change both by hand" in (packet.folder / "checklist.md").read_text()
