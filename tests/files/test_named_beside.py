"""A file that is named beside a machine's folder belongs to the machine that was said to be meant."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import Role

OWN = "[machine]\nname = Carp\n[x]\nsteps per mm = 80\nmax = 200\n[y]\nsteps per mm = 80\nmax = 210\n"
COMMON = "[x]\nsteps per mm = 80\nmax = 200\n[y]\nsteps per mm = 80\nmax = 210\n[retraction]\nlength = 5.4\n"


def _common(folder: Path, text: str, *, folder_named: bool = True) -> Role:
    for path, content in {"carp/carp.ini": OWN, "shared/common.ini": text}.items():
        (folder / path).parent.mkdir()
        (folder / path).write_text(content)
    named = folder / "carp" if folder_named else folder / "carp" / "carp.ini"
    meant = [folder / "carp" / "carp.ini"]
    return open_configuration([named, folder / "shared" / "common.ini"], machine=meant).roles.role(
        "shared/common.ini"
    )


def test_a_file_named_beside_the_folder_is_of_the_machine_that_is_meant(tmp_path: Path) -> None:
    assert _common(tmp_path, COMMON) is Role.IN_FORCE


def test_one_that_says_it_is_somebody_else_s_stays_that(tmp_path: Path) -> None:
    assert _common(tmp_path, "# not mine, a friend's printer\n" + COMMON) is Role.OTHER


def test_of_two_files_alone_the_one_that_is_meant_is_the_machine(tmp_path: Path) -> None:
    assert _common(tmp_path, COMMON, folder_named=False) is Role.OTHER
