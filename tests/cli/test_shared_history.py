"""Three machines in folders of their own beside a file that all of them take in: one history, and each told of alone."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from commandline import Runner

from cfgmigrate import api
from cfgmigrate.ground.findings import Refused

COMMON = """# what all three have
[reach]
z highest = 262 mm

[feeder]
whole steps a turn = 200
microstepping = 16
gear ratio = 14:5

[feeder motor]
part = TMC2209
running current rms = 0.68
resting current rms = 0.34
shunt = 0.11 ohm
"""
OWN = """# {name}: the machine in the {name} bay
[include ../common.cfg]

[filament]
diameter = 1.75

[feeder]
mm a turn = 21.3{number}

[retraction]
length = 4.{number} mm
retraction speed = 35 mm/s

[flow]
lag = 0.4{number} s
"""
SHEET = """machine_kind: moving bed
old:
  drive: tube-fed
  drive_gear: {external_meshes: 1}
  tube: {length: 365 mm, bore: 1.95 mm, bend: 170 deg}
new:
  drive: on the carriage
  drive_gear: {effective_diameter: 7.86 ± 0.05 mm, gear_ratio: "56:11", external_meshes: 1}
  tube: {length: 41 mm, bore: 1.95 mm, bend: 20 deg}
  motor:
    rated_current: 0.9 A
    recommended_current: 0.42 A
    step_angle: 1.8 deg
    winding_resistance: 2.6 ohm
  driver: {part: TMC2209, set_by: serial, sense_resistor: 0.11 ohm}
filament: {material: PLA, diameter: 1.75 mm}
carriage: {height_as_before: yes}
clearance: {as_before: yes}
"""
NAMES = ("north", "south", "east")


@pytest.fixture
def hall(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for number, name in enumerate(NAMES, 1):
        (tmp_path / "hall" / name).mkdir(parents=True)
        (tmp_path / "hall" / name / "frame.cfg").write_text(OWN.format(name=name, number=number))
    (tmp_path / "hall" / "common.cfg").write_text(COMMON)
    (tmp_path / "hall" / "cfgmigrate.yaml").write_text("site: 1\nshared: {common.cfg: swapped together}\n")
    (tmp_path / "swap.yaml").write_text(SHEET, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path / "hall"


def asked(name: str) -> list[str]:
    return [f"hall/{name}", "hall/common.cfg"]


def installed(*names: str) -> None:
    for name in names:
        api.prepare(asked(name), "swap.yaml", out=name)
        assert api.install(name).written


def contents(folder: Path) -> dict[str, str]:
    own = (path for path in folder.rglob("*.cfg") if ".cfgmigrate" not in path.parts)
    return {str(path.relative_to(folder)): path.read_text() for path in own}


def entries(*paths: str) -> list[int]:
    return [entry.number for entry in api.history(list(paths))]


def test_each_machine_is_told_of_its_own_steps_and_of_what_others_changed_in_the_shared_file(
    cli: Runner, hall: Path
) -> None:
    installed("north")
    there = api.status(asked("south"))
    assert not there.in_force and not there.by_hand and not there.changed
    assert [(each["entry"], each["files"]) for each in there.others] == [(1, ["common.cfg"])]
    told = " ".join(cli("status", *asked("south")).out.split())
    assert "common.cfg was changed for another machine, too (north/frame.cfg): install 1" in told
    assert [each["entry"] for each in api.status("hall/north").in_force] == [1]
    assert not api.status("hall/north").others
    installed("south")
    assert entries("hall/north") == entries(*asked("north")) == [1]
    assert entries("hall/south") == entries(*asked("south")) == [2]
    assert entries("hall") == [1, 2]
    assert json.loads(cli("history", *asked("east"), "--json").out)["entries"] == []
    assert "install 1" in cli("history", *asked("south")).out.replace("\n    ", " ")


def test_what_is_ticked_is_the_machine_s_own(hall: Path) -> None:
    installed("north", "south")
    first = api.status("hall/south").by_hand[0]
    assert api.mark_done("hall/south", "1").packet == first.packet == api.open_packet("south").hash
    assert api.status("hall/south").by_hand[0].done and not api.status("hall/north").by_hand[0].done
    assert entries("hall/south") == [2, 3] and entries("hall/north") == [1]


def test_the_record_of_one_has_its_own_values_and_that_of_all_says_whose_each_is(hall: Path) -> None:
    installed("north", "south")
    one = api.report(asked("south"))
    assert "21.32 → " in one and "21.31 → " not in one and "common.cfg was changed for another machine" in one
    both = api.report("hall")
    assert "Several machines share this history (north/frame.cfg; south/frame.cfg)" in both
    assert "Retraction length (north/frame.cfg)" in both and "Retraction length (south/frame.cfg)" in both


def test_machines_alike_are_prepared_one_after_the_other(hall: Path) -> None:
    """Their files are much like each other, and none of them is what another one went on as."""
    installed(*NAMES)
    for number, name in enumerate(NAMES, 1):
        text = (hall / name / "frame.cfg").read_text()
        assert f"21.3{number}" not in text and f"length = 4.{number}" not in text
        again = api.work_out(asked(name), "swap.yaml").plan
        assert not again.changes and {light.state for light in again.lights} <= {"set", "unaffected"}


@pytest.mark.parametrize("order", [("north", "south"), ("south", "north")])
def test_taken_back_in_either_order_all_is_as_it_was_and_nothing_is_said_of_the_other_s_lines(
    order: tuple[str, str], hall: Path
) -> None:
    before = contents(hall)
    installed("north", "south")
    for name in order:
        report = api.revert(name)
        other = order[1 - order.index(name)]
        assert not any(f"{other}/frame.cfg:8" in note for note in report.notes), report.notes
        assert not report.kept
        told = [note for note in report.notes if note.startswith("common.cfg is left")]
        assert bool(told) is (order == ("north", "south") and name == "south"), (
            "it is not as that packet read it"
        )
    assert contents(hall) == before


def test_to_the_letter_does_not_mean_the_other_s_values(hall: Path) -> None:
    before = contents(hall)
    installed("north", "south")
    api.revert("north")
    lights = {each["light"]: each["state"] for each in api.status("hall/south").lights}
    assert lights["current"] == "unknown", "the shared file has the old current again"
    report = api.revert("south", whole=True)
    assert contents(hall) == before
    assert (
        "common.cfg is left as it is: revert 3 of the history changed it for another machine" in report.notes
    )


def test_what_one_machine_needs_again_is_prepared_after_the_other_went_back(hall: Path) -> None:
    installed("north", "south")
    after = (hall / "common.cfg").read_text()
    api.revert("north")
    shutil.rmtree("south")
    api.prepare(asked("south"), "swap.yaml", out="again")
    assert api.install("again").written and (hall / "common.cfg").read_text() == after


def test_all_of_them_asked_about_at_once_are_said_to_be_several(cli: Runner, hall: Path) -> None:
    installed("north", "south")
    told = " ".join(cli("status", "hall").out.split())
    assert "Several machines share this history (north/frame.cfg; south/frame.cfg)" in told
    assert not api.status("hall/north").several and not api.status(asked("south")).several


def test_a_shared_file_s_own_word_of_whom_it_is_for_is_told_before_the_install_and_in_the_packet(
    cli: Runner, hall: Path
) -> None:
    (hall / "common.cfg").write_text(f"for = north, cellar\n{COMMON}")
    (hall / "cellar").mkdir()
    (hall / "cellar" / "frame.cfg").write_text("lamp = 7\n")
    packet = api.prepare(asked("north"), "swap.yaml", out="packet")
    said = "common.cfg:1 says that it is for others, too: if another machine reads it, "
    assert f"{said}it gets the new values with this install." in packet.pages["checklist.md"].decode()
    assert api.verify("packet") == () and said in " ".join(cli("install", "packet").out.split())
    (entry,) = api.history("hall")
    assert "common.cfg" not in (entry.reasons or {})["beside"]


def test_all_of_them_go_back_at_once_only_where_that_is_said(cli: Runner, hall: Path) -> None:
    before = contents(hall)
    installed("north", "south")
    after = contents(hall)
    said = "Several machines share this history (north/frame.cfg; south/frame.cfg), and this takes back"
    assert said in " ".join(cli("revert", "hall", "--to", "start", "--dry-run").out.split())
    refused = cli("revert", "hall", "--to", "start")
    assert refused.status == 3 and said in " ".join(refused.err.split()) and "--all-machines" in refused.err
    assert contents(hall) == after
    assert cli("revert", "hall", "--to", "start", "--all-machines").status == 0 and contents(hall) == before
    assert cli("revert", "hall", "--to", "start").status == 0, "nothing goes back any more"


def test_the_steps_of_one_machine_alone_go_back_without_being_asked(cli: Runner, hall: Path) -> None:
    installed("north", "south")
    assert cli("revert", "hall", "--to", "1").status == 0
    assert "21.31" not in contents(hall)["north/frame.cfg"] and "21.32" in contents(hall)["south/frame.cfg"]


def test_who_else_reads_an_edited_file_is_on_the_checklist_and_the_page(hall: Path) -> None:
    packet = api.prepare(asked("north"), "swap.yaml", out="packet")
    said = (
        "common.cfg is named at east/frame.cfg:2, south/frame.cfg:2, too: if another machine reads it there, "
    )
    for page in ("checklist.md", "changes.md", "changes.html"):
        text = packet.pages[page].decode().replace("<wbr>", "").replace("&#39;", "'")
        assert f"{said}it gets the new values with this install." in text, page
    assert f"{said}it has the old values there again." in packet.pages["checklist.md"].decode()
    assert api.verify("packet") == ()
    (hall / "east" / "frame.cfg").write_text("[elsewhere]\nname = east\n")
    assert api.verify("packet") == (), "who else reads it is of the day on which it was prepared"


def test_a_fleet_s_summary_says_which_edited_files_are_not_one_machine_s_alone(
    cli: Runner, hall: Path
) -> None:
    fleet = "".join(f"  {name}: {{config: [hall/{name}, hall/common.cfg]}}\n" for name in NAMES[:2])
    Path("fleet.yaml").write_text(f"sheet: swap.yaml\nmachines:\n{fleet}")
    said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
    told = " ".join(said.out.split())
    assert "Files that several packets edit" in told and "east/frame.cfg:2" in told
    (shared,) = json.loads(Path("out", "summary.json").read_bytes())["shared_files"]
    assert shared["machines"] == ["north", "south"] and "east/frame.cfg:2" in shared["named_at"]
    page = Path("out", "summary.html").read_text(encoding="utf-8").replace("<wbr>", "")
    assert "is edited by several packets" in page and "east/frame.cfg:2" in page
    before = contents(hall)
    assert cli("install", "out/north").status == 0
    late = cli("install", "out/south")
    assert late.status == 3 and "Prepare a new packet" in late.err
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    assert cli("install", "out/south").status == 0
    assert cli("revert", "out/north").status == 0 and cli("revert", "out/south").status == 0
    assert contents(hall) == before


def test_what_a_machine_reads_that_keeps_its_drive_is_written_for_no_other_whatever_the_site_file_says(
    cli: Runner, hall: Path
) -> None:
    (hall / "east" / "frame.cfg").write_text("lamp = 7\n[reach]\nx highest = 210 mm\n")  # names no file
    machines = (
        "  north: {config: [hall/north, hall/common.cfg]}\n  east: {config: [hall/east, hall/common.cfg]"
    )
    fleet = "sheet: swap.yaml\nmachines:\n" + machines
    for answer in ("", "shared: {common.cfg: swapped together}\n"):
        (hall / "cfgmigrate.yaml").write_text(f"site: 1\n{answer}")
        Path("fleet.yaml").write_text(fleet + ", keeps_drive: yes}\n")
        said = cli("prepare", "--fleet", "fleet.yaml", "-o", "out")
        assert "east keeps its drive: no packet" in " ".join(said.out.split())
        assert "east keeps its drive" in Path("out", "summary.html").read_text(encoding="utf-8")
        assert not Path("out", "east").exists()
        plan = api.open_packet("out/north").plan
        assert {edit.file for change in plan.changes for edit in change.edits} == {"north/frame.cfg"}
        said_why = [
            each.why
            for each in (*plan.by_hand, *plan.doubts)
            if "fleet.yaml:4 east, which keeps its drive" in each.why
        ]
        assert said_why and not [each for each in api.verify("out/north") if "recorded" in each]
    (hall / "cfgmigrate.yaml").write_text("site: 1\nshared: {common.cfg: swapped together}\n")
    Path("fleet.yaml").write_text(fleet.replace("  east", "#  east") + ", keeps_drive: yes}\n")
    assert cli("prepare", "--fleet", "fleet.yaml", "-o", "out").status == 0
    plan = api.open_packet("out/north").plan
    assert "common.cfg" in {edit.file for change in plan.changes for edit in change.edits}


def test_another_machine_s_install_says_nothing_of_what_this_one_s_own_files_hold(hall: Path) -> None:
    """A machine that was swapped by hand looks so, whatever was installed beside it."""
    own = hall / "south" / "frame.cfg"
    own.write_text(
        own.read_text().replace("21.32", "24.69").replace("4.2 mm", "0.8 mm").replace("0.42", "0.06")
    )
    for before in ((), ("north",)):
        installed(*before)
        with pytest.raises(Refused, match="this looks swapped already"):
            api.prepare(asked("south"), "swap.yaml", out="south")


@pytest.fixture
def one(hall: Path) -> Path:
    """A machine alone in its folder, with a profile and a history of one install."""
    for name in NAMES:
        shutil.rmtree(hall / name)
    text = OWN.format(name="north", number=1).replace("[include ../", "[include ")
    head, _, flow = text.partition("[retraction]")
    (hall / "frame.cfg").write_text(head + "[flow]" + flow.partition("[flow]")[2])
    (hall / "grey.cfg").write_text(
        "[filament]\nname = grey\nmaterial = PLA\n\n[retraction]\nlength = 4.1 mm\n"
    )
    api.prepare("hall", "swap.yaml", out="first")
    assert api.install("first").written
    return hall


def test_one_machine_whose_file_went_on_as_another_is_told_of_its_own_steps(cli: Runner, one: Path) -> None:
    """The old one is kept beside it, and a filament came since."""
    text = (one / "common.cfg").read_text()
    (one / "common.cfg").write_text("# superseded by reach.cfg\n" + text)
    (one / "reach.cfg").write_text(text)
    whole = (one / "frame.cfg").read_text().replace("common.cfg", "reach.cfg")
    (one / "frame.cfg").write_text(whole)
    (one / "white.cfg").write_text((one / "grey.cfg").read_text().replace("grey", "white"))
    there = api.status("hall")
    assert [each["entry"] for each in there.in_force] == [1] and there.by_hand and not there.others
    assert {each["light"]: each["state"] for each in there.lights}["current"] == "unknown"
    assert "another machine" not in cli("status", "hall").out


def test_one_machine_a_file_of_which_is_a_link_by_now_is_told_of_its_own_steps(one: Path) -> None:
    (one / "common.cfg").rename(one / "reach.real")
    (one / "common.cfg").symlink_to("reach.real")
    there = api.status("hall")
    assert [each["entry"] for each in there.in_force] == [1] and not there.others


@pytest.mark.parametrize("stays", [False, True])
def test_one_machine_with_a_renamed_profile_is_not_said_to_be_several(one: Path, stays: bool) -> None:
    own = (one / "grey.cfg").read_text()
    (one / "grey.cfg").rename("grey.cfg" if stays else one / "ash.cfg")
    if stays:
        (one / "white.cfg").write_text(own.replace("grey", "white"))
    measured = "measured:\n  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 4, storeys: 9}\n"
    Path("measured.yaml").write_text(measured + "sheet: swap.yaml\n")
    api.tune("hall", "measured.yaml", out="second")
    assert api.install("second").written
    if stays:
        Path("grey.cfg").rename(one / "grey.cfg")
    assert not api.status("hall").several
    record = api.report("hall")
    assert "Several machines" not in record and "(frame.cfg)" not in record


def test_a_single_file_may_be_named(cli: Runner, one: Path) -> None:
    for command in ("history", "report"):
        assert cli(command, "hall/frame.cfg").status == 0, command
    assert entries("hall/frame.cfg") == [1]
