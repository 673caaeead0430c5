"""What lies in a folder has one number, which is another as soon as a file that is read comes, goes or is written."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from cfgmigrate.files import found
from cfgmigrate.files.found import standing_of

FEED = "[feeder]\nmm_per_turn: 22.9\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    for path in (
        "feeder.ini",
        "parts/axes.ini",
        ".hidden",
        ".cfgmigrate/history.jsonl",
        "packet/before/a.ini",
    ):
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(FEED)
    (tmp_path / "packet" / "changes.json").write_text("{}")
    return tmp_path


def write(path: Path, text: str = FEED) -> None:
    path.write_text(text)
    os.utime(path, ns=(0, path.stat().st_mtime_ns + 1_000_000))  # a clock may tell no two writings apart


def take_the_place(path: Path) -> None:
    """Of as many letters and of the same time."""
    new = path.with_name(".new")
    new.write_text(FEED)
    os.utime(new, ns=(0, path.stat().st_mtime_ns))
    new.replace(path)


READ: dict[str, Callable[[Path], object]] = {
    "a file comes": lambda place: write(place / "flow.ini"),
    "a file goes": lambda place: (place / "parts" / "axes.ini").unlink(),
    "a file is written": lambda place: write(place / "parts" / "axes.ini", FEED + "\n"),
    "a file is written with as many letters": lambda place: write(place / "feeder.ini", FEED.replace("2", "3")),
    "a file has another name": lambda place: (place / "feeder.ini").rename(place / "feed.ini"),
    "another file took its place": lambda place: take_the_place(place / "feeder.ini"),
    "a site file comes": lambda place: write(place / "cfgmigrate.yaml", "site: 1\n"),
}  # fmt: skip
NOT_READ: dict[str, Callable[[Path], object]] = {
    "a hidden file is written": lambda place: write(place / ".hidden", "more"),
    "a hidden file comes": lambda place: write(place / ".other"),
    "the history grows": lambda place: write(place / ".cfgmigrate" / "history.jsonl", "more"),
    "a packet is written": lambda place: write(place / "packet" / "before" / "a.ini", "more"),
}


@pytest.mark.parametrize("what", READ)
def test_it_is_another_where_what_is_read_is_not_as_it_was(place: Path, what: str) -> None:
    """Else a packet that was made here would be installed past a file that says otherwise."""
    before = standing_of(place)[1]
    assert before and standing_of(place)[1] == before
    READ[what](place)
    assert standing_of(place)[1] not in (before, "")


@pytest.mark.parametrize(
    "change", [lambda path: write(path, "site: 1\n\n"), Path.unlink], ids=["written", "gone"]
)
def test_it_is_another_where_the_site_file_is_not_as_it_was(
    place: Path, change: Callable[[Path], object]
) -> None:
    write(place / "cfgmigrate.yaml", "site: 1\n")
    names, before = standing_of(place)
    assert names == {"feeder.ini", "parts/axes.ini"}, "the site file is none of the machine's"
    change(place / "cfgmigrate.yaml")
    assert standing_of(place)[1] not in (before, "")


@pytest.mark.parametrize("what", NOT_READ)
def test_it_is_the_same_where_only_what_is_never_read_is_another(place: Path, what: str) -> None:
    before = standing_of(place)
    NOT_READ[what](place)
    assert standing_of(place) == before


def test_where_there_is_too_much_nothing_is_told(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(found, "MOST_STANDING", 2)
    assert standing_of(place) == (frozenset(), "")
