"""Whoever lost the ownership of a file keeps what they might do with it."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from cfgmigrate.ground.access_list import access_list, let_in, with_person

MIRA, NOEL = 4711, 4712
NOBODY = 0xFFFFFFFF


def listed(*entries: tuple[int, int, int]) -> bytes:
    """A list in the form of Linux: acl(5), and include/uapi/linux/posix_acl_xattr.h of its sources."""
    return struct.pack("<I", 2) + b"".join(struct.pack("<HHI", *each) for each in entries)


#: the owner reads and writes, Noel does, the group and others read; no more than reading and writing
NOEL_WRITES = listed((1, 6, NOBODY), (2, 6, NOEL), (4, 4, NOBODY), (16, 6, NOBODY), (32, 4, NOBODY))


def test_the_former_owner_is_named_with_what_they_might_do() -> None:
    both = listed(
        (1, 6, NOBODY), (2, 6, MIRA), (2, 6, NOEL), (4, 4, NOBODY), (16, 6, NOBODY), (32, 4, NOBODY)
    )
    assert with_person(NOEL_WRITES, MIRA) == both
    assert with_person(both, MIRA) == both


def test_nobody_else_may_do_more_than_before() -> None:
    """The most that named people may do is raised for the owner alone."""
    reads = listed((1, 7, NOBODY), (2, 7, NOEL), (4, 7, NOBODY), (16, 4, NOBODY), (32, 1, NOBODY))
    assert with_person(reads, MIRA) == listed(
        (1, 7, NOBODY), (2, 7, MIRA), (2, 4, NOEL), (4, 4, NOBODY), (16, 7, NOBODY), (32, 1, NOBODY)
    )
    assert with_person(reads, MIRA, files_only=True) == listed(
        (1, 6, NOBODY), (2, 6, MIRA), (2, 4, NOEL), (4, 4, NOBODY), (16, 6, NOBODY), (32, 0, NOBODY)
    )


@pytest.mark.parametrize("other", [b"", b"\x03\0\0\0", NOEL_WRITES[:-1]])
def test_a_list_of_another_form_is_left_alone(other: bytes) -> None:
    assert with_person(other, MIRA) is None


def test_where_there_is_no_list_nothing_is_done(tmp_path: Path) -> None:
    (tmp_path / "a").touch()
    assert access_list(tmp_path / "a") is None
    assert not let_in(tmp_path / "a", None, MIRA)
