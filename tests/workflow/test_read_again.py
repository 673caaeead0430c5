"""What a person said of a setting, and can't be so once the new value stands there, is refused by that line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document
from cfgmigrate.packet import reread

HEADER = "#define RESTS {{ 95, 95, 100, 95 }}{}\n#define COIL_MA {{ 700, 700, 800, 900 }}\n"
SITE = "site: 1\nmeanings:\n  RESTS: [axis.x.hold_current, axis.y.hold_current, axis.z.hold_current, motor.hold_current]\n"
SHEET = """\
old: {drive: tube-fed, tube: {length: 450 mm}}
new: {drive: on the carriage, path_length: 52 mm, motor: {rated_current: 0.6 A peak, step_angle: 1.8 deg}, driver: {set_by: serial}}
filament: {material: PLA}
"""
SWAPPED = """\
old: {drive: tube-fed, steps_per_mm: 92.4 1/mm, microsteps: 16}
new: {drive: on the carriage, steps_per_mm: 420 1/mm, microsteps: 16}
"""


@pytest.mark.parametrize(
    ("remark", "why"),
    [
        ("", "may be in mA, or in % of the run current"),
        (" // percent of it", "its remark says that it is a share"),
    ],
)
def test_shares_said_to_be_currents_are_asked_about_by_their_line(
    tmp_path: Path, remark: str, why: str
) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "rail.h").write_text(HEADER.format(remark))
    (tmp_path / "m" / "cfgmigrate.yaml").write_text(SITE)
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(tmp_path / "m", tmp_path / "swap.yaml", out=tmp_path / "p", browsed=False).plan
    asked = [each for each in plan.doubts if each.text.startswith("RESTS")]
    assert asked and all(each.place.line == 1 and why in each.why for each in asked)
    assert not [edit for change in plan.changes for edit in change.edits if edit.line == 1]


def test_only_a_file_that_is_edited_is_read_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "feed.conf").write_text("[feeder]\nsteps per mm = 92.4\n[x]\nmin = 0\n[y]\nmin = 0\n")
    (tmp_path / "m" / "heat.conf").write_text("[bed]\nhottest = 110 C\n[fan]\nslowest = 18 %\n")
    (tmp_path / "swap.yaml").write_text(SWAPPED)
    again: list[str] = []

    def told(path: str, *given: Any) -> Document:
        again.append(path)
        return read(path, *given)

    monkeypatch.setattr(reread, "read", told)
    found = api.work_out(tmp_path / "m", tmp_path / "swap.yaml")
    assert [edit.file for change in found.plan.changes for edit in change.edits] == ["feed.conf"]
    assert again == ["feed.conf"]


def test_a_packet_holds_whose_site_file_extends_one_with_lines_for_other_machines(tmp_path: Path) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "feed.conf").write_text("[feeder]\nsteps per mm = 92.4\n[x]\nmin = 0\n[y]\nmin = 0\n")
    (tmp_path / "shop.yaml").write_text(
        'site: 1\nmeanings: {"[x] nosuch": ignore}\ncodes: {M933.L: ignore}\nwords: {kurz: least}\n'
    )
    (tmp_path / "m" / "cfgmigrate.yaml").write_text(
        'site: 1\nextends: ../shop.yaml\nmeanings: {"[x] neither": ignore}\n'
    )
    (tmp_path / "swap.yaml").write_text(SWAPPED)
    plan = api.prepare(tmp_path / "m", tmp_path / "swap.yaml", out=tmp_path / "p", browsed=False).plan
    told = [each.text for each in (*plan.doubts, *plan.notes)]
    assert "[x] neither" in told and not {"[x] nosuch", "[M933] L", "kurz"} & set(told)
    assert api.verify(tmp_path / "p") == ()
