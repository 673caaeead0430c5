"""Somebody else's machine and what was in force before are told by honest words, and only where two files say the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.heads import (
    OWN_TEST,
    is_own_test,
    says_in_force,
    says_it_wins,
    says_past,
    says_to_look_at,
)
from cfgmigrate.files.marks import marks_of, somebody_elses

FLAT = "".join(
    f"{axis}.{key} = {value}\n"
    for axis in "xyz"
    for key, value in (("spmm", 84), ("high", 231), ("irun", 0.7))
)


def lists(name: str, sort: str, speed: int) -> str:
    """A machine whose lists name no axis."""
    axes = {"upper limit": [231, 222, 190], "pulses per mm": [84, 84, 420], "top speed": [speed, speed, 9]}
    return json.dumps({"about": name, sort: {**axes, "amps": [0.7, 0.7, 0.6]}}, indent=1)


def roles(folder: Path, files: dict[str, str]) -> tuple[dict[str, str], int]:
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    found = open_configuration([folder]).roles
    return {path: str(each.role) for path, each in found.items()}, len(found.questions)


def test_two_machines_whose_lists_name_no_axis_are_asked_about(tmp_path: Path) -> None:
    files = {
        "pipit.json": lists("the pipit", "printer", 200),
        "wagtail.json": lists("the wagtail", "rig", 120),
    }
    assert roles(tmp_path, files)[1] == 1


@pytest.mark.parametrize(
    "head",
    [
        "Dosing rig. NOT the printer of room 6",
        "for somebody else's machine, kept here",
        "The machine next door. Kept here because of the drawings only",
    ],
)
def test_a_file_that_says_it_is_not_the_printers_is_another_machine(tmp_path: Path, head: str) -> None:
    files = {
        "pipit.json": lists("the pipit of room 6", "printer", 200),
        "wagtail.json": lists(head, "rig", 120),
    }
    assert roles(tmp_path, files) == ({"pipit.json": "in force", "wagtail.json": "other machine"}, 0)


@pytest.mark.parametrize("what", ["demo settings the dealer gave, for HIS machine", "not our machine"])
def test_what_a_file_of_other_keys_says_of_somebody_elses_machine_counts_beside_a_machine(
    tmp_path: Path, what: str
) -> None:
    files = {"rook.conf": FLAT, "demo.json": json.dumps({"what": what, "pull_mm": 0.7, "lag_s": 0.04})}
    assert roles(tmp_path, files)[0] == {"rook.conf": "in force", "demo.json": "other machine"}


@pytest.mark.parametrize(
    "what", ["for her machine only until May", "the dealer gave his word", "for its machine"]
)
def test_what_says_nothing_of_somebody_elses_machine_leaves_it_in_force(tmp_path: Path, what: str) -> None:
    files = {"rook.conf": FLAT, "demo.json": json.dumps({"what": what, "pull_mm": 0.7, "lag_s": 0.04})}
    assert roles(tmp_path, files)[0]["demo.json"] == "in force"


def test_it_counts_too_beside_a_file_that_takes_the_machine_in(tmp_path: Path) -> None:
    files = {
        "rook/rook.ini": "include = ../hall/all.ini\n[pull]\nlength = 5\n",
        "hall/all.ini": "".join(f"[axis {axis}]\nsteps per mm = 84\nmax = 231\n" for axis in "xyz"),
        "rook/demo.json": json.dumps({"what": "demo settings, for his machine", "pull_mm": 0.7}),
    }
    assert roles(tmp_path, files)[0]["rook/demo.json"] == "other machine"


def test_where_the_machine_s_own_file_says_so_as_well_its_parts_stay(tmp_path: Path) -> None:
    said = "# for her machine\n"
    files = {"rook.conf": said + FLAT, "pull.conf": f"{said}pull.length = 0.7\n"}
    assert set(roles(tmp_path, files)[0].values()) == {"in force"}


@pytest.mark.parametrize(
    "head",
    ["on loan from the choir", "Tom lent me this", "Pin 14 is not to be used", "The maker sent me this"],
)
def test_what_may_be_said_of_a_part_or_a_visit_leaves_the_question_which_machine_is_meant(
    tmp_path: Path, head: str
) -> None:
    files = {
        "pipit.json": lists("the pipit of room 6", "printer", 200),
        "wagtail.json": lists(head, "rig", 120),
    }
    assert roles(tmp_path, files)[1] == 1


@pytest.mark.parametrize("path", ["neighbour/dunnock.conf", "for my cousin.conf", "borrowed-dunnock.conf"])
def test_of_two_machines_one_that_is_somebody_elses_by_its_name_is_left(tmp_path: Path, path: str) -> None:
    own = "".join(f"p7.{line}\n" for line in FLAT.splitlines())
    other = "".join(f"p8.{line}\n" for line in FLAT.replace("231", "180").splitlines())
    assert roles(tmp_path, {"p7.conf": own, path: other}) == (
        {"p7.conf": "in force", path: "other machine"},
        0,
    )


def test_a_machine_under_another_mark_in_its_keys_is_asked_about_where_nothing_says_whose_it_is(
    tmp_path: Path,
) -> None:
    files = {f"p{n}.conf": "".join(f"p{n}.{line}\n" for line in FLAT.splitlines()) for n in (7, 8)}
    assert roles(tmp_path, files)[1] == 1


def test_a_friends_file_alone_is_the_machine(tmp_path: Path) -> None:
    """A mark alone is nothing: nothing here could be meant instead."""
    assert roles(tmp_path, {"friends_printer.conf": FLAT}) == ({"friends_printer.conf": "in force"}, 0)


@pytest.mark.parametrize(
    "path",
    [
        "attic/rook.conf",
        "superseded/rook_r4.conf",
        "rook last winter.conf",
        "laid aside/rook.conf",
        "rook no longer.conf",
        "earlier/rook 3 august.conf",
    ],
)
def test_a_name_that_speaks_of_before_makes_a_copy(tmp_path: Path, path: str) -> None:
    files = {"rook.conf": FLAT, path: FLAT.replace("231", "228")}
    assert roles(tmp_path, files) == ({"rook.conf": "in force", path: "kept copy"}, 0)


@pytest.mark.parametrize(
    "said", ["kept, spring, before the new screw", "Kept. was worse", "old: of May", "put away"]
)
def test_a_file_that_begins_by_saying_that_it_is_kept_is_a_copy_of_one_that_sets_the_same(
    tmp_path: Path, said: str
) -> None:
    part = "".join(FLAT.splitlines(keepends=True)[:5]).replace("84", "80").replace("231", "228")
    files = {"rook spring.conf": f"# {said}\n{part}", "rook.conf": f"# kept in step with the wren\n{FLAT}"}
    assert roles(tmp_path, files) == ({"rook spring.conf": "kept copy", "rook.conf": "in force"}, 0)


@pytest.mark.parametrize(
    "said",
    [
        "set by: the board",
        "kept: all of rook",
        "old, but still ours",
        "Old (its name)",
        "laid aside. Used again",
    ],
)
def test_a_live_file_may_begin_so_as_well(tmp_path: Path, said: str) -> None:
    assert roles(tmp_path, {"a.conf": FLAT, "b.conf": f"# {said}\n{FLAT.replace('231', '228')}"})[1] == 1


@pytest.mark.parametrize("said", ["Revision 4, superseded by 6", "no longer in use", "as it was last spring"])
def test_of_two_alike_the_one_that_says_it_is_superseded_is_a_copy(tmp_path: Path, said: str) -> None:
    files = {"a_rook.conf": f"# {said}\n{FLAT}", "b_rook.conf": f"# revision 6\n{FLAT.replace('231', '228')}"}
    assert roles(tmp_path, files) == ({"a_rook.conf": "kept copy", "b_rook.conf": "in force"}, 0)


@pytest.mark.parametrize(
    "said",
    [
        "the printer of room 6, with the big one's bed",
        "belt replaced by hand",
        "last layer: see below",
        "a new nozzle is lent to anybody who asks",
        "measured anew last week",
        "the old hot end, no longer in use",
        "obsolete parts are in the box",
        "This was out of date; now put right",
        "no longer in use: the second fan",
        "Replaced by rev 3 of the head in May",
        "the belt was replaced with 2 mm pitch",
        "kept as a record of the live machine",
        "not superseded. No longer in use? No",
        "not only to look at: these count",
        "rook.conf is only to look at",
        "was only lent, and is ours now",
        "The maker sent me this",
        "this is not the machine to hurry",
        "not this machine alone",
        "the cover is not mine",
    ],
)
def test_a_head_that_speaks_of_something_else_says_nothing(said: str) -> None:
    document = read("rook.conf", f"# {said}\n{FLAT}".encode(), "flat")
    assert not says_past(document)
    assert not says_to_look_at(document)


@pytest.mark.parametrize(
    ("head", "role"),
    [
        ("read back on Monday; in force.", "saved values"),
        ("no longer in force.", "no configuration"),
        ("was in force until May.", "no configuration"),
    ],
)
def test_a_log_that_says_that_it_is_in_force_is_read(tmp_path: Path, head: str, role: str) -> None:
    said = f"; {head}\nM92 X80 Y80\n"
    assert roles(tmp_path, {"dunnock.conf": FLAT, "dunnock.log": said})[0]["dunnock.log"] == role


@pytest.mark.parametrize(
    ("said", "wins"),
    [
        ("wins over what the card says", True),
        ("These values are loaded last", True),
        ("Each hall's own file comes after this and wins over both", False),
        ("the panel's text overrides what is here", False),
        ("this is overridden by the hall's own file", False),
    ],
)
def test_who_wins_is_the_file_itself_only_where_nobody_else_is_spoken_of(said: str, wins: bool) -> None:
    document = read("rook.conf", f"# {said}\n{FLAT}".encode(), "flat")
    assert bool(says_it_wins(document)) is wins


@pytest.mark.parametrize(
    ("said", "so"), [("in force.", True), ("each hall's own file is in force here", False)]
)
def test_what_is_said_to_be_in_force_may_be_another_file(said: str, so: bool) -> None:
    assert says_in_force(read("rook.conf", f"# {said}\n{FLAT}".encode(), "flat")) is so


def test_last_alone_is_no_mark() -> None:
    assert not marks_of("last_layer.conf").directed
    assert marks_of("rook_last_term.conf").directed == ("last term",)
    assert marks_of("rook 3 August 2024.conf").directed == ("3 August 2024",)
    assert not marks_of("3 marches.conf").directed
    assert not somebody_elses("printer/steps.conf")


@pytest.mark.parametrize(
    "said", [OWN_TEST, "a test script, written by cfgmigrate: no configuration"], ids=["now", "before"]
)
def test_a_test_script_is_known_by_what_it_says_and_by_what_it_said_before(said: str) -> None:
    text = f"; Retraction tower\n; {said}\n;\nG28\nG1 X10 F1200\n"
    assert is_own_test(read("tower.nc", text.encode(), "command"))
