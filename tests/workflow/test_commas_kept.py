"""A swap in files whose numbers have commas is that of the same files with points, and goes back byte for byte."""

from __future__ import annotations

import json
import re
from pathlib import Path

from cfgmigrate import api
from cfgmigrate.cli.options import plan_files
from cfgmigrate.machine.commas import AS_NUMBERS
from cfgmigrate.machine.site_questions import site_questions
from cfgmigrate.packet.folder import INDEX

TEXT = b"""\
[feeder]
steps per mm = 96,50      ; by the ruler
microsteps = 16
[retraction]
length = 5,20 mm   ; 6,5 was too much
speed = 45,5 mm/s
"""
SHEET = """\
machine: redstart
old: {drive: tube-fed, tube: {length: 480 mm, bore: 2 mm}}
new: {drive: on the carriage, steps_per_mm: 469.125 1/mm, microsteps: 16, path_length: 40 mm}
filament: {material: PLA}
"""
SAID = 'site: 1\ndecimals: {"*.ini": comma}\n'


def prepared(desk: Path, text: bytes, site: str) -> api.Prepared:
    (desk / "shed").mkdir()
    (desk / "shed" / "reel.ini").write_bytes(text)
    (desk / "shed" / "cfgmigrate.yaml").write_text(site)
    (desk / "swap.yaml").write_text(SHEET)
    return api.prepare([desk / "shed"], desk / "swap.yaml", out=desk / "packet")


def test_values_are_those_of_the_same_file_in_points_and_every_step_back_is_whole(tmp_path: Path) -> None:
    (tmp_path / "commas").mkdir()
    (tmp_path / "points").mkdir()
    commas = prepared(tmp_path / "commas", TEXT, SAID)
    points = prepared(tmp_path / "points", re.sub(rb"(?<=\d),(?=\d)", b".", TEXT), "site: 1\n")
    assert commas.after["reel.ini"] == re.sub(rb"(?<=\d)\.(?=\d)", b",", points.after["reel.ini"])
    assert [edit.new for change in commas.plan.changes for edit in change.edits] == ["469,12", "0,50", "40,0"]
    assert any("reel.ini have decimal commas" in line for line in plan_files(commas.plan))
    assert not any("decimal commas" in line for line in plan_files(points.plan))
    file = tmp_path / "commas" / "shed" / "reel.ini"
    assert api.verify(commas.folder) == ()
    api.install(commas.folder, accept_unknown=["current", "height"])
    assert file.read_bytes() == commas.after["reel.ini"]
    assert api.work_out([file.parent], tmp_path / "commas" / "swap.yaml").plan.changes == ()
    api.revert(commas.folder)
    assert file.read_bytes() == TEXT


def test_a_packet_alone_says_how_its_numbers_are_written(tmp_path: Path) -> None:
    packet = prepared(tmp_path, b"# numbers with commas\n" + TEXT, "site: 1\n")
    recorded = json.loads((packet.folder / INDEX).read_bytes())["inputs"]["files"]
    assert [each.get("decimals") for each in recorded] == ["comma"]
    assert api.verify(packet.folder) == ()


def test_until_it_is_said_no_such_light_is_set_and_one_answer_settles_the_file(tmp_path: Path) -> None:
    packet = prepared(tmp_path, TEXT.replace(b"45,5", b"45"), "site: 1\n")
    states = {light.name: light.state for light in packet.plan.lights}
    assert (states["feed"], states["retraction"]) == ("unknown", "unknown")
    asked = [each for each in packet.plan.doubts if AS_NUMBERS in each.remedy]
    assert [(each.place.line, each.why.rpartition(" line ")[2]) for each in asked] == [(2, "5")]
    question = next(each for each in site_questions(api.survey([tmp_path / "shed"]).machine))
    assert [answer.entry for answer in question.answers] == [
        {"decimals": {"reel.ini": said}} for said in ("comma", "point")
    ]
    assert '"reel.ini": comma' in api.write_site([tmp_path / "shed"]).read_text()
