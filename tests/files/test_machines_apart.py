"""Two machines in one folder are asked about, and what is another's by its name or its own words goes with it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.configuration import open_configuration

#: machines that are called as their files are, whose axes go by words that nobody knows
_MACHINE = (
    "about:\n    name: {name}\nsideways:\n    pulses_mm: 80\n    to: {reach}\nfore:\n    pulses_mm: 80\n    to: {reach}\n"
    "wire_drive:\n    pulses_mm: 91\n    amps: 0.7\nsuck:\n    by: 5.1\n    pace: 40\n"
)


def _lay(where: Path, **files: str) -> Path:
    for name, text in files.items():
        (where / name.replace("__", ".").replace("_", " ")).write_text(text)
    return where


def test_two_files_that_call_themselves_by_their_own_names_are_two_machines(tmp_path: Path) -> None:
    place = _lay(
        tmp_path,
        barge__txt=_MACHINE.format(name="barge", reach=230),
        skiff__txt=_MACHINE.format(name="Skiff", reach=110),
    )
    (question,) = open_configuration([place]).roles.questions
    assert (question.kind, {each.label for each in question.options}) == ("machine", {"barge", "skiff"})


def test_files_of_filaments_that_call_themselves_by_their_own_names_are_no_machines(tmp_path: Path) -> None:
    spool = "about:\n    name: {name}\nsuck:\n    by: 5\n    pace: 40\nheat:\n    tip: 210\n    plate: 60\nair:\n    share: 100\n"
    place = _lay(tmp_path, grey__txt=spool.format(name="grey"), teal__txt=spool.format(name="teal"))
    assert not [
        each for each in open_configuration([place]).roles.questions if each.text.startswith("Here are")
    ]


def test_what_is_called_after_the_other_machine_goes_with_it(tmp_path: Path) -> None:
    place = _lay(
        tmp_path,
        barge__txt=_MACHINE.format(name="barge", reach=230),
        skiff__txt=_MACHINE.format(name="skiff", reach=110),
        skiff_end__txt="G91\nG1 E-4 F2400\nG0 X0\n",
        end__txt="G91\nG1 E-5.1 F2400\nG0 X0\n",
    )
    found = open_configuration([place], machine=("barge.txt",)).roles
    assert {path: str(role.role) for path, role in found.items()} == {
        "barge.txt": "in force",
        "end.txt": "in force",
        "skiff.txt": "other machine",
        "skiff end.txt": "other machine",
    }


@pytest.mark.parametrize(
    ("said", "role"),
    [
        ("Bo gave me this from his, only to look at", "other machine"),
        ("found in the drawer", "in force"),
    ],
)
def test_a_file_that_says_it_is_only_to_look_at_and_sets_what_the_machine_sets_is_anothers(
    tmp_path: Path, said: str, role: str
) -> None:
    place = _lay(
        tmp_path,
        barge__txt=_MACHINE.format(name="barge", reach=230),
        barge_two__txt=f"# {said}\nwire_drive:\n    pulses_mm: 400\nsuck:\n    by: 0.7\n    pace: 35\n",
    )
    assert str(open_configuration([place]).roles["barge two.txt"].role) == role
