"""A value that is a question is not written, its light is unknown, and a person is told which line stays old."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.interview import next_question
from cfgmigrate.plan.model import Plan
from cfgmigrate.plan.unlocking import Workings
from cfgmigrate.rules import library
from cfgmigrate.sheet.reader import parse_sheet

FILES = {
    "dunlin.ini": "[feeder]\nsteps per mm = 142.3\nfull steps = 200\nmicrosteps = 32\nload length mm = 1900\n"
    "[retraction]\nlength mm = 4.8\n[z]\nmax = 25.2\n"
}
SHEET = """\
old: {drive: tube-fed, tube: {length: 470 mm}, path_length: 530 mm}
new:
  drive: on the carriage
  path_length: 71 mm
  microsteps: 32
  motor: {step_angle: 1.8 deg}
  drive_gear: {effective_diameter: 7.26 mm, gear_ratio: "5:1"}
  steps_per_mm: 701 1/mm
"""


def plan_of(tmp_path: Path, sheet: str) -> Plan:
    (tmp_path / "dunlin").mkdir()
    for name, text in FILES.items():
        (tmp_path / "dunlin" / name).write_text(text)
    (tmp_path / "sheet.yaml").write_text(sheet)
    return api.prepare(tmp_path / "dunlin", tmp_path / "sheet.yaml", out=tmp_path / "packet").plan


def test_a_figure_that_is_half_of_the_geometry_is_not_written_and_leaves_its_light_unknown(
    tmp_path: Path,
) -> None:
    plan = plan_of(tmp_path, SHEET)
    assert not [each for each in plan.changes if each.quantity == "feeder.steps_per_mm"]
    (light,) = (each for each in plan.lights if each.light == "feed")
    assert light.state == "unknown" and "for 16?" in light.why and "dunlin.ini:2" in light.why
    assert any((each.place.file, each.place.line) == ("dunlin.ini", 2) for each in plan.doubts)


def test_a_load_length_of_several_times_the_path_is_asked_about_and_stays(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, SHEET)
    assert not [each for each in plan.changes if each.quantity == "feeder.load_length"]
    assert any("1900 mm" in each.why and "Is that a length" in each.why for each in plan.doubts)


def test_a_limit_that_the_measured_height_is_many_times_of_may_be_a_slip_and_leaves_its_light_unknown(
    tmp_path: Path,
) -> None:
    plan = plan_of(tmp_path, SHEET + "clearance: {highest_z: 240 mm}\n")
    (light,) = (each for each in plan.lights if each.light == "height")
    assert light.state == "unknown" and "decimal point in the wrong place" in light.why


def test_with_its_microsteps_the_figure_is_written(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, SHEET + "  steps_per_mm_at: 16\n")
    (change,) = (each for each in plan.changes if each.quantity == "feeder.steps_per_mm")
    assert change.new.value == 1402
    assert [each.state for each in plan.lights if each.light == "feed"] == ["set"]


def test_a_figure_alone_is_asked_for_its_microsteps_unless_the_gears_bear_it_out(tmp_path: Path) -> None:
    (tmp_path / "dunlin.ini").write_text(FILES["dunlin.ini"])
    machine = api.read_machine([tmp_path / "dunlin.ini"])[1]
    bench = Workings(library.book(), machine, library.tables())

    def asked(sheet: str) -> str:
        question = next_question(bench, parse_sheet(sheet.encode(), "sheet.yaml"))
        return question.field.path if question is not None else ""

    gears = '  drive_gear: {effective_diameter: 7.26 mm, gear_ratio: "5:1"}\n'
    assert asked(SHEET) == asked(SHEET.replace(gears, "")) == "new.steps_per_mm_at"
    assert asked(SHEET.replace("701", "1402")) != "new.steps_per_mm_at"
    assert asked(SHEET + "  steps_per_mm_at: 16\n") != "new.steps_per_mm_at"
