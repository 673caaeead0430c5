"""The commands from outside: what they print, which exit status they give, and what they leave on the disk.

Exit status: 0 done; 1 the answer is no; 2 wrong usage or unreadable input; 3 refused. Most cases run in this
process through `cfgmigrate.cli.run`, the same function that the installed command calls; a few run the
installed command itself.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from commandline import Runner

import cfgmigrate
from cfgmigrate import __version__
from cfgmigrate.cli import COMMANDS, run
from cfgmigrate.cli.json_ids import with_first_ids
from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.files.site import SITE_FIELDS
from cfgmigrate.machine.names import is_meaning, meanings

SAMPLES = data_folder("sample_configs")


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder a person works in: both sample machines and their sheets."""
    for machine in ("wren", "dunlin"):
        shutil.copytree(SAMPLES / machine, tmp_path / machine)
        shutil.copyfile(SAMPLES / "sheets" / f"{machine}.yaml", tmp_path / f"{machine}.yaml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def everything(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def configuration(folder: Path) -> dict[str, bytes]:
    """The files of a configuration, without what the tool keeps beside them."""
    return {name: data for name, data in everything(folder).items() if not name.startswith(".")}


# --- the way through ------------------------------------------------------------------------------------


@pytest.mark.parametrize("machine", ["wren", "dunlin"])
def test_survey_prepare_verify_install_revert(cli: Runner, desk: Path, machine: str) -> None:
    before = configuration(desk / machine)
    assert cli("survey", machine).status == 0
    made = cli("prepare", machine, "--sheet", f"{machine}.yaml", "-o", "packet")
    assert (made.status, made.err) == (0, "")
    for name in (
        "changes.json",
        "changes.md",
        "changes.html",
        "checklist.md",
        "forward.patch",
        "revert.patch",
    ):
        assert (desk / "packet" / name).is_file()
    assert configuration(desk / machine) == before
    assert cli("verify", "packet").status == 0
    assert cli("install", "packet", "--dry-run").status == 0
    assert configuration(desk / machine) == before
    assert cli("install", "packet").status == 0
    assert configuration(desk / machine) != before
    assert cli("revert", "packet", "--dry-run").status == 0
    assert configuration(desk / machine) != before
    assert cli("revert", "packet").status == 0
    assert configuration(desk / machine) == before


def test_a_folder_with_files_of_both_dialects_goes_there_and_back(cli: Runner, desk: Path) -> None:
    """Wren with its slicing profile in the other dialect."""
    profile = (
        b"\xef\xbb\xbf; profile\r\nretraction.length = 4.6 mm\r\nretraction.speed = 35 mm/s\r\n"
        b"retraction.return.speed\t30 mm/s\r\n; note: 0.2 \xb5m\r\nlayer.height = 0.2"
    )
    (desk / "wren" / "slicing.conf").unlink()
    (desk / "wren" / "profile.txt").write_bytes(profile)
    before = configuration(desk / "wren")
    found = json.loads(cli("survey", "wren", "--json").out)
    assert {file["dialect"] for file in found["files"]} == {"sectioned", "flat"}
    assert cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet").status == 0
    plan = json.loads((desk / "packet" / "changes.json").read_bytes())
    touched = {edit["file"] for change in plan["changes"] for edit in change["edits"]}
    assert {"feed.conf", "frame.conf", "profile.txt"} <= touched
    assert cli("install", "packet").status == 0
    after = configuration(desk / "wren")
    assert after["profile.txt"].startswith(b"\xef\xbb\xbf; profile\r\nretraction.length = 0.65")
    assert after["profile.txt"].endswith(b"; note: 0.2 \xb5m\r\nlayer.height = 0.2")
    assert cli("revert", "packet").status == 0
    assert configuration(desk / "wren") == before


def test_the_demo_goes_the_whole_way_and_says_where_to_look(cli: Runner, desk: Path) -> None:
    said = cli("demo", "shown")
    assert (said.status, said.err) == (0, "")
    assert "byte for byte" in said.out
    for name in ("changes.html", "checklist.md", "revert.patch"):
        assert str(Path("shown") / "packet" / name) in said.out
        assert (desk / "shown" / "packet" / name).is_file()
    assert configuration(desk / "shown" / "wren") == configuration(SAMPLES / "wren")


def test_the_demo_leaves_a_folder_in_use_alone(cli: Runner, desk: Path) -> None:
    before = everything(desk)
    said = cli("demo", "wren")
    assert said.status == 3
    assert "wren" in said.err
    assert everything(desk) == before


# --- one JSON document and nothing else -------------------------------------------------------------------


def test_survey_says_where_everything_stands_as_json(cli: Runner, desk: Path) -> None:
    found = json.loads(cli("survey", "dunlin", "--json").out)
    assert {"files", "quantities", "protected", "unrecognised", "doubts"} <= set(found)
    steps = found["quantities"]["feeder.steps_per_mm"]
    assert (steps["value"], steps["text"], steps["file"], steps["unit"]) == (
        202.0,
        "202.0",
        "feed.txt",
        "1/mm",
    )
    line = (desk / "dunlin" / "feed.txt").read_text().splitlines()[steps["line"] - 1]
    assert line[steps["column"] - 1 :].startswith("202.0")
    assert {"path", "dialect", "settings", "lines", "understood"} <= set(found["files"][0])


def test_json_calls_quantities_by_their_first_ids_and_both_may_be_typed(cli: Runner, desk: Path) -> None:
    """Scripts that read JSON outlive a better name: the first release said so."""
    found = json.loads(cli("survey", "wren", "--json").out)
    ids = {each["quantity"] for each in found["readings"]}
    assert {"feeder.rotation_distance", "axis.x.max_accel"} <= ids | found["quantities"].keys()
    assert not {"feeder.feed_per_turn", "axis.x.max_acceleration"} & (ids | found["quantities"].keys())
    for name in ("feeder.rotation_distance", "feeder.feed_per_turn"):
        assert "feed per turn" in cli("explain", name).out.lower()


def test_every_command_with_json_prints_one_document(cli: Runner, desk: Path) -> None:
    made = json.loads(cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet", "--json").out)
    written = json.loads((desk / "packet" / "changes.json").read_bytes())
    assert made == with_first_ids(written) and made.keys() == written.keys()
    assert json.loads(cli("verify", "packet", "--json").out)["holds"] is True
    assert json.loads(cli("install", "packet", "--json").out)["written"] is True
    assert json.loads(cli("history", "wren", "--json").out)
    assert json.loads(cli("revert", "packet", "--json").out)["written"] is True
    compared = json.loads(cli("compare", "wren", "dunlin", "--json").out)
    assert {"differences", "only_old", "only_new", "same"} <= set(compared)


# --- the answer is no: 1 ------------------------------------------------------------------------------------


def test_compare_is_0_where_they_mean_the_same_and_1_where_not(cli: Runner, desk: Path) -> None:
    shutil.copytree("wren", "other")
    feed = Path("other/feed.conf")
    feed.write_text(feed.read_text().replace("microstepping = 16", "microstepping   =   16.0"))
    assert cli("compare", "wren", "other").status == 0
    feed.write_text(feed.read_text().replace("gear ratio = 14:5", "gear ratio = 4:1"))
    said = cli("compare", "wren", "other")
    assert said.status == 1
    assert "Gear ratio  2.8 → 4" in said.out


def test_verify_is_1_where_a_packet_does_not_hold_and_names_the_file(cli: Runner, desk: Path) -> None:
    cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet")
    patch = desk / "packet" / "revert.patch"
    patch.write_bytes(patch.read_bytes().replace(b"21.38", b"21.39"))
    said = cli("verify", "packet")
    assert said.status == 1
    assert "revert.patch" in said.out


# --- a doubt is shown with its place, and a names file settles it ---------------------------------------------


def test_a_unit_in_doubt_is_shown_with_file_line_and_column_and_settled_by_a_names_file(
    cli: Runner, desk: Path
) -> None:
    """Whether 150 is in mm/s or mm/min, the file does not say, and both could be."""
    profile = Path("wren/slicing.conf")
    profile.write_text(profile.read_text().replace("retraction speed = 35 mm/s", "retraction speed = 150"))
    found = json.loads(cli("survey", "wren", "--json").out)
    (doubt,) = [doubt for doubt in found["doubts"] if doubt["file"] == "slicing.conf"]
    line, column = doubt["line"], doubt["column"]
    assert profile.read_text().splitlines()[line - 1][column - 1 :] == "150"
    assert "mm/s or mm/min" in doubt["why"]
    assert "retraction.speed" not in found["quantities"]
    assert f"slicing.conf:{line}:{column}" in cli("survey", "wren").out
    Path("names.yaml").write_text(
        '"[retraction] retraction speed": {quantity: retraction.speed, unit: mm/min}\n'
    )
    found = json.loads(cli("survey", "wren", "--names", "names.yaml", "--json").out)
    assert found["doubts"] == []
    (speed,) = [each for each in found["readings"] if each["quantity"] == "retraction.speed"]
    assert (speed["value"], speed["file"]) == (2.5, "slicing.conf")


def test_makers_figure_and_geometry_far_apart_are_a_doubt(cli: Runner, desk: Path) -> None:
    sheet = Path("wren.yaml")
    sheet.write_text(sheet.read_text().replace("feed_per_turn: 4.85 mm", "feed_per_turn: 5.25 mm"))
    cli("prepare", "wren", "--sheet", "wren.yaml", "-o", "packet")
    plan = json.loads(Path("packet/changes.json").read_bytes())
    assert any("%" in doubt["why"] or "apart" in doubt["why"] for doubt in plan["doubts"]), plan["doubts"]


# --- wrong usage and unreadable input: 2; refused: 3 ----------------------------------------------------------


@dataclass(frozen=True)
class Wrong:
    """Something wrong to give: how the desk is made so, the command line, and what the message must name."""

    line: str
    status: int
    says: tuple[str, ...]
    make: Callable[[], object] = lambda: None


def _sheet(old: str, new: str) -> Callable[[], object]:
    def make() -> object:
        sheet = Path("wren.yaml")
        text = sheet.read_text(encoding="utf-8")
        assert old in text
        return sheet.write_text(text.replace(old, new, 1), encoding="utf-8")

    return make


def _file(name: str, data: bytes) -> Callable[[], object]:
    def make() -> object:
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        return Path(name).write_bytes(data)

    return make


def _prepared() -> None:
    assert run(["prepare", "wren", "--sheet", "wren.yaml", "-o", "packet"]) == 0


def _prepared_and_edited() -> None:
    _prepared()
    feed = Path("wren/feed.conf")
    feed.write_text(feed.read_text().replace("gear ratio = 14:5", "gear ratio = 3.5:1"))


def _prepared_and_tampered() -> None:
    _prepared()
    after = Path("packet/after/frame.conf")
    after.write_bytes(after.read_bytes().replace(b"= 249", b"= 349"))


def _packet_in_the_way() -> None:
    Path("packet").mkdir()
    Path("packet/mine.txt").write_text("keep this")


PREPARE = "prepare wren --sheet wren.yaml -o packet"
WRONG = {
    "no command of that name": Wrong("surevy wren", 2, ("surevy", "survey")),
    "no option of that name": Wrong("survey wren --jsno", 2, ("--jsno",)),
    "no configuration named": Wrong("survey", 2, ("CONFIG",)),
    "no sheet named": Wrong("prepare wren -o packet", 2, ("--sheet",)),
    "a configuration that is not there": Wrong("survey wern", 2, ("wern",)),
    "a folder without configuration": Wrong("survey empty", 2, ("empty",), lambda: Path("empty").mkdir()),
    "a file that is no text": Wrong(
        "survey photo.bin", 2, ("photo.bin",), _file("photo.bin", b"\x89\0\0\1" * 40)
    ),
    "a file that is in no dialect": Wrong(
        "survey letter.txt",
        2,
        ("letter.txt", "--dialect"),
        _file("letter.txt", b"Dear all,\nthe nets are up, and the first terns have come.\n"),
    ),
    "no dialect of that name": Wrong("survey wren --dialect sectoined", 2, ("sectoined", "sectioned")),
    "a sheet that is not there": Wrong("prepare wren --sheet wern.yaml -o packet", 2, ("wern.yaml",)),
    "a sheet that is no YAML": Wrong(
        PREPARE, 2, ("wren.yaml:2:6", "YAML"), _file("wren.yaml", b"machine: Wren\nold: [1, 2\n")
    ),
    "a sheet that is a list": Wrong(PREPARE, 2, ("wren.yaml:1",), _file("wren.yaml", b"- Wren\n- tube\n")),
    "an unknown field": Wrong(
        PREPARE, 2, ("wren.yaml:3:1", "colour"), _file("wren.yaml", b"machine: Wren\n# paint\ncolour: grey\n")
    ),
    "a misspelt field": Wrong(
        PREPARE, 2, ("wren.yaml:", "holding_tork", "holding_torque"), _sheet("holding_torque", "holding_tork")
    ),
    "a wrong dimension": Wrong(
        PREPARE, 2, ("wren.yaml:9:18", "time", "length"), _sheet("length: 365 mm", "length: 365 s")
    ),
    "a negative length": Wrong(
        PREPARE, 2, ("wren.yaml:", "-365"), _sheet("length: 365 mm", "length: -365 mm")
    ),
    "a length without a unit that is one word too many": Wrong(
        PREPARE, 2, ("wren.yaml:", "wingspans"), _sheet("length: 365 mm", "length: 365 wingspans")
    ),
    "a gear ratio that is none": Wrong(
        PREPARE, 2, ("wren.yaml:", "56:0"), _sheet("gear_ratio: 56:11", "gear_ratio: 56:0")
    ),
    "a drive that is somewhere else": Wrong(
        PREPARE,
        2,
        ("wren.yaml:", "on the roof", "on the carriage"),
        _sheet("drive: on the carriage", "drive: on the roof"),
    ),
    "the same field twice": Wrong(
        PREPARE,
        2,
        ("wren.yaml:3",),
        _file("wren.yaml", b"machine: Wren\nfilament: {material: PLA}\nfilament: {material: ABS}\n"),
    ),
    "a names file with a quantity that is none": Wrong(
        "survey wren --names names.yaml",
        2,
        ("names.yaml:1", "axis.y.max_speed"),
        _file("names.yaml", b'"[axis y] max speed": axis.y.max_sped\n'),
    ),
    "a rule of one's own with a wrong unit": Wrong(
        f"{PREPARE} --rules mine",
        2,
        ("mine.lift.yaml:",),
        _file(
            "mine/mine.lift.yaml",
            b"label: lift\nunit: s\nsays: x\nways:\n  - way: half\n    needs: [new.tube.length]\n"
            b"    formula: new.tube.length / 2\n    status: computed\n    source: from memory\nverify: look\n",
        ),
    ),
    "no rule of that name": Wrong("explain motor.run_curent", 2, ("motor.run_curent", "motor.run_current")),
    "a part of several names": Wrong("explain retraction", 2, ("retraction.length", "retraction.speed")),
    "a packet that is none": Wrong("install wren", 2, ("wren",)),
    "a packet that is not there": Wrong("revert nowhere", 2, ("nowhere", "no such folder")),
    "a verdict of nobody taken back": Wrong("review packet --withdraw C1", 2, ("--as",), _prepared),
    "a record that is not there": Wrong("review packet --record mine.yaml", 2, ("mine.yaml",), _prepared),
    "a packet folder that holds something else": Wrong(PREPARE, 3, ("packet",), _packet_in_the_way),
    "a starter sheet over a file": Wrong("sheet wren -o wren.yaml", 3, ("wren.yaml",)),
    "a file that is no longer what was read": Wrong(
        "install packet", 3, ("feed.conf",), _prepared_and_edited
    ),
    "a packet that was tampered with": Wrong(
        "install packet", 3, ("after/frame.conf",), _prepared_and_tampered
    ),
    "a packet without the review that is asked for": Wrong(
        "install packet --require-review", 3, ("review",), _prepared
    ),
}


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG.keys())
def test_wrong_input_gets_one_clear_error_and_changes_nothing(cli: Runner, desk: Path, wrong: Wrong) -> None:
    wrong.make()
    before = everything(desk)
    said = cli(*wrong.line.split())
    assert said.status == wrong.status
    assert said.out == ""
    for part in wrong.says:
        assert part in said.err
    # one message: what and where in one line, and indented below it what to do
    heads = [line for line in said.err.splitlines() if line.strip() and not line.startswith(" ")]
    assert len([head for head in heads if head.startswith(("cfgmigrate: ", "Error: "))]) == 1
    assert len(heads) == 1 or heads[0].startswith("Usage: ")
    assert everything(desk) == before


def test_with_json_an_error_leaves_standard_output_empty(cli: Runner, desk: Path) -> None:
    said = cli("survey", "wern", "--json")
    assert (said.status, said.out) == (2, "")


# --- sheet and explain ------------------------------------------------------------------------------------------


def test_a_starter_sheet_is_filled_from_the_files_and_can_be_given_back(cli: Runner, desk: Path) -> None:
    said = cli("sheet", "wren", "-o", "mine.yaml")
    assert said.status == 0
    text = Path("mine.yaml").read_text(encoding="utf-8")
    assert "4.6" in text and "0.46" in text
    made = cli("prepare", "wren", "--sheet", "mine.yaml", "-o", "packet")
    assert (made.status, made.err) == (0, "")
    assert json.loads(Path("packet/changes.json").read_bytes())["changes"] == []


@pytest.mark.parametrize("field", sorted(SITE_FIELDS))
def test_explain_tells_the_fields_of_the_site_file(cli: Runner, field: str) -> None:
    said = cli("explain", field)
    assert said.status == 0
    assert SITE_FIELDS[field] in said.out


def test_explain_tells_the_two_files_by_which_a_person_says_what_settings_are(cli: Runner) -> None:
    assert all(field in cli("explain", "site").out for field in SITE_FIELDS)
    assert '"[section] key": QUANTITY' in cli("explain", "names").out


def test_explain_lists_the_rules_of_swap_and_tuning_and_tells_each(cli: Runner, desk: Path) -> None:
    listed = cli("explain", "--full")
    assert listed.status == 0
    swap, tuning = ([line.split()[0] for line in part.splitlines()[1:]] for part in listed.out.split("\n\n"))
    folder = Path(cfgmigrate.__file__).parent / "knowledge"
    assert set(swap) == {path.stem for path in (folder / "book").glob("*.yaml")}
    assert set(tuning) == {path.stem for path in (folder / "tuning").glob("*.yaml")}
    for name in (swap[0], swap[-1], *tuning):
        said = cli("explain", name, "--full")
        assert said.status == 0
        assert name in said.out and "source" in said.out
        assert [line for line in said.out.splitlines() if line.startswith("By the ")] == [
            title
            for title, names in (
                ("By the swap sheet (prepare)", swap),
                ("By the measured sheet (tune)", tuning),
            )
            if name in names
        ]
    shared = " ".join(cli("explain").out.split())
    short = " ".join(shared.replace("@", letter) for letter in ("x", "y", "@"))  # @ is both axes
    assert all(re.search(rf"\b{re.escape(name.partition('.')[2])}\b", short) for name in (*swap, *tuning))


def test_explain_marks_what_is_no_meaning_and_lists_all_meanings(cli: Runner) -> None:
    """Whatever stands in the list without a mark may be said of a setting."""
    for line in cli("explain").out.splitlines():
        for group in line.strip().split(" · ") if ": " in line and line.startswith(" ") else ():
            part, _, names = group.partition(": ")
            for name in names.split():
                marked = part.endswith("*") or name.endswith("*")
                told = f"{part.rstrip('*')}.{name.rstrip('*')}"
                assert {is_meaning(told.replace("@", axis)) for axis in "xy"} == {not marked}
    said = " ".join(cli("explain", "meanings").out.split())
    assert all(name.partition(".")[2] in said for name in meanings())


# --- the installed command ----------------------------------------------------------------------------------------


#: finds the package that is being tested, also where it runs from a checkout
WHERE = {**os.environ, "PYTHONPATH": str(Path(cfgmigrate.__file__).parents[1])}


def outside(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "cfgmigrate", *arguments],
        cwd=cwd,
        env=WHERE,
        text=True,
        capture_output=True,
        stdin=subprocess.DEVNULL,
        check=False,
    )


def test_help_names_every_command_and_version_the_version(tmp_path: Path) -> None:
    shown = outside("--help", cwd=tmp_path)
    assert (shown.returncode, shown.stderr) == (0, "")
    for command in COMMANDS:
        assert command in shown.stdout
    assert outside("--version", cwd=tmp_path).stdout.split()[-1] == __version__


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_help(cli: Runner, command: str) -> None:
    said = cli(command, "--help")
    assert (said.status, said.err) == (0, "")
    assert "Usage" in said.out


def test_the_installed_command_works_from_any_folder_and_gives_its_status(tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "dunlin", tmp_path / "dunlin")
    assert outside("survey", "dunlin", "--json", cwd=tmp_path).returncode == 0
    missing = outside("survey", "nothing", cwd=tmp_path)
    assert (missing.returncode, missing.stdout) == (2, "")
    assert "nothing" in missing.stderr
    assert "Traceback" not in missing.stderr


def test_a_reader_that_stops_early_is_no_error(tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "dunlin", tmp_path / "dunlin")
    piped = subprocess.run(
        f"'{sys.executable}' -m cfgmigrate survey dunlin | head -n 1",
        shell=True,
        cwd=tmp_path,
        env=WHERE,
        text=True,
        capture_output=True,
        stdin=subprocess.DEVNULL,
        check=False,
    )
    assert piped.returncode == 0
    assert piped.stderr == ""


def test_a_sheet_that_says_nothing_of_a_swap_is_told_of(cli: Runner, desk: Path) -> None:
    assert cli("sheet", "wren", "-o", "empty.yaml").status == 0
    said = cli("prepare", "wren", "--sheet", "empty.yaml", "-o", "nothing")
    assert said.status == 0
    assert 'empty.yaml says nothing of a swap yet: take away the "# "' in said.out


def test_an_interrupt_while_a_class_is_made_is_no_defect(
    cli: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("while a class is made") from KeyboardInterrupt()

    monkeypatch.setattr("cfgmigrate.api.survey", broken)
    said = cli("survey", "anywhere")
    assert said.status == 3 and said.err == "Stopped.\n"
