"""By-hand items name the lines that they are about: the probe's height, and a lag that stays old."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.folder import Packet
from cfgmigrate.plan.lines_by_hand import _heights, _nozzle_heights, with_lines
from cfgmigrate.plan.model import ByHand
from cfgmigrate.plan.named_lines import names_a_part
from cfgmigrate.rules import library

FILE = """\
[axis x]
high end = 210
steps per mm = 84
[axis z]
high end = 240
steps per mm = 410
[feeder]
steps per mm = 97.2
[retraction]
length = 5.5
[probe]
offset x = -30
offset y = -12
trip height = -1.9
"""
SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}}
new: {drive: on the carriage, steps_per_mm: 426.7 1/mm, microsteps: 16, tube: {length: 40 mm}}
carriage: {nozzle_shift: {x: 0 mm, y: 0 mm, z: -6 mm}, probe_shift: {x: 0 mm, y: 0 mm, z: PROBE}, z_stop: probe}
clearance: {as_before: yes}
"""
LINE = '"[probe] trip height": probe.offset_z'


def prepared(folder: Path, site: str = "", probe: str = "-6 mm") -> Packet:
    (folder / "ladle").mkdir()
    (folder / "ladle" / "ladle.conf").write_text(FILE)
    if site:
        (folder / "ladle" / "cfgmigrate.yaml").write_text(f"site: 1\nmeanings:\n  {site}\n")
    (folder / "swap.yaml").write_text(SHEET.replace("PROBE", probe))
    return api.prepare(folder / "ladle", folder / "swap.yaml", out=folder / "packet")


def height(packet: Packet) -> tuple[str, str]:
    return next((light.state, light.why) for light in packet.plan.lights if light.light == "height")


def test_the_line_is_pointed_at_with_what_to_write_where_it_is_the_one(tmp_path: Path) -> None:
    packet = prepared(tmp_path, probe="0 mm")
    state, why = height(packet)
    assert state == "unknown" and "ladle.conf:14" in why and LINE in why
    (item,) = [each for each in packet.plan.by_hand if each.rule == "probe.height_unread"]
    assert "ladle.conf:14" in item.steps[0]


def test_once_a_person_says_that_it_is_the_line_it_is_read_never_written_and_the_light_is_by_hand(
    tmp_path: Path,
) -> None:
    packet = prepared(tmp_path, LINE)
    assert height(packet)[0] == "by hand" and "ladle.conf:14" in height(packet)[1]
    assert not [change for change in packet.plan.changes if change.quantity == "probe.offset_z"]
    assert not [doubt for doubt in packet.plan.doubts if "can't make it anything else" in doubt.why]
    assert b"trip height = -1.9" in packet.after["ladle.conf"]
    assert not api.verify(packet.folder)


def test_a_probe_that_would_act_too_late_is_set_lower_first_whatever_the_line_says(tmp_path: Path) -> None:
    state, why = height(prepared(tmp_path, LINE, "0 mm"))
    assert state == "unknown" and "Set the probe lower" in why


def test_a_lag_that_stays_old_is_named_with_its_line_of_the_machine_and_of_each_profile_and_what_would_settle_it(
    tmp_path: Path,
) -> None:
    machine = tmp_path / "ladle"
    (machine / "filaments").mkdir(parents=True)
    (machine / "ladle.conf").write_text(FILE + "[flow delay]\nseconds = 0.58\n[flow delay]\nseconds = 0.62\n")
    for name, lag in (("grey", "0.64"), ("soft", "0.5")):
        text = f"[filament]\nname = {name}\nretraction length = 5\nflow delay seconds = {lag}\n"
        (machine / "filaments" / f"{name}.conf").write_text(text)
    (tmp_path / "swap.yaml").write_text(SHEET.replace("PROBE", "0 mm"))
    plan = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    said = {item.holder: " ".join(item.steps) for item in plan.by_hand if item.rule == "lag.to_measure"}
    assert "ladle.conf:18: [flow delay] seconds = 0.62" in said["machine"]
    assert "ladle.conf:16 ([flow delay] seconds = 0.58) is as old, and holds as soon as" in said["machine"]
    assert (
        "filaments/grey.conf:4" in said["filament grey"] and "filaments/soft.conf:4" in said["filament soft"]
    )
    assert all("filament.material" in text and "old.tube.length" not in text for text in said.values())


def test_a_line_of_the_axis_that_may_be_its_end_stop_is_named_and_never_written(tmp_path: Path) -> None:
    text = FILE.replace("[axis x]\n", "[axis x]\nlow end = -8\nnozzle at the switch = -8\n")
    (tmp_path / "ladle").mkdir()
    (tmp_path / "ladle" / "ladle.conf").write_text(text)
    (tmp_path / "swap.yaml").write_text(SHEET.replace("x: 0 mm", "x: 7 mm", 1).replace("PROBE", "-6 mm"))
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == "protected.end_stop_x"]
    assert "ladle.conf:3: [axis x] nozzle at the switch = -8" in item.steps[0]
    assert "ladle.conf:2 ([axis x] low end = -8) is the limit at this end stop" in item.steps[1]
    assert ("ladle.conf", 3) not in {(edit.file, edit.line) for each in plan.changes for edit in each.edits}


def test_where_no_limit_was_understood_the_lines_that_may_be_one_are_named(tmp_path: Path) -> None:
    text = FILE.replace("[axis x]\nhigh end = 210", "[across]\nhighest = 210").replace(
        "[axis z]\nhigh end", "[lift]\nhighest"
    )
    (tmp_path / "ladle").mkdir()
    (tmp_path / "ladle" / "ladle.conf").write_text(text)
    sheet = SHEET.replace("{as_before: yes}", "{as_before: yes, less_at_high_x: 11 mm}").replace(
        "PROBE", "-6 mm"
    )
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    said = {item.rule: " ".join(item.steps) for item in plan.by_hand if item.rule.endswith(".unread")}
    assert said.keys() == {"axis.x.unread", "axis.z.unread"}
    assert all("ladle.conf:2: [across] highest = 210" in text for text in said.values())
    assert all("ladle.conf:9" not in text for text in said.values())  # the retraction


def test_a_lag_asks_for_no_tube_where_the_whole_way_is_known(tmp_path: Path) -> None:
    (tmp_path / "ladle").mkdir()
    (tmp_path / "ladle" / "ladle.conf").write_text(FILE + "[flow delay]\nseconds = 0.62\n")
    sheet = SHEET.replace("tube: {length: 40 mm}", "path_length: 70 mm").replace("PROBE", "-6 mm")
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == "lag.to_measure"]
    assert "filament.material" in item.steps[0] and "new.tube.length" not in item.steps[0]


@pytest.mark.parametrize("thick", ["file", "sheet", "nobody"])
def test_a_lag_whose_filament_has_no_diameter_asks_for_that(thick: str, tmp_path: Path) -> None:
    (tmp_path / "ladle").mkdir()
    more = "[filament]\ndiameter = 1.75 mm\n" if thick == "file" else ""
    (tmp_path / "ladle" / "ladle.conf").write_text(FILE + "[flow delay]\nseconds = 0.62\n" + more)
    says = ", diameter: 1.75 mm" if thick == "sheet" else ""
    sheet = SHEET.replace("PROBE", "-6 mm") + f"filament: {{material: PLA{says}}}\n"
    (tmp_path / "swap.yaml").write_text(sheet)
    plan = api.prepare(tmp_path / "ladle", tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    asked = [" ".join(each.steps) for each in plan.by_hand if each.rule == "lag.to_measure"]
    written = "lag.coefficient" in {change.quantity for change in plan.changes}
    assert written is (thick != "nobody")
    assert asked == [] if written else "(filament.diameter)" in asked[0]


def test_a_clearance_as_before_is_not_to_be_measured(tmp_path: Path) -> None:
    assert "axis.clearance" not in {item.rule for item in prepared(tmp_path).plan.by_hand}


def test_an_end_stop_that_is_set_by_hand_is_told_with_its_line_and_those_of_the_limits(
    tmp_path: Path,
) -> None:
    (tmp_path / "machine.conf").write_text(
        "[axis x]\nhome at = -4\nlowest spot = -4\nhighest spot = 240\n[filament sensor]\ndistance = 690\n"
    )
    (tmp_path / "cfgmigrate.yaml").write_text('site: 1\nmeanings: {"[axis x] home at": end_stop.x}\n')
    (tmp_path / "sheet.yaml").write_text(
        "old: {drive: tube-fed, tube: {length: 600 mm}}\nnew: {drive: on the carriage, tube: {length: 40 mm}}\n"
        "carriage: {nozzle_shift: {x: -5 mm, y: 0 mm, z: 0 mm}}\n"
    )
    plan = api.prepare([tmp_path / "machine.conf"], tmp_path / "sheet.yaml", out=tmp_path / "packet").plan
    told = {each.rule: each.steps for each in plan.by_hand if each.steps}
    by_hand, written = told["protected.end_stop_x"][:2]
    assert "machine.conf:2 ([axis x] home at = -4, becomes -9)" in by_hand
    assert "machine.conf:3 ([axis x] lowest spot = -4, becomes -9)" in by_hand
    # what the packet shifts is not to be shifted once more
    assert "machine.conf:4" not in by_hand and "which the packet writes: machine.conf:4 " in written
    assert "machine.conf:6 " in told["runout.to_measure"][0]


SENSOR_SHEET = (
    "old: {drive: tube-fed, tube: {length: 540 mm}, path_length: 610 mm, filament_behind_sensor: 705 mm}\n"
    "new: {drive: on the carriage, tube: {length: 40 mm}, path_length: 66 mm@}\n"
)


def with_sensor(folder: Path, line: str, more: str = ""):
    (folder / "machine.conf").write_text(f"[feeder]\nretraction length = 6\n{line}\n")
    (folder / "sheet.yaml").write_text(SENSOR_SHEET.replace("@", more))
    return api.prepare([folder / "machine.conf"], folder / "sheet.yaml", out=folder / "packet").plan


def test_what_the_sheet_says_is_left_behind_the_sensor_is_written(tmp_path: Path) -> None:
    line = "[filament switch]\nfilament after switch mm = 705"
    plan = with_sensor(tmp_path, line, ", filament_behind_sensor: 90 mm")
    (change,) = [each for each in plan.changes if each.quantity == "runout.distance"]
    assert change.new.text == "90" and [edit.line for edit in change.edits] == [4]
    assert "runout.to_measure" not in {each.rule for each in plan.by_hand}


def test_a_length_that_its_words_protect_as_a_sensors_is_asked_about(tmp_path: Path) -> None:
    plan = with_sensor(tmp_path, "[filament watch]\nlength after trip = 720\npin = 722\n")
    (asked,) = [doubt for doubt in plan.doubts if "behind the sensor" in doubt.why]
    assert asked.place.line == 4 and "runout.distance" in asked.remedy


def test_named_so_it_is_told_with_its_line_and_set_by_hand(tmp_path: Path) -> None:
    (tmp_path / "cfgmigrate.yaml").write_text(
        'site: 1\nmeanings: {"[filament watch] length after trip": runout.distance}\n'
    )
    plan = with_sensor(
        tmp_path, "[filament watch]\nlength after trip = 705", ", filament_behind_sensor: 90 mm"
    )
    assert "runout.distance" not in {each.quantity for each in plan.changes}
    (told,) = [doubt for doubt in plan.doubts if doubt.place.line == 4]
    assert "it would be 90.00 ± 0.41 mm" in told.why


def test_the_limits_are_named_too_where_nothing_says_where_the_end_stop_stands(tmp_path: Path) -> None:
    (tmp_path / "config").mkdir()
    text = "[axis x]\nminimum = -6\nmaximum = 228\n[feeder]\nsteps per mm = 97.3\n"
    (tmp_path / "config" / "a.conf").write_text(text)
    (tmp_path / "swap.yaml").write_text(
        "new: {steps_per_mm: 512 1/mm}\ncarriage: {nozzle_shift: {x: -3 mm, y: 0 mm, z: 0 mm}}\n"
    )
    plan = api.prepare([tmp_path / "config"], tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    (item,) = [each for each in plan.by_hand if each.rule == "protected.end_stop_x"]
    assert item.steps[0].startswith("The limits of x: a.conf:2") and "a.conf:3" in item.steps[1]


def test_the_lines_of_how_high_the_nozzle_stands_are_named_where_its_shift_is_asked_for() -> None:
    text = (
        b"[frame]\ntip above bed = 207.5\nnozzle level at home = 206.9\nhot end temperature = 240\n"
        b"nozzle wipe height = 8\nnozzle layer height = 0.3\nnozzle height = switch\n"
    )
    (step,) = _nozzle_heights(recognise([read("ladle.conf", text, "sectioned")]))
    assert [f":{line} " in step for line in range(2, 8)] == [True, True, False, False, False, False]
    assert not list(_nozzle_heights(recognise([read("ladle.conf", text[:8], "sectioned")])))


def test_of_two_feeders_the_swapped_one_s_own_line_of_direction_is_named(tmp_path: Path) -> None:
    config, sheet = tmp_path / "hen.conf", tmp_path / "sheet.yaml"
    config.write_text(
        "".join(f"[feeder {side}]\nsteps per mm = 96\nreversed = no\n" for side in ("left", "right"))
    )
    sheet.write_text("feeders: {right: {new: {drive: on the carriage}}}\n")
    (item,) = [each for each in api.work_out([config], sheet).plan.by_hand if each.rule == "feeder.direction"]
    assert item.steps == ("Where it stands: hen.conf:6 ([feeder right] reversed = no).",)


def test_what_notes_a_screw_s_voltage_comes_behind_the_steps_that_part_2_names_by_their_numbers() -> None:
    """Part 2 of the checklist reads by steps 1 to 4, and turns by 5 and 6."""
    machine = recognise([read("a.conf", b"[feeder driver]\ntrimmer volts = 0.24\n", "sectioned")])
    steps = library.book().rule("motor.reference_voltage").steps
    item = ByHand("Set it", 0.49, "V", "", rule="motor.reference_voltage", steps=steps)
    (done,) = with_lines([item], machine, {}, {})
    assert "Switch on for no longer" in done.steps[3] and "turn the screw" in done.steps[4]
    assert "a.conf:2" in done.steps[-1]


def test_a_value_that_is_kept_elsewhere_is_set_after_install_which_refuses_a_file_edited_before(
    tmp_path: Path,
) -> None:
    (tmp_path / "a.conf").write_text(FILE.replace("high end = 240\n", ""))
    (tmp_path / "swap.yaml").write_text("new: {drive: on the carriage}\nclearance: {highest_z: 230 mm}\n")
    plan = api.work_out([tmp_path / "a.conf"], tmp_path / "swap.yaml").plan
    (item,) = [each for each in plan.by_hand if each.rule == "axis.z.max"]
    assert item.when == "after install" and item.what.endswith("where it is lower now, leave it")


def test_what_may_be_the_acceleration_is_told_by_its_unit_and_what_shakes_is_not_to_be_multiplied() -> None:
    text = b"[side]\ngain = 2200 ; mm/s2\n[feeder]\ngain = 3500 ; mm/s2\n[shaking]\nboard hz = 46.5\n"
    text += b"[stage]\nsway top = 3100 ; mm/s2\naccelerometer line = 12\naccel pin = 4\n"
    step = ByHand("Bring it down", 0.52, "", "", rule="machine.acceleration_unread")
    machine = recognise([read("ladle.conf", text, "sectioned")])
    (item,) = with_lines([step], machine, {}, {})
    one, by_unit, other = item.steps
    assert one.startswith("It may be ladle.conf:2") and by_unit.startswith("It may be ladle.conf:8")
    assert other.startswith("ladle.conf:6")
    assert "do not multiply it" in other


@pytest.mark.parametrize("line, pointed", [("action z height = 1.9", True), ("touch speed z = 4", False)])
def test_a_line_in_words_of_its_own_that_says_how_high_a_probe_acts_is_pointed_at(
    line: str, pointed: bool
) -> None:
    text = f"[probe]\ngrumbling {line}\n".encode()
    steps = list(_heights(recognise([read("ladle.conf", text, "sectioned")])))
    assert ["ladle.conf:2" in each for each in steps] == [True] * pointed


def test_what_a_person_calls_the_early_end_of_a_line_is_told_with_its_line_and_not_said_to_be_in_no_file(
    tmp_path: Path,
) -> None:
    (tmp_path / "hen").mkdir()
    (tmp_path / "hen" / "reels.yaml").write_text(
        "filaments:\n  flint:\n    material: PLA\n    filament_diameter: 1.75\n    north:\n      let_go: 0.31\n"
    )
    (tmp_path / "hen" / "hen.yaml").write_text(
        "drives:\n  feeder:\n    feed_per_turn: 8.6\n    full_steps: 200\nretraction:\n  length: 5.7\n"
    )
    (tmp_path / "names.yaml").write_text('"[filaments.flint.north] let_go": retraction.coast\n')
    (tmp_path / "swap.yaml").write_text(SHEET.replace("PROBE", "-6 mm"))
    plan = api.work_out(tmp_path / "hen", tmp_path / "swap.yaml", names=tmp_path / "names.yaml").plan
    (item,) = [each for each in plan.by_hand if each.rule == "retraction.coast"]
    assert item.holder == "filament flint" and "reels.yaml:6" in item.steps[0]
    assert not [each for each in plan.left_alone if "ends lines early" in each.why]


def test_an_end_stop_is_set_once_though_profiles_have_limits_and_theirs_are_no_lines_of_it(
    tmp_path: Path,
) -> None:
    (tmp_path / "tern.conf").write_text(
        "[axis x]\nlow end = 0\nhigh end = 302\nhome at = 302\n[feeder]\nturn length = 22.9\n[retraction]\nlength = 5\n"
    )
    (tmp_path / "grade-petg.conf").write_text(
        "[spool]\nkind = PETG\n[axis x]\nhigh end = 295\n[retraction]\nlength = 5.5\n"
    )
    (tmp_path / "cfgmigrate.yaml").write_text(
        'site: 1\nroles: {grade-petg.conf: profile}\nmeanings: {"[axis x] home at": end_stop.x}\n'
    )
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage}\ncarriage: {nozzle_shift: {x: 7 mm}}\n"
    )
    plan = api.work_out([tmp_path], tmp_path / "swap.yaml").plan
    (item,) = [each for each in plan.by_hand if each.rule == "protected.end_stop_x"]
    assert "becomes 309" in " ".join(item.steps) and "grade-petg" not in " ".join(item.steps)


def test_a_text_that_names_a_part_is_no_height_of_a_probe() -> None:
    """Found in a made-up folder, where a bed's thermistor was the only line that was offered."""
    text = b"probe:\n  right_of_nozzle: -31.0\nplate:\n  plate_sensor: ntc 100k, curve 4\n"
    machine = recognise([read("ladle.yaml", text, "nested")])
    assert any(each.quantity.startswith("protected.probe") for each in machine.readings)
    assert not list(_heights(machine))


@pytest.mark.parametrize("value", ["2.45", "plate up 2.45", "z 2.45 mm", "-1.9, curve", "table up 2.45"])
def test_a_number_or_a_text_that_tells_a_way_names_no_part(value: str) -> None:
    assert not names_a_part(value)
