"""A console's print-out of what the board keeps is read though talk stands between its lines; the talk is none of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.console_talk import is_listing
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.at_console import STORE_RULE
from cfgmigrate.plan.model import Plan

FRAME = """\
#define X_MIN -4
#define X_MAX 270
#define FEEDER_STEPS_PER_MM 139.6
#define FEEDER_GEAR_RATIO 3.0
#define RETRACTION_LENGTH 5.2
#define RESTING_RETRACTION_LENGTH 4.8
"""
TALK = """\
? what do you keep
since Tuesday, and until you say drop it

x.max              270.000 mm
feeder.steps       139.600 /mm
retraction.length    5.200 mm
x.min               -4.000 mm
? how is the bed
-0.047  -0.067  -0.029
-0.009   0.044   0.019
? what is on the card
cup01.job  139 k
cup02.job  2991 k
> feeder.steps 138.2
yes
> feed feeder 100
fed
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 500 mm, bore: 2 mm, bend: 180 deg}}
new:
  drive: on the carriage
  drive_gear: {effective_diameter: 7.2 mm, gear_ratio: 43:11}
  microsteps: 16
  motor: {step_angle: 1.8 deg}
  tube: {length: 40 mm, bore: 2 mm, bend: 0 deg}
filament: {material: PLA, diameter: 1.75 mm}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: 0 mm}}
clearance: {less_at_high_x: 12 mm, less_at_low_x: 0 mm}
"""


def test_a_text_with_a_few_names_and_numbers_is_no_listing() -> None:
    lines = "x.max 270 mm\nfeeder.steps 139.6 /mm\nretraction.length 5.2 mm\n"
    prose = "the hut stands by the river, and is dry, but not today\n"
    assert is_listing(lines + 7 * prose) and not is_listing(lines + 8 * prose)


def folder(where: Path, role: str = "saved values") -> Path:
    config = where / "config"
    config.mkdir()
    (config / "frame.h").write_text(FRAME)
    (config / "talk.txt").write_text(TALK)
    site = f'site: 1\nroles: {{"talk.txt": {role}}}\nmeanings: {{RETRACTION_LENGTH: retraction.length}}\n'
    (config / "cfgmigrate.yaml").write_text(site)
    (where / "sheet.yaml").write_text(SHEET)
    return config


def planned(where: Path) -> Plan:
    return api.work_out(folder(where), where / "sheet.yaml").plan


def told(found: Configuration) -> list[tuple[str, str]]:
    (document,) = [each for each in found.documents if each.path == "talk.txt"]
    assert not document.doubts
    return [(each.key, each.value.split()[0]) for each in document.settings]


def test_its_names_and_numbers_are_read_and_what_was_typed_counts_where_the_board_has_the_name(
    tmp_path: Path,
) -> None:
    found = told(open_configuration([folder(tmp_path)]))
    assert {("x.max", "270.000"), ("feeder.steps", "139.600"), ("feeder.steps", "138.2")} <= set(found)
    assert not [key for key, _ in found if key[0] in "->?0123456789" or key == "feed feeder"]


def test_the_same_text_is_no_configuration_where_nobody_said_that_the_board_keeps_it(tmp_path: Path) -> None:
    found = open_configuration([folder(tmp_path, "no configuration")])
    assert "talk.txt" not in {each.path for each in found.documents}


def test_each_value_that_wins_is_told_once_as_it_was_kept_last_and_no_light_is_unknown_for_the_talk(
    tmp_path: Path,
) -> None:
    plan = planned(tmp_path)
    (item,) = [each for each in plan.by_hand if each.rule == STORE_RULE]
    steps = [step.partition(" → ")[0] for step in item.steps]
    assert steps == ["x.max: 270.000", "retraction.length: 5.200", "feeder.steps: 138.2"]
    assert "stored anew or forgotten" in item.verify
    (feed,) = [light for light in plan.lights if light.light == "feed"]
    assert feed.state == "by hand"


def test_what_the_board_keeps_and_a_file_is_not_carried_out_twice(tmp_path: Path) -> None:
    assert not [doubt for doubt in planned(tmp_path).doubts if "switch the other off" in doubt.remedy]


def test_beside_a_line_that_a_person_named_another_of_that_meaning_is_not_the_boards(tmp_path: Path) -> None:
    plan = planned(tmp_path)
    (change,) = [each for each in plan.changes if each.quantity == "retraction.length"]
    assert [edit.line for edit in change.edits] == [5]
    assert [doubt for doubt in plan.doubts if doubt.place.line == 6]


def test_a_line_with_an_equals_sign_is_a_value_whatever_its_name(tmp_path: Path) -> None:
    values = "fil push/pulses_mm=96.4\nup-down/high=190\npanel/shade=14\npanel/last=2\n3 fan (part)=20\n"
    (tmp_path / "main.txt").write_text("== fil push ==\npulses_mm = 95\n== up-down ==\nhigh = 200\nlow = 0\n")
    (tmp_path / "saved.val").write_text(values)
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nroles: {saved.val: saved values}\n")
    found = open_configuration([tmp_path])
    (kept,) = [each for each in found.documents if each.path == "saved.val"]
    assert [each.key for each in kept.settings] == [
        "fil push/pulses_mm",
        "up-down/high",
        "panel/shade",
        "panel/last",
        "3 fan (part)",
    ]
    machine = recognise(found)
    steps, high = machine.get("feeder.steps_per_mm"), machine.get("axis.z.max")
    assert steps is not None and (steps.value, steps.place.file) == (96.4, "saved.val")
    assert high is not None and (high.value, high.place.file) == (190, "saved.val")


PAST = "job.1: button_5 39 min 66.1 m\njob.2: clip_37 356 min 74.2 m\njob.3: clip_25 350 min 31.9 m\n"
SAVED = f"# written by the board\nfeeder.steps_mm: 188.3\npull.len: 0.4\n{PAST}"


def kept_in(where: Path, text: str, role: str = "saved values") -> list[str]:
    (where / "main.cfg").write_text(
        "; mm, mm/s\n[feeder]\nfull_steps = 200\nsteps_mm = 188\n[pull]\nlen = 5.8\n"
    )
    (where / "saved.txt").write_text(text)
    (where / "cfgmigrate.yaml").write_text(f"site: 1\nroles: {{saved.txt: {role}}}\n")
    found = open_configuration([where])
    return [setting.key for each in found.documents if each.path == "saved.txt" for setting in each.settings]


def test_a_text_said_to_be_saved_values_is_read_by_its_paths_and_its_past_is_passed_by(
    tmp_path: Path,
) -> None:
    assert kept_in(tmp_path, SAVED) == ["feeder.steps_mm", "pull.len"]
    machine = recognise(open_configuration([tmp_path]))
    steps, length = machine.get("feeder.steps_per_mm"), machine.get("retraction.length")
    # `len` below `[pull]` is `pull.len`, however far apart the two are
    assert steps is not None and (steps.value, steps.place.file) == (188.3, "saved.txt")
    assert length is not None and (length.value, length.place.file) == (0.4, "saved.txt")
    assert not [each for each in machine.doubts if "which one holds" in each.why]


def test_another_name_far_from_the_file_s_value_is_asked_about_still(tmp_path: Path) -> None:
    kept_in(tmp_path, SAVED.replace("pull.len", "pull.length"))
    doubts = recognise(open_configuration([tmp_path])).doubts
    assert [each.place.line for each in doubts if "which one holds" in each.why] == [6]


@pytest.mark.parametrize(
    "rows",
    [
        PAST.partition("job.3")[0],  # two lines are no past
        "motor.1: current 800 hold 400\nmotor.2: current 900 hold 450\nmotor.3: current 700 hold 350\n",
        "kanal.1: Achse 80 0.9\nkanal.2: Hub 400 0.9\nkanal.3: Vortrieb 101 0.6\n",  # drives, in words nobody knows
        "mesh.row_1: 0.1 0.2\nmesh.row_2: 0.1 0.3\nmesh.row_3: 0.2 0.2\n",
    ],
)
def test_rows_that_may_be_values_are_no_past(tmp_path: Path, rows: str) -> None:
    first = rows.partition(":")[0]
    assert first in kept_in(tmp_path, SAVED.replace(PAST, rows))


@pytest.mark.parametrize(
    ("text", "role"),
    [(SAVED, "no configuration"), ("steps: 188.3\nwe ate, and it was good\n" * 2, "saved values")],
)
def test_such_a_text_is_not_read_where_nobody_said_it_or_it_has_no_paths(
    tmp_path: Path, text: str, role: str
) -> None:
    assert kept_in(tmp_path, text, role) == []
