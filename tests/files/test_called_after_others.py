"""A file that names another machine of the folder above, and not this one, is asked about and not taken."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.called_after_others import WHOSE_FILE
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.found import SITE
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import FilesUnclear, ask_first, roles_by

BOARD = "; board file\n[x]\nsteps per mm = 80\ntop = 220\n[y]\nsteps per mm = 80\ntop = 210\n[feeder]\nsteps per mm = 93.4\n"
STORED = "(set at the panel)\nM7010 X80.0 Y80.0 E94.1\nM7013 E0.4\n"


def lay(root: Path, name: str = "stored.nc", text: str = STORED, own: str = "rook") -> Path:
    """A machine with that file, beside another one that is called heron."""
    for machine in (own, "heron"):
        (root / machine).mkdir()
        (root / machine / "board.ini").write_text(BOARD)
    (root / own / name).write_text(text)
    return root / own


def asked(root: Path) -> list[tuple[str, Role]]:
    questions = open_configuration([root]).roles.questions
    return [(file, each.role) for each in questions if each.kind == WHOSE_FILE for file in each.instead]


@pytest.mark.parametrize(
    ("name", "first"),
    [
        ("stored_heron.nc", ""),
        ("Heron-panel.nc", ""),
        ("stored.nc", "(what the board of heron has stored)\n"),
        ("stored.nc", "; heron's panel values\n"),
        ("stored.nc", "; PANEL HERON - kept by the board\n"),
    ],
)
def test_a_file_by_another_machine_s_name_is_asked_about(tmp_path: Path, name: str, first: str) -> None:
    root = lay(tmp_path, name, first + STORED)
    assert asked(root) == [(name, Role.SAVED)]
    with pytest.raises(FilesUnclear) as caught:
        ask_first(open_configuration([root]).roles, root)
    assert f"roles: {{{name}: other machine}}" in caught.value.remedy
    (question,) = (each for each in open_configuration([root]).roles.questions if each.kind == WHOSE_FILE)
    assert (roles_by(question, 0), roles_by(question, 1)) == ({name: Role.OTHER}, {name: Role.SAVED})
    for role in (Role.OTHER, Role.SAVED):
        (root / SITE).write_text(f"site: 1\nroles: {{{name}: {role}}}\n")
        assert not asked(root) and open_configuration([root]).roles.role(name) is role


@pytest.mark.parametrize(
    ("name", "first"),
    [
        ("stored.nc", ""),
        ("stored.nc", "; the same as heron, but for the lag\n"),
        ("stored.nc", "; like heron\n"),
        ("stored.nc", "; copied from heron\n"),
        ("stored.nc", "; panel values of rook, taken over from those of heron\n"),
        ("rook_heron.nc", ""),
        ("herons.nc", ""),
    ],
)
def test_one_that_is_like_another_machine_s_or_names_both_is_not(
    tmp_path: Path, name: str, first: str
) -> None:
    assert not asked(lay(tmp_path, name, first + STORED))


def test_a_folder_with_nothing_alike_or_a_word_of_the_trade_or_a_copy_is_no_machine(tmp_path: Path) -> None:
    root = lay(tmp_path, "stored_motor.nc")
    for folder in ("motor", "rook_old"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "board.ini").write_text(BOARD)
    assert not asked(root)
    (tmp_path / "notes").mkdir()
    (root / "notes.ini").write_text("[lamp]\nred = 3\n")
    assert not asked(root)


def test_one_that_the_machine_s_own_file_takes_in_is_its_own(tmp_path: Path) -> None:
    root = lay(tmp_path, "reels_heron.ini", "[retraction]\nlength = 5.5\n")
    assert asked(root)
    (root / "board.ini").write_text("[include reels_heron.ini]\n" + BOARD)
    assert not asked(root)


def test_a_machine_below_one_site_file_for_all_is_asked_about_its_own(tmp_path: Path) -> None:
    root = lay(tmp_path, "stored_heron.nc")
    (tmp_path / SITE).write_text("site: 1\n")
    assert asked(root) == [("rook/stored_heron.nc", Role.SAVED)]
    with pytest.raises(FilesUnclear):
        (tmp_path / "swap.yaml").write_text("old: {drive: tube-fed}\nnew: {drive: on the carriage}\n")
        api.prepare(root, tmp_path / "swap.yaml", out=tmp_path / "p", browsed=False)
