"""The files below a folder that a pattern names: `*`, `?` and `[…]` within a step, `**` for any number of steps.

The rules are those of Python's `glob`, with three differences that keep it bounded whatever a file says. Links
to folders are not entered, since a few of them that lead back multiply the paths without end. A folder is walked
once and each path compared step by step, so that many `**` cost no more than one. And a pattern is followed only
below the configuration's root; one that leads out is not looked at at all.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterator, Sequence
from fnmatch import fnmatchcase
from glob import has_magic
from itertools import takewhile
from pathlib import Path

#: so many files and folders are looked at for one pattern
MOST_PATHS = 100_000
_ANY = "**"


class LeadsOut(Exception):
    """The pattern names something outside the root, or would climb behind a wildcard."""


class TooMany(Exception):
    """There are more files below the folder than any configuration has."""


def files_named(folder: Path, root: Path, pattern: str) -> list[Path]:
    """The files that a pattern, relative to `folder` or absolute, names, in order of their paths; hidden ones only
    where it says so, packets never. Raises LeadsOut and TooMany."""
    steps = [step for step in pattern.split("/") if step not in ("", ".")]
    fixed = list(takewhile(lambda step: not has_magic(step), steps[:-1]))
    start = Path("/" if pattern.startswith("/") else folder, *fixed).resolve()
    wild = steps[len(fixed) :]
    if ".." in wild or not start.is_relative_to(root):
        raise LeadsOut
    if pattern.rpartition("/")[2] in ("", "."):  # that names folders
        return []
    return [start / "/".join(path) for path in sorted(_paths(start, wild)) if _fits(path, wild)]


def path_fits(path: str, pattern: str) -> bool:
    """Whether a relative path is one that a pattern names, however either spells its letters."""
    steps = [step for step in spelled(pattern).split("/") if step not in ("", ".")]
    return _fits(spelled(path).split("/"), steps)


def same_path(one: str, other: str) -> bool:
    """Whether two relative paths are one, however either spells its letters."""
    return one == other or spelled(one) == spelled(other)


def spelled(text: str) -> str:
    """A text with each letter and its marks as one sign where there is one: disks and keyboards differ in that (Unicode
    Standard Annex 15, form C)."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def as_there(root: Path, path: str) -> str:
    """A relative path as the folders below `root` spell it; as it is where nothing is there by any spelling."""
    if (root / path).exists() or path.isascii():
        return path
    found = root
    for step in path.split("/"):
        try:
            found = next(each for each in found.iterdir() if same_path(each.name, step))
        except (OSError, StopIteration):
            return path
    return found.relative_to(root).as_posix()


def is_packet(folder: Path) -> bool:
    """Whether a folder is a packet of this program, whose `before/` and `after/` are copies."""
    try:
        return (folder / "changes.json").is_file() and (folder / "before").is_dir()
    except PermissionError:
        return False  # that it can't be looked into is told where its files are sought


def _paths(start: Path, wild: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Every file below `start` that is no deeper than the pattern, by its steps."""
    deepest = None if _ANY in wild else len(wild)
    looked = 0
    for place, folders, files in os.walk(start):
        steps = Path(place).relative_to(start).parts
        looked += len(folders) + len(files)
        if looked > MOST_PATHS:
            raise TooMany
        yield from ((*steps, file) for file in files)
        if deepest is not None and len(steps) + 1 >= deepest:
            folders.clear()
        folders[:] = [name for name in folders if not is_packet(Path(place, name))]


def _fits(path: Sequence[str], wild: Sequence[str]) -> bool:
    """Whether a path's steps are those of a pattern, by the set of places in the pattern that they can reach."""
    reached = _beyond({0}, wild)
    for step in path:
        found = set()
        for at in reached:
            if at < len(wild) and wild[at] == _ANY:
                found |= set() if step.startswith(".") else {at, at + 1} if at == len(wild) - 1 else {at}
            elif at < len(wild) and _fits_step(step, wild[at]):
                found.add(at + 1)
        reached = _beyond(found, wild)
    return len(wild) in reached


def _beyond(reached: set[int], wild: Sequence[str]) -> set[int]:
    """With the places behind each `**`, which may stand for no step at all, except at the end: there it names
    what is in a folder, not the folder."""
    found = set(reached)
    for at in range(len(wild) - 1):
        if at in found and wild[at] == _ANY:
            found.add(at + 1)
    return found


def _fits_step(step: str, wild: str) -> bool:
    return (not step.startswith(".") or wild.startswith(".")) and fnmatchcase(step, wild)
