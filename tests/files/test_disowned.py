"""A file of any dialect that says that it is not this machine's is asked about before anything is taken from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.called_after_others import WHOSE_FILE
from cfgmigrate.files.configuration import open_configuration

OURS = "[drive]\nsteps per mm = 297.6\nmicro = 16\namps = 1.38\npull mm = 6.1\n"
#: by ending: a file of few lines behind a remark
FILES = {
    "h": "/* {said} */\n#define DRIVE_STEPS_PER_MM 1588.4\n#define DRIVE_MICRO 16\n#define DRIVE_A_RMS 0.57\n",
    "ini": "; {said}\n[drive]\nsteps per mm = 1588.4\nmicro steps = 16\n",
    "yaml": "# {said}\npuller:\n  steps per mm: 1588.4\n  micro steps: 16\n  pull mm: 0.9\nlag s: 0.03\n",
    "json": '{{"note": "{said}", "puller": {{"stepsPerMm": 1588.4, "pullMm": 0.9}}}}\n',
}


def asked(folder: Path, ending: str, said: str, ours: str = OURS, site: str = "") -> list[str]:
    (folder / "lighter.ini").write_text(ours)
    (folder / f"from_Odile.{ending}").write_text(FILES[ending].format(said=said))
    if site:
        (folder / "cfgmigrate.yaml").write_text(site)
    found = open_configuration([folder]).roles
    others = [path for path, each in found.items() if str(each.role) == "other machine"]
    return others + [path for each in found.questions if each.kind == WHOSE_FILE for path in each.instead]


SAID = ["Odile's machine (drive on the carriage). NOT mine", "COG, hers. NOT lighter", "not our machine"]


@pytest.mark.parametrize("ending", FILES)
@pytest.mark.parametrize("said", SAID)
def test_a_file_that_says_it_is_not_this_machine_s_is_asked_about(
    ending: str, said: str, tmp_path: Path
) -> None:
    assert asked(tmp_path, ending, said) == [f"from_Odile.{ending}"]


@pytest.mark.parametrize("ending", FILES)
@pytest.mark.parametrize(
    "said",
    [
        "the drive's values, not lighter limits",
        "not ours alone: the workshop's as well",
        "the drive, and the cover is not mine",
        "lighter's drive",
    ],
)
def test_a_part_that_says_something_else_of_what_is_not_is_not_asked_about(
    ending: str, said: str, tmp_path: Path
) -> None:
    assert asked(tmp_path, ending, said) == []


def test_what_the_machine_takes_in_is_its_own_whatever_it_says(tmp_path: Path) -> None:
    assert asked(tmp_path, "ini", SAID[0], f"read also = from_Odile.ini\n{OURS}") == []


def test_what_somebody_said_of_the_file_is_not_asked_again(tmp_path: Path) -> None:
    site = "site: 1\nroles: {from_Odile.h: in force}\n"
    assert asked(tmp_path, "h", SAID[0], site=site) == []


@pytest.mark.parametrize("takes", ["part.ini", "lighter.ini"])
def test_a_file_that_takes_in_others_is_asked_about_as_well(takes: str, tmp_path: Path) -> None:
    (tmp_path / "part.ini").write_text("[retraction]\nlength mm = 0.9\n")
    (tmp_path / "lighter.ini").write_text(OURS)
    text = FILES["ini"].format(said=f"{SAID[0]}\nread also = {takes}")
    (tmp_path / "from_Odile.ini").write_text(text)
    found = open_configuration([tmp_path]).roles.questions
    assert [each.instead for each in found if each.kind == WHOSE_FILE] == [("from_Odile.ini",)]


def test_a_file_that_takes_in_others_and_says_nothing_of_whose_it_is_is_not_asked_about(
    tmp_path: Path,
) -> None:
    (tmp_path / "part.ini").write_text("[retraction]\nlength mm = 0.9\n")
    (tmp_path / "lighter.ini").write_text(OURS)
    text = FILES["ini"].format(said="the puller's values\nread also = part.ini")
    (tmp_path / "from_Odile.ini").write_text(text)
    assert not [each for each in open_configuration([tmp_path]).roles.questions if each.kind == WHOSE_FILE]
