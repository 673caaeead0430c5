"""A fleet file says which machines there are; what is wrong in it is told at once, each with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.fleet.file import LONGEST_FLEET_FILE, WRITTEN, Fleet, read_fleet, sheet_of
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import parse_sheet

SHARED = b"""\
machine: any
old: {drive: tube-fed, tube: {length: 420 mm, bore: 2.0 mm}}
new:
  drive_gear: {gear_ratio: 46:15 x 3:1, effective_diameter: 7.33 \xc2\xb1 0.06 mm}
  driver: {part: TMC2209, set_by: serial}
clearance: {highest_z: 188.5 mm, keep_clear: 2 mm}
"""


def fleet_of(text: str, folder: Path) -> Fleet:
    file = folder / "fleet.yaml"
    file.write_bytes(text.encode())
    return read_fleet(file)


def test_paths_count_from_the_fleet_file(tmp_path: Path) -> None:
    (wren, dunlin) = fleet_of(
        "sheet: swap.yaml\nnames: n.yaml\nmachines:\n  Wren: printers/wren\n"
        "  Dunlin: {config: [dunlin, /srv/limits.h], sheet: own.yaml, names: mine.yaml, dialect: flat}\n",
        tmp_path,
    ).machines
    assert (wren.config, wren.sheet, wren.names) == (
        (tmp_path / "printers" / "wren",), tmp_path / "swap.yaml", tmp_path / "n.yaml",
    )  # fmt: skip
    assert dunlin.config == (tmp_path / "dunlin", Path("/srv/limits.h"))
    assert (dunlin.sheet, dunlin.names) == (tmp_path / "own.yaml", tmp_path / "mine.yaml")
    assert (wren.dialects, dunlin.dialects) == ({}, {"*": "flat"})


def test_dialects_may_be_said_by_file(tmp_path: Path) -> None:
    (knot,) = fleet_of(
        "sheet: s.yaml\nmachines:\n  Knot: {config: knot, dialect: {a.txt: flat, b.nc: command}}\n", tmp_path
    ).machines
    assert knot.dialects == {"a.txt": "flat", "b.nc": "command"}


def test_what_is_otherwise_on_a_machine_takes_the_place_of_the_shared_sheets_and_the_rest_stays(
    tmp_path: Path,
) -> None:
    (wren,) = fleet_of(
        "sheet: s.yaml\nmachines:\n  Wren:\n    config: wren\n    differs:\n"
        "      old: {tube: {length: 380 ± 5 mm}}\n      clearance:\n      surroundings: {air: 41 degC}\n",
        tmp_path,
    ).machines
    shared = parse_sheet(SHARED, "s.yaml")
    written = sheet_of(wren, shared)
    entries = {path: entry.text for path, entry in parse_sheet(written, "wren.yaml").entries.items()}
    wanted = {path: entry.text for path, entry in shared.entries.items() if not path.startswith("clearance")}
    wanted |= {"machine": "Wren", "old.tube.length": "380 ± 5 mm", "surroundings.air": "41 degC"}
    assert entries == wanted
    marked = [
        line.split(":")[0].strip() for line in written.decode().splitlines() if "of this machine" in line
    ]
    assert marked == ["length", "air"]
    assert written.startswith(WRITTEN.encode())


@pytest.mark.parametrize("value", ["50:9", "12:30", "46:15 x 3:1", "3", "1e1"])
def test_a_value_comes_into_a_machines_sheet_as_it_was_written(value: str, tmp_path: Path) -> None:
    (wren,) = fleet_of(
        f"sheet: s.yaml\nmachines:\n  Wren: {{config: w, differs: {{new: {{drive_gear: {{gear_ratio: {value}}}}}}}}}\n",
        tmp_path,
    ).machines
    entries = parse_sheet(sheet_of(wren, parse_sheet(SHARED, "s")), "w").entries
    assert entries["new.drive_gear.gear_ratio"].text == value.strip("'")


WRONG = {
    "no machines": ("sheet: s.yaml\n", ":1:1", "a fleet has machines"),
    "an empty file": ("", ": ", "a fleet file holds fields"),
    "a list of machines": ("sheet: s\nmachines: [wren]\n", ":2:11", "one field a machine"),
    "an unknown field": ("sheet: s\nmachines: {W: w}\nfolder: x\n", ":3:1", "there is no field folder"),
    "a field that is nearly right": ("sheet: s\nmachines:\n  W: {confg: w}\n", ":3:3", "Did you mean config"),
    "no sheet": ("machines:\n  Wren: wren\n", ":2:3", "no sheet is said for Wren"),
    "no files": ("sheet: s\nmachines:\n  Wren: {differs: {}}\n", ":3:3", "Wren has no files"),
    "a machine of nothing": ("sheet: s\nmachines:\n  Wren:\n", ":3:", "a machine (Wren) holds fields"),
    "a path that is no text": ("sheet: {a: b}\nmachines: {W: w}\n", ":1:8", "sheet is one line of text"),
    "a name that leads out": ("sheet: s\nmachines:\n  ../x: w\n", ":3:3", "can't be a machine's name"),
    "a hidden name": ("sheet: s\nmachines:\n  .x: w\n", ":3:3", "can't be a machine's name"),
    "a name with a slash": ("sheet: s\nmachines:\n  a/b: w\n", ":3:3", "can't be a machine's name"),
    "a name that ends with a dot": ("sheet: s\nmachines:\n  a.: w\n", ":3:3", "can't be a machine's name"),
    "the summary's own name": ("sheet: s\nmachines:\n  Summary.html: w\n", ":3:3", "taken by the summary"),
    "names alike but for case": ("sheet: s\nmachines:\n  Wren: a\n  wren: b\n", ":4:3", "one folder on some disks"),
    "a name twice": ("sheet: s\nmachines:\n  Wren: a\n  Wren: b\n", ":4:3", "a second time"),
    "an unknown dialect": ("sheet: s\nmachines:\n  W: {config: w, dialect: latin}\n", ":3:27", "no dialect 'latin'"),
    "a field the sheet hasn't": (
        "sheet: s\nmachines:\n  W:\n    config: w\n    differs: {carriage: {oldmass: 3 g}}\n", ":5:26", "old_mass",
    ),
    "a wrong unit": (
        "sheet: s\nmachines:\n  W:\n    config: w\n    differs: {carriage: {old_mass: 3 mm}}\n", ":5:36", "old_mass",
    ),
    "no YAML": ("sheet: [\n", ":2:1", "not YAML"),
}  # fmt: skip


@pytest.mark.parametrize("wrong", WRONG)
def test_a_wrong_fleet_file_is_one_error_with_its_place(wrong: str, tmp_path: Path) -> None:
    text, place, said = WRONG[wrong]
    with pytest.raises(BadInput) as raised:
        fleet_of(text, tmp_path)
    assert str(raised.value).startswith(f"{tmp_path / 'fleet.yaml'}{place}")
    assert said in str(raised.value)


@pytest.mark.parametrize("second", ["pr/dunlin/.", "pr/../pr/dunlin", "linked", "pr/gone/../dunlin"])
def test_one_folder_under_two_names_is_one_machine(tmp_path: Path, second: str) -> None:
    (tmp_path / "pr" / "dunlin").mkdir(parents=True)
    (tmp_path / "pr" / "gone").mkdir()
    (tmp_path / "linked").symlink_to(tmp_path / "pr" / "dunlin")
    with pytest.raises(BadInput) as refused:
        fleet_of(f"sheet: s.yaml\nmachines:\n  A: pr/dunlin\n  C: pr/gone\n  B: {second}\n", tmp_path)
    assert "B has the same files as A on line 3" in refused.value.what


def test_all_mistakes_are_told_at_once_in_the_order_of_the_lines(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as raised:
        fleet_of("machines:\n  .x: w\n  Wren: wren\n  Dunlin: {sheet: s}\ncolour: red\n", tmp_path)
    lines = [
        int(line.split("fleet.yaml:")[1].split(":")[0])
        for line in str(raised.value).splitlines()
        if "fleet.yaml:" in line
    ]
    assert lines == sorted(lines) and set(lines) == {2, 3, 4, 5}


def test_a_fleet_file_without_end_is_not_read_to_its_end(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="bytes"):
        fleet_of("#" * (LONGEST_FLEET_FILE + 1), tmp_path)


def test_a_machine_that_keeps_its_drive_stands_by_itself_and_needs_no_sheet(tmp_path: Path) -> None:
    fleet = fleet_of(
        "machines:\n  Wren: {config: wren, sheet: s.yaml}\n  Knot: {config: [knot, shared], keeps_drive: yes}\n",
        tmp_path,
    )
    assert [machine.name for machine in fleet.machines] == ["Wren"]
    assert [machine.name for machine in fleet.keeping] == ["Knot"]
    with pytest.raises(BadInput, match="keeps_drive is yes or no"):
        fleet_of("sheet: s.yaml\nmachines:\n  Knot: {config: knot, keeps_drive: ja}\n", tmp_path)


def test_what_the_shared_sheet_says_of_filaments_by_name_stands_in_each_machine_s(tmp_path: Path) -> None:
    (wren,) = fleet_of("sheet: s.yaml\nmachines:\n  Wren: wren\n", tmp_path).machines
    own = b"filaments:\n  gum 92: {material: TPU, values: old}\n  'on': {diameter: 1.74 mm}\n"
    shared = parse_sheet(SHARED + own, "s.yaml")
    again = parse_sheet(sheet_of(wren, shared), "wren.yaml")

    def told(sheet: Sheet) -> dict[str, dict[str, str]]:
        return {
            str(holder): {path: entry.text for path, entry in said.items()}
            for holder, said in sheet.profiles.items()
        }

    assert told(again) == told(shared) and len(told(again)) == 2
