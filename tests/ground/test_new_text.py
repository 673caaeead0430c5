"""A file that a command makes is a new one: nothing is written over, and what can't be written is one clear error."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.new_text import refuse_taken, write_new_text, write_new_texts


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    place = tmp_path / "mine.txt"
    place.write_text("mine")
    for write in (lambda: refuse_taken(place), lambda: write_new_text(place, "yours")):
        with pytest.raises(Refused, match="there is a file already"):
            write()
    assert place.read_text() == "mine"


def test_nothing_is_written_through_a_link_that_leads_nowhere(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "gone")
    with pytest.raises(Refused, match="there is a file already"):
        refuse_taken(tmp_path / "link")
    with pytest.raises(Refused):
        write_new_text(tmp_path / "link", "text")
    assert not (tmp_path / "gone").exists()


def test_two_files_have_two_names(tmp_path: Path) -> None:
    refuse_taken(tmp_path / "one", tmp_path / "two", None)
    with pytest.raises(Refused, match="two files would have this name"):
        refuse_taken(tmp_path / "one", tmp_path / "." / "x" / ".." / "one")


def test_a_folder_that_is_not_there_is_one_clear_error_or_made_where_that_is_wanted(tmp_path: Path) -> None:
    place = tmp_path / "no" / "such" / "page.md"
    with pytest.raises(Refused, match="this can't be written: No such file or directory"):
        write_new_text(place, "text")
    write_new_text(place, "text", folders=True)
    assert place.read_text() == "text"


def test_on_a_full_disk_nothing_is_left_under_its_name_or_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A test script that breaks off would heat and never switch off."""
    whole = os.write

    def full(handle: int, data: bytes) -> int:
        if len(data) <= 10:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return whole(handle, data[:10])

    monkeypatch.setattr(os, "write", full)
    with pytest.raises(Refused, match="No space left"):
        write_new_text(tmp_path / "lag.nc", "heat up\nprint\ncool down\n")
    assert not [*tmp_path.iterdir()]


@pytest.mark.parametrize("room", [0, 1])
def test_of_texts_that_belong_together_none_is_left_where_one_has_no_room(
    room: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, made = os.link, []

    def full(one: Path, other: Path, **how: bool) -> None:
        if len(made) >= room:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        made.append(other)
        whole(one, other, **how)

    def no_room(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "link", full)
    monkeypatch.setattr(Path, "replace", no_room)
    texts = {tmp_path / "for" / "Io" / name: "text" for name in ("record.md", "record.html")}
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(Refused, match="No space left"):
        write_new_texts(texts)
    assert [each.name for each in tmp_path.iterdir()] == ["mine.txt"]


def test_texts_that_belong_together_are_all_written(tmp_path: Path) -> None:
    write_new_texts({tmp_path / "a" / "record.md": "one", tmp_path / "a" / "record.html": "two"})
    assert sorted(each.read_text() for each in (tmp_path / "a").iterdir()) == ["one", "two"]


def test_where_the_file_system_knows_no_links_it_is_whole_as_well_and_nothing_is_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object, **__: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    write_new_text(tmp_path / "new.yaml", "text")
    with pytest.raises(Refused, match="there is a file already"):
        write_new_text(tmp_path / "new.yaml", "other")
    assert [each.read_text() for each in tmp_path.iterdir()] == ["text"]
