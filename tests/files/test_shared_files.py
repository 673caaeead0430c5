"""Which files other machines may read as well, by what stands in this one's own."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.sectioned import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.shared_files import shared_files


def files(by: str, taken: str, head: str = "short") -> tuple[Document, ...]:
    own = read(by, b"include = x\n[feeder]\nlag = 0.7\n", lambda _, __: (taken,))
    return own, read(taken, f"; {head}\n[feeder]\nlag = 0.4\n".encode())


@pytest.mark.parametrize(
    ("by", "taken", "shared"),
    [
        ("rook/rook.ini", "hall/all.ini", True),
        ("rook/rook.ini", "all.ini", True),
        ("rook/rook.ini", "rook/parts/all.ini", False),
        ("rook.ini", "parts/all.ini", False),
        ("rook.ini", "all.ini", False),
    ],
)
def test_what_lies_outside_the_folder_of_the_file_that_takes_it_in_may_be_shared(
    by: str, taken: str, shared: bool
) -> None:
    assert shared_files(files(by, taken), FileSet()) == ({taken} if shared else set())


@pytest.mark.parametrize(
    ("head", "shared"),
    [
        ("same for the rook and the wren", True),
        ("settings for all three", True),
        ("shared by two", True),
        ("every machine reads this", True),
        ("the common speeds", False),
        ("for the rook alone", False),
    ],
)
def test_a_head_says_that_a_file_is_for_several(head: str, shared: bool) -> None:
    assert shared_files(files("rook.ini", "all.ini", head), FileSet()) == ({"all.ini"} if shared else set())


def test_beside_another_machine_whatever_is_taken_in_may_be_shared() -> None:
    there = FileSet({"wren.ini": FileRole("wren.ini", Role.OTHER, "said")})
    assert shared_files(files("rook.ini", "all.ini"), there) == {"all.ini"}
