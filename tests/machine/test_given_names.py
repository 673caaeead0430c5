"""What files call the machine, and which machine a profile is for, is read in any spelling; what is no name is none."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.given_names import name_of_machine, same_name
from cfgmigrate.machine.model import GivenName
from cfgmigrate.machine.recognise import recognise


def names(dialect: str, text: str, role: Role = Role.IN_FORCE, said: bool = False) -> list[str]:
    roles = FileSet({"a": FileRole("a", role, "said in the test", said)})
    return [each.name for each in recognise([read("a", text.encode(), dialect)], roles=roles).given_names]


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("sectioned", "[machine]\nname = Plover\n"),
        ("sectioned", "[printer]\nlabel: Plover, in the shed\n"),
        ("flat", "machine.name=Plover\n"),
        ("flat", "called = Plover\n"),
        ("flat", "machine = Plover\n"),
        ("header", '#define MACHINE_NAME "Plover"\n'),
        ("header", '#define NAME_OF_MACHINE "Plover"\n'),
        ("header", '#define CALLED "Plover"\n'),
        ("nested", '{"machine": {"name": "Plover"}}'),
        ("nested", '{"our printer": {"called": "Plover"}}'),
    ],
)
def test_a_machine_is_called_something(dialect: str, text: str) -> None:
    assert names(dialect, text) == ["Plover"]


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("sectioned", "[machine]\nkind = Plover\n"),
        ("sectioned", "[machine]\nsensor name = Plover\n"),
        ("sectioned", "[machine]\nname = /dev/plover\n"),
        ("sectioned", "[machine]\nname = 12\n"),
        ("flat", "machine = cartesian\n"),
        ("flat", "machine = Cartesian\n"),
        ("flat", "name = fast as it can\n"),
        ("header", '#define NAME "Plover"\n'),
        ("header", '#define NAME_OF_FAN_MACHINE "Plover"\n'),
        ("header", '// #define MACHINE_NAME "Plover"\n'),
    ],
)
def test_what_is_no_name_of_a_machine_is_none(dialect: str, text: str) -> None:
    assert names(dialect, text) == []


@pytest.mark.parametrize(
    "line",
    ["for machine = plover; dotterel", "fits printers: plover, dotterel", "made for rig = plover|dotterel"],
)
def test_a_profile_may_be_for_several_machines(line: str) -> None:
    text = f"[profile]\nname = trays\n{line}\n[layer]\nheight = 0.2\n"
    assert names("sectioned", text, Role.PROFILE) == ["plover", "dotterel"]


def test_a_profile_that_is_said_to_be_one_is_not_asked_for_whom() -> None:
    text = "[profile]\nname = trays\nfor machine = Plover\n"
    assert names("sectioned", text, Role.PROFILE, said=True) == []


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Plover", "plover", True),
        ("Plover", "Plover, in the shed", True),
        ("sand plover", "SandPlover", True),
        ("Plover", "Dotterel", False),
        ("Plover", "Plover 2", False),
        ("Plover 1", "Plover 2", False),
        ("Plover in the shed", "Plover in the attic", False),
    ],
)
def test_a_name_with_more_words_is_the_same_and_one_with_a_number_more_is_not(
    one: str, other: str, same: bool
) -> None:
    assert same_name(one, other) is same_name(other, one) is same


@pytest.mark.parametrize(
    ("line", "called"),
    [
        ("for machine = plover", ["plover"]),
        ("fits machines = plover, heron", ["plover", "heron"]),
        ("machine = plover", []),
    ],
)
def test_a_profile_says_for_which_machines_it_is(line: str, called: list[str]) -> None:
    assert names("flat", f"{line}\n", Role.PROFILE) == called


def test_a_machine_goes_by_the_one_name_that_its_files_give_it_else_by_its_folder() -> None:
    one, other = (GivenName(name, Place("a", 1, 1)) for name in ("Plover", "Wren"))
    assert name_of_machine([one], "files") == "Plover"
    assert name_of_machine([], "files") == name_of_machine([one, other], "files") == "files"
