"""What makes values surer is asked for in the order of the day, and in each sitting by what it is worth: first what people
usually know and a value follows from, then the rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.plan.asking_order import ordered_questions
from cfgmigrate.plan.interview import FIRST_PACKET, SURER, _when, new_results, next_question
from cfgmigrate.plan.open_fields import open_fields, usual_answers, with_answers
from cfgmigrate.plan.unlocking import Unlock, Workings
from cfgmigrate.rules import library
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import parse_sheet, read_sheet
from cfgmigrate.sheet.schema import ANY_TIME, BEFORE_SITTING, MOUNTED, sheet_schema

SAMPLES = Path(__file__).parents[2] / "sample_configs"
DAY = [BEFORE_SITTING, ANY_TIME, MOUNTED]


def test_of_what_people_know_and_of_the_rest_no_sitting_is_gone_back_to_and_the_worthiest_comes_first() -> (
    None
):
    machine = api.read_machine([SAMPLES / "wren"])[1]
    bench = Workings(library.book(), machine, library.tables())
    sheet = read_sheet(SAMPLES / "sheets" / "wren.yaml")
    declined: list[str] = []
    order: list[tuple[bool, int]] = []
    while (question := next_question(bench, sheet, declined)) is not None and len(declined) < 3:
        if question.stage == SURER:
            order.append(late(question.brings))
            alike = [
                each.field for each in ordered_questions(bench, sheet, declined) if late(each) == order[-1]
            ]
            assert question.field.path == alike[0]
        declined.append(question.field.path)
    assert order and order == sorted(order)


def test_whether_the_probe_has_moved_is_asked_before_it_is_enough_for_a_packet() -> None:
    """Wren's sheet says how far the tip has moved, and nothing of the probe beside it, whose bracket may go with the drive."""
    bench = Workings(library.book(), api.read_machine([SAMPLES / "wren"])[1], library.tables())
    sheet = read_sheet(SAMPLES / "sheets" / "wren.yaml")
    question = next_question(bench, sheet)
    assert question is not None and question.stage == FIRST_PACKET
    shifts = [f"carriage.probe_shift.{axis}" for axis in "xy"]
    assert [each.path for each in question.fields] == shifts
    after = next_question(bench, sheet, shifts)
    assert after is None or after.stage == SURER


def late(each: Unlock) -> tuple[bool, int]:
    known = sheet_schema().fields[each.field].ask or sitting_of(each.field) == MOUNTED
    return not (each.values and known), DAY.index(sitting_of(each.field))


TWO = """\
[x axis]
min = 0
max = 300
[y axis]
min = 0
max = 280
[z axis]
max = 260
[feeder]
steps per mm = 142.3
run current ma rms = 900
[feeder 2]
steps per mm = 139.9
run current ma rms = 900
[retraction]
length mm = 4.8
"""
DRIVEN = """\
old: {drive: tube-fed, tube: {length: 470 mm}}
new:
  drive: on the carriage
  tube: {length: 40 mm}
  motor: {rated_current: 1 A, step_angle: 1.8 deg}
  drive_gear: {effective_diameter: 8.3 mm, gear_ratio: "47:11"}
carriage: {old_mass: 300 g}
"""


def test_whether_each_feeder_has_a_tip_of_its_own_is_asked_before_how_far_a_tip_has_moved(
    tmp_path: Path,
) -> None:
    (tmp_path / "smew.ini").write_text(TWO)
    machine = api.read_machine([tmp_path / "smew.ini"])[1]
    bench = Workings(library.book(), machine, library.tables())
    sheet = parse_sheet(("feeder: 2\n" + DRIVEN).encode(), "s.yaml")
    asked: list[str] = []
    while (question := next_question(bench, sheet)) is not None and len(asked) < 12:
        asked.extend(each.path for each in question.fields)
        sheet = with_answers(sheet, {each.path: usual_answers(each)[0] for each in question.fields})
        if "carriage.nozzle_shift.z" in asked:
            break
    assert asked.index("carriage.one_nozzle") < asked.index("carriage.nozzle_shift.z")


def test_what_the_drives_maker_says_comes_after_what_was_measured_at_the_carriage() -> None:
    measured = Unlock("clearance.highest_x", values=("axis.x.max",))
    known = Unlock("filament.material", values=("lag.coefficient",))
    said = Unlock("new.recommended_lag", values=("lag.coefficient",))
    settles = Unlock("new.recommended_lag", lights=("feed",))
    assert sorted([said, measured, known], key=_when) == [known, measured, said]
    assert _when(settles) < _when(measured)


def sitting_of(field: str) -> str:
    return sheet_schema().sitting(field)


HEADER = """\
#define PULSES_PER_MM 94.60
#define PULSES_PER_TURN 200
#define FINE_STEPS 16
#define COIL_MA_FILAMENT 950 /* rms */
#define RETRACT_MM 5.5
"""
KEPT = (
    "stored 1\n" + "unnamed thing 97.1\nother thing 930\n" + "".join(f"dips {n} 0.0{n}\n" for n in range(9))
)


def test_what_a_line_keeps_unknown_is_asked_about_all_the_same(tmp_path: Path) -> None:
    (tmp_path / "wick.h").write_text(HEADER)
    (tmp_path / "talk.txt").write_text(KEPT)
    meanings = "meanings: {PULSES_PER_MM: feeder.steps_per_mm, PULSES_PER_TURN: feeder.full_steps}"
    said = 'roles: {"talk.txt": saved values}\ndialects: {"talk.txt": flat}'
    (tmp_path / "cfgmigrate.yaml").write_text(f"site: 1\n{said}\n{meanings}\n")
    bench = Workings(library.book(), api.read_machine([tmp_path])[1], library.tables())
    stand = bench.stand(Sheet("swap.yaml", b""))
    assert {"feed", "current"} <= stand.unknown & stand.unanswered
    sheet, asked = Sheet("swap.yaml", b""), set[str]()
    while (question := next_question(bench, sheet)) is not None and question.stage != SURER:
        asked.update(each.path for each in question.fields)
        sheet = with_answers(sheet, {each.path: usual_answers(each)[0] for each in question.fields})
    assert {
        "new.drive_gear.effective_diameter",
        "new.drive_gear.gear_ratio",
        "new.motor.rated_current",
    } <= asked
    left = bench.stand(sheet)
    assert "feed" in left.unknown and "feed" not in left.unanswered


LISTED = "pulses_per_mm 97.35\ncoil_ma_filament 930\n"


def test_what_a_listing_of_the_board_has_is_asked_about_as_if_the_files_had_it(tmp_path: Path) -> None:
    (tmp_path / "wick.h").write_text(HEADER)
    (tmp_path / "talk.txt").write_text(LISTED)
    same = "{quantity: motor.run_current, unit: mA rms}"
    meanings = f'PULSES_PER_MM: feeder.steps_per_mm, "coil_ma_filament": {same}'
    said = 'roles: {"talk.txt": saved values}\ndialects: {"talk.txt": flat}'
    (tmp_path / "cfgmigrate.yaml").write_text(f"site: 1\n{said}\nmeanings: {{{meanings}}}\n")
    bench = Workings(library.book(), api.read_machine([tmp_path])[1], library.tables())
    sheet, asked = Sheet("swap.yaml", b""), set[str]()
    while (question := next_question(bench, sheet)) is not None and question.stage != SURER:
        asked.update(each.path for each in question.fields)
        sheet = with_answers(sheet, {each.path: usual_answers(each)[0] for each in question.fields})
    assert {"new.drive_gear.effective_diameter", "new.motor.rated_current"} <= asked
    assert not {"feed", "current"} & bench.stand(sheet).unknown


def test_a_limit_that_stays_as_it_is_follows_from_nothing_and_one_that_moves_does() -> None:
    machine = api.read_machine([SAMPLES / "wren"])[1]
    bench = Workings(library.book(), machine, library.tables())
    before = bench.stand(parse_sheet(b"new: {drive: on the carriage}\n", "swap.yaml"))

    def told(less: str) -> set[str]:
        sheet = f"new: {{drive: on the carriage}}\nclearance: {{less_at_high_x: {less}}}\n"
        return {
            each.rule for each in new_results(before, bench.stand(parse_sheet(sheet.encode(), "swap.yaml")))
        }

    assert "axis.x.max" not in told("0 mm") and "axis.x.max" in told("8 mm")


LOWER = """\
old: {drive: tube-fed, tube: {length: 470 mm}, path_length: 530 mm}
new: {drive: on the carriage, path_length: 71 mm, gears_as_before: yes, motor_as_before: yes, microsteps: 16}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: -7 mm}, z_stop: probe, probe_offset: {x: 31 mm, y: 4 mm}, old_mass: 300 g}
clearance: {less_at_high_z: 0 mm}
"""


@pytest.mark.exhaustive
def test_a_probe_that_would_act_too_late_is_asked_how_high_it_sits_now(tmp_path: Path) -> None:
    """The tip has come down: whether the probe on its new bracket has, too, is nobody's guess."""
    (tmp_path / "dunlin.ini").write_text(
        "[z axis]\ntravel max = 240\n[touch probe]\nfrom the nozzle in x = -30\nfrom the nozzle in y = 2\nfrom the nozzle in z = 1.7\n"
        "[feeder]\nsteps per mm = 142.3\n[retraction]\nlength mm = 4.8\n"
    )
    machine = api.read_machine([tmp_path / "dunlin.ini"])[1]
    bench = Workings(library.book(), machine, library.tables())
    sheet = parse_sheet(LOWER.encode(), "s.yaml")
    declined = [name for name in open_fields(sheet, machine) if not name.startswith("carriage.probe")]
    question = next_question(bench, sheet, declined)
    assert question is not None and question.stage != SURER
    assert [each.path for each in question.fields] == ["carriage.probe_with_tip"]
    question = next_question(bench, sheet, [*declined, "carriage.probe_with_tip"])
    assert question is not None and question.stage != SURER
    assert [each.path for each in question.fields] == ["carriage.probe_shift.z"]
