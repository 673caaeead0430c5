"""A lone `pull` is how far where that very name has a speed beside it, or has one for another feeder or in another profile."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.machine.recognise import recognise


def lengths(files: dict[str, str]) -> set[tuple[str, int]]:
    roles = FileSet(
        {path: FileRole(path, Role.PROFILE, "said") for path in files if path.startswith("reels/")}
    )
    machine = recognise([read(path, text.encode(), "sectioned") for path, text in files.items()], roles=roles)
    return {
        (each.place.file, each.place.line)
        for each in machine.every_reading
        if each.quantity == "retraction.length"
    }


FEEDERS = "[feeder wren]\nsteps per mm = 96\ncurrent = 0.8 A\npull = 5\npull speed = 40\n[feeder heron]\nsteps per mm = 96\ncurrent = 0.8 A\npull = 6\n"


@pytest.mark.parametrize(
    ("files", "wanted"),
    [
        ({"a.ini": "[moves]\npull = 5\npull speed = 40\n[brush]\npull = 6\n"}, {("a.ini", 2)}),
        ({"a.ini": f"{FEEDERS}[brush]\npull = 6\n"}, {("a.ini", 4), ("a.ini", 9)}),
        ({"reels/a.ini": "[reel]\npull = 5\npull speed = 40\n", "reels/b.ini": "[reel]\npull = 4\n"},
         {("reels/a.ini", 2), ("reels/b.ini", 2)}),
        ({"a.ini": "[moves]\npull = 5\npull speed = 40\n", "brush.ini": "[moves]\npull = 4\n"}, {("a.ini", 2)}),
        ({"parts/a.ini": "[drive]\npull speed = 40\n", "parts/door.ini": "[drive]\npull = 4\n"}, set()),
        ({"reels/a.ini": "[reel]\npull = 5\npull speed = 40\n", "reels/b.ini": "[retraction]\nlength = 2\n[reel]\npull = 4\n"},
         {("reels/a.ini", 2), ("reels/b.ini", 2)}),
    ],
    ids=["its own section", "another feeder", "another profile", "files of no folder", "a folder of parts", "a length of its own"],
)  # fmt: skip
def test_the_name_of_a_speed_without_the_speed_is_the_length(
    files: dict[str, str], wanted: set[tuple[str, int]]
) -> None:
    assert lengths(files) == wanted


@pytest.mark.parametrize(
    "other", ["time = 40", "gap = 40", "current = 0.8 A", "temperature = 240", "way = 40"]
)
def test_a_name_beside_which_something_else_than_a_speed_stands_is_no_length(other: str) -> None:
    assert lengths({"a.ini": f"[moves]\npull = 5\npull {other}\n"}) == set()


def test_what_a_speed_s_name_begins_with_is_no_length_where_the_speed_stands_first() -> None:
    assert lengths({"a.ini": "[moves]\nspeed = 4\nspeed retract = 30\n"}) == set()
