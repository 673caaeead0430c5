"""Which files an include line takes in: the one place where a path in such a line is followed.

A path is relative to the folder of the file it stands in, or else to the root; it may be absolute, a pattern, or
a folder, whose files it then takes in but for kept copies. Links are followed: a file goes by its real path. Where
nothing is found, a path is tried again with its backslashes as slashes, and as several paths with blanks between.
An absolute path that leads nowhere is what it was on the machine: where its end is found below the root, that is
taken, and told (`Taken.by_end`).
Everything it gives lies below the root; what does not is a fault that whoever asks may refuse.

The dialects are handed a resolver as a function (`TakesIn`), so that each include line carries its files from the
first reading on. A packet stands alone, so what a resolver said is recorded there, and `recorded` gives it
back; packets of format 1 have no such record, and theirs are found `among` the packet's own files.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Callable, Iterable, Mapping
from enum import Enum
from fnmatch import fnmatchcase
from glob import has_magic
from pathlib import Path
from posixpath import dirname, join, normpath

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, TakesIn
from cfgmigrate.files.marks import marks_of
from cfgmigrate.files.pattern import LeadsOut, TooMany, files_named
from cfgmigrate.ground.pattern import pattern

_ABSOLUTE = pattern(r"/|~[^/\\]*[/\\]|[A-Za-z]:[/\\]")


class IncludeFault(Enum):
    """Why an include line takes in nothing."""

    MISSING = "missing"
    OUTSIDE = "outside"
    TOO_MANY = "too many"


class Taken(Struct, frozen=True):
    """What an include line takes in: paths relative to the root, or why there are none. `folder` is true where
    it names a folder, `by_end` where only the end of an absolute path was found."""

    files: tuple[str, ...] = ()
    fault: IncludeFault | None = None
    folder: bool = False
    by_end: bool = False


class Resolver:
    """Follows include lines below a root on disk. Each line is looked up once."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._known: dict[tuple[str, str], Taken] = {}

    def __call__(self, path: str, target: str) -> tuple[str, ...]:
        return self.taken(path, target).files

    def taken(self, path: str, target: str) -> Taken:
        """What the line `target` in the file `path` (relative to the root) takes in."""
        key = path, target
        if key not in self._known:
            self._known[key] = self._follow(path, target)
        return self._known[key]

    def nearest(self, target: str) -> str:
        """A file below the root whose name comes close to a target that is not there; "" for none."""
        name = target.replace("\\", "/").rpartition("/")[2]
        if not name or has_magic(name):
            return ""
        try:
            found = files_named(self.root, self.root, "**")
        except (TooMany, OSError):
            return ""
        by_name = {path.name: self._relative(path) for path in reversed(found)}
        near = difflib.get_close_matches(name, by_name, n=1, cutoff=0.8)
        return by_name[near[0]] if near else ""

    def _follow(self, path: str, target: str) -> Taken:
        found = self._look_for(path, target)
        if found.fault is not IncludeFault.MISSING:
            return found
        if "\\" in target:
            again = self._look_for(path, target.replace("\\", "/"))
            if again.files:
                return again
        if _ABSOLUTE.match(target):
            steps = target.replace("\\", "/").split("/")[1:]
            for first in range(len(steps)):
                again = self._look_for("", "/".join(steps[first:]))
                if again.files:
                    return replace(again, by_end=True)
        several = [self._look_for(path, word) for word in target.split()] if " " in target else []
        if several and all(each.files for each in several):
            files = dict.fromkeys(file for each in several for file in each.files)
            return Taken(tuple(files), folder=any(each.folder for each in several))
        return found

    def _look_for(self, path: str, target: str) -> Taken:
        if "\0" in target:
            return Taken(fault=IncludeFault.MISSING)
        own = self.root / path
        itself = own.resolve()
        fault = IncludeFault.MISSING
        for at, folder in enumerate(dict.fromkeys((itself.parent, own.parent, self.root))):
            try:
                found = self._beside(folder, target, itself)
            except (LeadsOut, TooMany) as problem:
                if at == 0 or isinstance(problem, TooMany):
                    fault = IncludeFault.TOO_MANY if isinstance(problem, TooMany) else IncludeFault.OUTSIDE
                continue
            except (OSError, ValueError, RuntimeError):  # a name no disk can hold, or links in a circle
                continue
            if found.files:
                return found
        return Taken(fault=fault)

    def _beside(self, folder: Path, target: str, itself: Path) -> Taken:
        """What a path or pattern names, seen from one folder. Raises LeadsOut and TooMany."""
        plain = folder / target
        # brackets and stars may stand in a file's own name
        if plain.is_file() or not has_magic(target):
            if plain.is_dir():
                return self._in_folder(plain.resolve(), itself)
            if not plain.is_file():
                return Taken()
            return Taken((self._relative(plain.resolve()),))
        named = (path.resolve() for path in files_named(folder, self.root, target) if path.is_file())
        inside = [path for path in named if path != itself and path.is_relative_to(self.root)]
        return Taken(tuple(dict.fromkeys(map(self._relative, inside))))

    def _in_folder(self, folder: Path, itself: Path) -> Taken:
        if not folder.is_relative_to(self.root):
            raise LeadsOut
        with os.scandir(folder) as entries:
            names = sorted(entry.name for entry in entries if entry.is_file())
        paths = [folder / name for name in names if not name.startswith(".") and not marks_of(name).directed]
        inside = [path.resolve() for path in paths if path.resolve() != itself]
        return Taken(tuple(self._relative(p) for p in inside if p.is_relative_to(self.root)), folder=True)

    def _relative(self, path: Path) -> str:
        if not path.is_relative_to(self.root):
            raise LeadsOut
        return path.relative_to(self.root).as_posix()


def recorded(files: Iterable[tuple[str, Mapping[str, tuple[str, ...]]]]) -> TakesIn:
    """What include lines took in when it was recorded: for each file its targets with their files."""
    known = {(path, target): found for path, targets in files for target, found in targets.items()}
    return lambda path, target: known.get((path, target), ())


def record_of(document: Document) -> dict[str, tuple[str, ...]]:
    """What a document's include lines take in, to be recorded."""
    return {include.target: include.files for include in document.includes}


def among(paths: Iterable[str]) -> Callable[[str, str], tuple[str, ...]]:
    """Follows include lines among these paths alone, without looking at a disk."""
    known = sorted(paths)

    def takes_in(path: str, target: str) -> tuple[str, ...]:
        for folder in dict.fromkeys((dirname(path), "")):
            wanted = normpath(join(folder, target))
            found = [
                each
                for each in known
                if each == wanted or (fnmatchcase(each, wanted) and each.count("/") == wanted.count("/"))
            ]
            if found:
                return tuple(found)
        return ()

    return takes_in
