"""What is said first: no file that may be edited is hidden behind a number."""

from __future__ import annotations

from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import MOST_FILES_NAMED, told


def test_every_file_of_the_machine_is_named() -> None:
    for role in (Role.IN_FORCE, Role.SAVED):
        paths = [f"part {number}.ini" for number in range(9 * MOST_FILES_NAMED)]
        (line,) = told(dict.fromkeys(paths, role))
        assert all(path in line for path in paths) and "more" not in line


def test_profiles_beyond_the_first_few_are_counted() -> None:
    paths = [f"reel {number}.ini" for number in range(MOST_FILES_NAMED + 3)]
    (line,) = told(dict.fromkeys(paths, Role.PROFILE))
    assert line.endswith("and 4 more.") and f"these {len(paths)} as profiles" in line


def test_a_file_that_is_not_opened_is_told_with_why_and_never_as_no_configuration() -> None:
    whys = {
        "machine.ini": "",
        "shared.ini": "it is a link to outside the folder",
        "gone.ini": "it can't be read: No such file or directory",
        "locked.ini": "it can't be read: Permission denied",
        "letter.txt": "the content reads as none of the dialects",
    }
    roles = {path: Role.IN_FORCE if path == "machine.ini" else Role.NONE for path in whys}
    _, left = told(roles, whys)
    assert left == (
        "I leave 4: 1 link that leads out of the folder (shared.ini), 1 link that leads nowhere (gone.ini), "
        "1 that can't be read (locked.ini), 1 no configuration (letter.txt)."
    )
