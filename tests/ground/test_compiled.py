"""What is compiled is only a faster way to the same, in a format that can't run code."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cfgmigrate.ground import compiled
from cfgmigrate.ground.compiled import Compiled

ROOT = Path(__file__).parents[2]


def everything() -> Iterator[Any]:
    compiled.import_all()
    for one in Compiled.all:
        if one.module.startswith("cfgmigrate."):
            for words in one.each():
                yield pytest.param(one, words, id=one.file_name(words))


@pytest.mark.parametrize(("one", "words"), list(everything()))
def test_what_is_read_back_is_what_was_compiled(one: Compiled[Any], words: tuple[str, ...]) -> None:
    packed = one.pack(words)
    read = one.read(packed)
    assert read == one.read(packed)
    if not one.file_name(words).startswith("dialects.grammar"):  # Lark's tables are equal but for tuples
        assert read == one.build(*words)


def test_no_two_compiled_things_share_a_file() -> None:
    names = [param.id for param in everything()]
    assert len(set(names)) == len(names)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A checkout of the test's own, with one source."""
    package = tmp_path / "cfgmigrate"
    package.mkdir()
    (package / "table.yaml").write_text("a: 1\n")
    monkeypatch.setattr(compiled, "PACKAGE", package)
    monkeypatch.setattr(Compiled, "all", [])
    forget()
    yield tmp_path / ".compiled"
    forget()


def forget() -> None:
    """As at the start of a new run."""
    compiled.folder.cache_clear()
    compiled.installed.cache_clear()


def count_to(made: list[str]) -> Callable[[str], str]:
    """The same function as a new run has it: nothing in its memory."""

    @compiled.compiled
    def doubled(word: str) -> str:
        made.append(word)
        return word * 2

    return doubled


def files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_second_run_takes_what_the_first_made(folder: Path) -> None:
    made: list[str] = []
    assert [count_to(made)("ab"), count_to(made)("ab"), count_to(made)("b")] == ["abab", "abab", "bb"]
    assert made == ["ab", "b"]
    assert len(files(folder)) == 2


@pytest.mark.parametrize("broken", [b"", b"\x05", b"\xff\xff", b"\xa4aaa", b"cos\nmkdir\n(S'mark'\ntR."])
def test_a_broken_file_is_made_anew(folder: Path, broken: bytes) -> None:
    made: list[str] = []
    count_to(made)("a")
    (path,) = files(folder)
    path.write_bytes(broken)
    assert [count_to(made)("a"), count_to(made)("a")] == ["aa", "aa"]
    assert made == ["a", "a"]


def test_a_change_to_a_source_starts_anew_and_what_was_before_goes(folder: Path) -> None:
    made: list[str] = []
    count_to(made)("a")
    before = files(folder)
    source = folder.parent / "cfgmigrate" / "table.yaml"
    source.write_text("a: 12\n")
    forget()
    count_to(made)("a")
    source.with_name("notes.txt").write_text("no source")
    forget()
    count_to(made)("a")
    assert made == ["a", "a"]
    assert len(files(folder)) == 1 and files(folder) != before


def test_a_source_that_is_older_than_before_is_another_one(folder: Path) -> None:
    count_to([])("a")
    os.utime(folder.parent / "cfgmigrate" / "table.yaml", ns=(1, 1))
    forget()
    made: list[str] = []
    count_to(made)("a")
    assert made == ["a"]


def test_a_checkout_that_can_not_be_written_only_costs_time(folder: Path) -> None:
    folder.write_text("no folder")
    made: list[str] = []
    assert [count_to(made)("a"), count_to(made)("a")] == ["aa", "aa"]
    assert made == ["a", "a"]


def test_an_installed_copy_takes_what_came_with_it_and_writes_nothing(folder: Path) -> None:
    package = folder.parent / "cfgmigrate"
    (package / "grammars").mkdir()
    (package / "compiled").mkdir()
    made: list[str] = []
    doubled = count_to(made)
    assert doubled("a") == "aa" and made == ["a"]
    compiled.Compiled.all[0].each = lambda: [("a",)]
    compiled.compile_all(package / "compiled")
    assert count_to(made)("a") == "aa" and made == ["a", "a"]
    assert len(files(package)) == 2 and not folder.exists()


def test_no_part_of_the_program_reads_or_writes_code_as_data() -> None:
    for path in (ROOT / "cfgmigrate").rglob("*.py"):
        assert not re.search(
            r"^\s*(?:import|from) (?:pickle|marshal|shelve)\b", path.read_text(), re.MULTILINE
        ), path
