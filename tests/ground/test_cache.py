"""What is kept between runs is only a faster way to the same: it is never trusted where it may be another's."""

from __future__ import annotations

import os
import pickle
from collections.abc import Iterator
from pathlib import Path

import pytest

from cfgmigrate.ground import cache
from cfgmigrate.rules import library


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An empty cache of the test's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.delenv("CFGMIGRATE_KEEP", raising=False)
    cache.folder.cache_clear()
    yield tmp_path / "cfgmigrate"
    cache.folder.cache_clear()


def count_to(made: list[str]) -> object:
    """The same function as a new run has it: nothing in its memory."""

    @cache.kept
    def doubled(word: str) -> str:
        made.append(word)
        return word * 2

    return doubled


def files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_second_run_takes_what_the_first_made(folder: Path) -> None:
    made: list[str] = []
    assert [count_to(made)("ab"), count_to(made)("ab")] == ["abab", "abab"]
    assert made == ["ab"]
    assert len(files(folder)) == 1


def test_another_argument_is_another_thing(folder: Path) -> None:
    made: list[str] = []
    assert [count_to(made)("a"), count_to(made)("b")] == ["aa", "bb"]
    assert made == ["a", "b"]


def test_a_broken_file_is_made_anew(folder: Path) -> None:
    made: list[str] = []
    count_to(made)("a")
    (path,) = files(folder)
    for broken in (b"", b"no pickle", path.read_bytes()[:-3]):
        path.write_bytes(broken)
        assert count_to(made)("a") == "aa"
    assert len(made) == 4


@pytest.mark.parametrize("mode", [0o666, 0o660])
def test_a_file_that_others_can_write_is_not_taken(folder: Path, mode: int) -> None:
    made: list[str] = []
    count_to(made)("a")
    (path,) = files(folder)
    path.write_bytes(pickle.dumps("not ours"))
    path.chmod(mode)
    assert count_to(made)("a") == "aa"


def test_a_folder_that_others_can_write_is_not_used(folder: Path) -> None:
    made: list[str] = []
    count_to(made)("a")
    files(folder)[0].parent.chmod(0o777)
    cache.folder.cache_clear()
    assert count_to(made)("a") == "aa"
    assert len(made) == 2


class Evil:
    """What a pickle may hold: anything that is to be called when it is read."""

    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.mkdir, (str(self.mark),)


def hostile(folder: Path, tmp_path: Path) -> Path:
    """A kept file replaced by one that would leave a mark."""
    count_to([])("a")
    (path,) = files(folder)
    path.write_bytes(pickle.dumps(Evil(tmp_path / "mark")))
    return path


@pytest.mark.parametrize("level", ["file", "state", "base"])
def test_what_another_could_have_put_there_is_never_unpickled(
    folder: Path, tmp_path: Path, level: str
) -> None:
    path = hostile(folder, tmp_path)
    {"file": path, "state": path.parent, "base": folder}[level].chmod(0o777)
    cache.folder.cache_clear()
    assert count_to([])("a") == "aa"
    assert not (tmp_path / "mark").exists()


@pytest.mark.parametrize("level", ["file", "state", "base"])
def test_a_link_is_not_followed_though_it_ends_at_files_of_one_s_own(
    folder: Path, tmp_path: Path, level: str
) -> None:
    path = hostile(folder, tmp_path)
    linked = {"file": path, "state": path.parent, "base": folder}[level]
    linked.rename(tmp_path / "elsewhere")
    linked.symlink_to(tmp_path / "elsewhere")
    cache.folder.cache_clear()
    assert count_to([])("a") == "aa"
    assert not (tmp_path / "mark").exists()


def test_clearing_up_takes_away_nothing_but_states_of_its_own(folder: Path, tmp_path: Path) -> None:
    folder.mkdir(parents=True)
    old, mine = folder / ("0" * 24), folder / "letters"
    for made in (old, mine):
        made.mkdir()
        os.utime(made, (0, 0))
    count_to([])("a")
    assert not old.exists() and mine.exists()


def test_a_home_that_can_not_be_written_only_costs_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, folder: Path
) -> None:
    blocked = tmp_path / "a file"
    blocked.write_text("no folder")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    made: list[str] = []
    assert [count_to(made)("a"), count_to(made)("a")] == ["aa", "aa"]
    assert made == ["a", "a"]


def test_it_can_be_told_to_keep_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CFGMIGRATE_KEEP", "no")
    made: list[str] = []
    count_to(made)("a")
    assert not folder.exists()


def test_a_change_in_the_program_s_own_files_makes_another_state(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "package"
    package.mkdir()
    table = package / "table.yaml"
    table.write_text("a: 1\n")
    monkeypatch.setattr(cache, "PACKAGE", package)
    before = cache._state()
    assert cache._state() == before
    (package / "notes.txt").write_text("not read by anyone")
    assert cache._state() == before
    table.write_text("a: 12\n")
    changed = cache._state()
    assert changed != before
    os.utime(table, ns=(1, 1))
    assert cache._state() not in (before, changed)


def test_what_was_kept_long_ago_goes(folder: Path) -> None:
    old = folder / ("0123" * 6)
    young = folder / ("4567" * 6)
    for each in (old, young):
        each.mkdir(parents=True)
        (each / "x.pickle").write_bytes(b"")
    os.utime(old, (1, 1))
    count_to([])("a")
    assert not old.exists()
    assert young.exists()


def test_the_kept_book_is_the_book(folder: Path) -> None:
    built = library.load_book(library.vocabulary())
    first = cache.kept(library._own_book.__wrapped__.__wrapped__)()  # type: ignore[attr-defined]
    again = cache.kept(library._own_book.__wrapped__.__wrapped__)()  # type: ignore[attr-defined]
    assert first == again == built
    assert any("book" in path.name for path in files(folder))
