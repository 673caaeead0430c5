"""Patches against programs from outside: GNU patch, git apply, and two readers of patches from PyPI.

Sources: GNU patch 2.7 (`patch -p1`), git (`git apply`), PyPI `whatthepatch` and `unidiff`. Each pair of
contents is patched forward and back; the result must be the exact bytes.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.packet.patch import patch_of, unified

Files = Mapping[str, bytes]
Apply = Callable[[Path, bytes], None]

NASTY: dict[str, tuple[bytes, bytes]] = {
    "CRLF": (b"a\r\nb\r\nc\r\n", b"a\r\nB\r\nc\r\n"),
    "CRLF becomes LF": (b"a\r\nb\r\n", b"a\nb\r\n"),
    "lone CR": (b"a\rb\rc\n", b"a\rB\rc\n"),
    "only lone CRs": (b"a\rb\rc\r", b"a\rB\rc\r"),
    "no last newline on both sides": (b"a\nb", b"a\nc"),
    "no last newline before": (b"a\nb", b"a\nb\n"),
    "no last newline after": (b"a\nb\n", b"a\nb"),
    "not UTF-8": (b"caf\xe9 = 1\n\xff\xfe\n", b"caf\xe9 = 2\n\xff\xfe\n"),
    "a byte order mark": (b"\xef\xbb\xbfa = 1\n", b"\xef\xbb\xbfa = 2\n"),
    "lines like a patch": (b"--- a/x\n+++ b/x\n@@ -1 +1 @@\n", b"--- a/x\n+++ b/y\n@@ -1 +1 @@\n"),
    "lines like the note on newlines": (b"\\ No newline at end of file\n", b"\\ No newline\n"),
    "empty becomes something": (b"", b"a\n"),
    "something becomes empty": (b"a\n", b""),
    "blank lines": (b"\n\n\n \n\t\n", b"\n\n \n\t\n\n"),
    "lines added and removed": (b"a\nb\nc\nd\n", b"0\na\nc\nd\ne\n"),
    "other line ends": (b"a\x0bb\x0cc\x1cd\x85e\xe2\x80\xa8f\n", b"a\x0bb\x0cc\x1cD\x85e\xe2\x80\xa8f\n"),
    "a long line": (b"x" * 100_000 + b"1\n", b"x" * 100_000 + b"2\n"),
    "repeated lines": (b"max = 235\n" * 9, b"max = 235\n" * 4 + b"max = 186\n" + b"max = 235\n" * 4),
}

NAMES = [
    "plain.ini",
    "ring hut.ini",
    "two  blanks and end ",
    'quo"ted.ini',
    "it's.ini",
    "back\\slash.ini",
    "tab\there.ini",
    "caf\u00e9/\u9ce5.ini",
    "new\nline.ini",
    "dir with blank/feeder motor.ini",
    "-dash.ini",
    "a b/c.ini",
    "\x07bell.ini",
    os.fsdecode(b"latin-\xe9.ini"),
]


def with_patch(folder: Path, diff: bytes) -> None:
    """`patch -p1`, told not to leave a copy behind where it had to look for the place."""
    (folder.parent / "the.patch").write_bytes(diff)
    subprocess.run(
        ["patch", "-p1", "--no-backup-if-mismatch", "-i", folder.parent / "the.patch"],
        cwd=folder,
        check=True,
        capture_output=True,
    )


def with_git(folder: Path, diff: bytes) -> None:
    subprocess.run(
        ["git", "apply", "-"],
        cwd=folder,
        input=diff,
        check=True,
        capture_output=True,
        env={**os.environ, "GIT_CEILING_DIRECTORIES": str(folder.parent), "GIT_CONFIG_GLOBAL": os.devnull},
    )


def with_git_below_the_top(folder: Path, diff: bytes) -> None:
    """As the README has it for a folder within a repository, where git passes over all files otherwise."""
    top, place = folder.parent, {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull}
    subprocess.run(["git", "init", "-q", "."], cwd=top, check=True, capture_output=True, env=place)
    (top / "the.patch").write_bytes(diff)
    subprocess.run(
        ["sh", "-c", 'git apply --directory="$(git rev-parse --show-prefix)" ../the.patch'],
        cwd=folder,
        check=True,
        capture_output=True,
        env=place,
    )


def lay_out(folder: Path, files: Files) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for path, data in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)


def found(folder: Path) -> Files:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def check_both_ways(base: Path, apply: Apply, old: Files, new: Files) -> None:
    folder = base / "config"
    lay_out(folder, old)
    apply(folder, patch_of(old, new))
    assert found(folder) == new
    apply(folder, patch_of(new, old))
    assert found(folder) == old


tools = pytest.mark.parametrize("apply", [with_patch, with_git, with_git_below_the_top])


@tools
@pytest.mark.parametrize("case", NASTY)
def test_nasty_contents_come_out_exactly(tmp_path: Path, apply: Apply, case: str) -> None:
    old, new = NASTY[case]
    check_both_ways(tmp_path, apply, {"wren.ini": old}, {"wren.ini": new})


@tools
@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_odd_names_are_found(tmp_path: Path, apply: Apply, name: str) -> None:
    check_both_ways(tmp_path, apply, {name: b"a = 1\n", "other": b"x\n"}, {name: b"a = 2\n", "other": b"x\n"})


@tools
@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_files_are_made_and_removed(tmp_path: Path, apply: Apply, name: str) -> None:
    check_both_ways(tmp_path, apply, {"stays": b"x\n"}, {"stays": b"x\n", name: b"a = 2\nb"})


@tools
def test_an_empty_file_is_made_and_removed(tmp_path: Path, apply: Apply) -> None:
    check_both_ways(tmp_path, apply, {"stays": b"x\n"}, {"stays": b"x\n", "empty": b""})


#: files so short that the diff shows them whole, with LF for their only line end
WHOLE = [case for case in NASTY if "CR" not in case and case not in {"other line ends", "repeated lines"}]

lines = st.lists(
    st.sampled_from(
        [b"max = 235", b"min = 0", b"", b" ", b"# caf\xe9", b"[axis z]", b"a\rb", b"\x0c", b"\xff"]
    )
    | st.binary(max_size=8).filter(lambda line: b"\n" not in line and b"\0" not in line),
    max_size=12,
)
ends = st.sampled_from([b"\n", b"\r\n"])


@st.composite
def contents(draw: st.DrawFn) -> tuple[bytes, bytes]:
    """Two versions of a file: the second has some lines of the first, and some of its own."""
    old = draw(lines)
    new = [line for line in old if draw(st.booleans())] + draw(lines) if draw(st.booleans()) else draw(lines)
    return tuple(draw(ends).join(each) + draw(st.sampled_from([b"", b"\n", b"\r\n"])) for each in (old, new))  # type: ignore[return-value]


@tools
@given(pairs=st.lists(contents(), min_size=1, max_size=4))
def test_any_two_versions_of_files_are_patched_both_ways(
    tmp_path_factory: pytest.TempPathFactory, apply: Apply, pairs: list[tuple[bytes, bytes]]
) -> None:
    base = tmp_path_factory.mktemp("any")
    old = {f"file {number}": pair[0] for number, pair in enumerate(pairs)}
    new = {f"file {number}": pair[1] for number, pair in enumerate(pairs)}
    if patch_of(old, new):
        check_both_ways(base, apply, old, new)


@pytest.mark.parametrize("case", WHOLE)
def test_whatthepatch_reads_the_same_change(case: str) -> None:
    """PyPI whatthepatch splits at every kind of line end, so the cases with odd ones are not for it."""
    import whatthepatch

    old, new = (side.decode("latin-1") for side in NASTY[case])
    diffs = list(whatthepatch.parse_patch(unified(*NASTY[case], "wren.ini").decode("latin-1")))
    assert len(diffs) == 1
    assert diffs[0].header.old_path.endswith("wren.ini")
    removed = [change.line for change in diffs[0].changes if change.new is None]
    added = [change.line for change in diffs[0].changes if change.old is None]
    context = [change.line for change in diffs[0].changes if change.old and change.new]
    assert sorted(removed + context) == sorted(old.splitlines()), "short files stand in the diff whole"
    assert sorted(added + context) == sorted(new.splitlines())


@pytest.mark.parametrize("case", WHOLE)
def test_unidiff_counts_the_same_lines(case: str) -> None:
    """PyPI unidiff checks each hunk's line counts against its header and raises where they differ."""
    from unidiff import PatchSet

    old, new = NASTY[case]
    patch = PatchSet(unified(old, new, "wren.ini").decode("latin-1"))
    assert [file.path for file in patch] == ["wren.ini"]
    kept = sum(line.is_context for file in patch for hunk in file for line in hunk)
    assert patch.removed + kept == len(old.splitlines())
    assert patch.added + kept == len(new.splitlines())
