"""A whole configuration: the files and folders a person names, each read in its dialect.

A file that is named must be readable; one that is only found in a named folder is skipped with the reason
when it is hidden, a kept copy, too large, or reads as no dialect, so that a folder with notes and pictures
beside the configuration can be given as it is. A folder that is a packet of this program is skipped too:
its `before/` and `after/` are copies. Documents come in the order of their paths, each file once; files
that they include are read too and move so that what comes later wins (`includes.py`).

This module deliberately does not look into the files: which dialect one is in is said by its content
(`dialects.detect`) or by the user.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.includes import bundle
from cfgmigrate.files.pattern import is_packet
from cfgmigrate.files.resolver import Resolver
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.user_file import read_given

#: A configuration file has no business to be larger (bytes).
LARGEST = 64 * 1024 * 1024
_KEPT_COPIES = ("~", ".bak", ".orig", ".old", ".rej", ".swp", ".tmp")
_IS_COPY = "it is a kept copy"


@dataclass(frozen=True, slots=True)
class Configuration:
    """What was read below `root`. `documents` are those in force, profiles and saved values; `roles` says of
    every file which it is, and why; `skipped` are paths (relative to the root) with the reason."""

    root: Path
    documents: tuple[Document, ...]
    skipped: tuple[tuple[str, str], ...] = ()
    roles: FileSet = field(default_factory=FileSet)


@dataclass(frozen=True, slots=True)
class _Found:
    """A file that was named, or that a named folder holds; or, with a reason, one that is skipped."""

    path: Path
    named: bool
    reason: str = ""


def open_configuration(
    paths: Sequence[Path | str], dialects: Mapping[str, str] | None = None
) -> Configuration:
    """Reads files and folders. `dialects` says the dialect of a path (as given, or relative to the root),
    or of every other file by the key "*".

    The root is the folder, where one folder is given, else the deepest folder that holds all that is named.
    Raises BadInput for a path that is not there, for a named file that can't be read, for a dialect that
    does not exist or is said of no file, and where nothing at all was read; Refused where included files lie
    outside the root or include each other.
    """
    named = [Path(path) for path in paths]
    root = common_root(named)
    spoken = _Spoken(dialects or {}, root)
    resolver = Resolver(root)
    documents: dict[str, Document] = {}
    skipped: dict[str, str] = {}
    for relative, found in sorted(_each_once(named, root).items()):
        if found.reason:
            skipped[relative] = found.reason
            continue
        try:
            documents[relative] = read(relative, _bytes(found.path, relative), spoken.of(relative), resolver)
        except BadInput as problem:
            if found.named or relative in spoken.by_path:
                raise
            skipped[relative] = problem.what
    if not documents:
        raise BadInput("nothing here reads as a configuration", Place(str(root)), _reasons(skipped))

    def open_included(relative: str, dialect: str) -> Document:
        data = _bytes(root / relative, relative)
        said = spoken.of(relative) or (None if detect(data) else dialect)
        return read(relative, data, said, resolver)

    bundled = bundle(resolver, documents, open_included)
    spoken.check()
    for document in bundled:
        skipped.pop(document.path, None)
    return Configuration(root, bundled, tuple(skipped.items()), _roles(bundled, skipped))


def _roles(documents: Sequence[Document], skipped: Mapping[str, str]) -> FileSet:
    """The role of every file that was found."""
    found = {each.path: FileRole(each.path, Role.IN_FORCE, "it was read") for each in documents}
    for path, why in skipped.items():
        role = Role.COPY if why == _IS_COPY else Role.NONE
        found[path] = FileRole(path, role, why)
    return FileSet(dict(sorted(found.items())))


class _Spoken:
    """The dialects that the user said, by path relative to the root."""

    def __init__(self, said: Mapping[str, str], root: Path) -> None:
        for path, dialect in said.items():
            if dialect not in DIALECTS:
                raise BadInput(
                    f"there is no dialect {dialect!r}", Place(path), f"choose: {', '.join(DIALECTS)}"
                )
        self.for_all = said.get("*")
        self.by_path: dict[str, str] = {}
        self._unused: dict[str, str] = {}
        for path, dialect in said.items():
            if path != "*":
                inside = root / path
                relative = _relative(inside if inside.exists() else Path(path), root)
                self.by_path[relative], self._unused[relative] = dialect, path

    def of(self, relative: str) -> str | None:
        self._unused.pop(relative, None)
        return self.by_path.get(relative, self.for_all)

    def check(self) -> None:
        """Raises BadInput where a dialect was said of a file that was not read."""
        for path in self._unused.values():
            raise BadInput(
                "a dialect was said of this file, but it was not read", Place(path), "check the path"
            )


def common_root(named: Sequence[Path]) -> Path:
    """The configuration's root: the folder that is named, or the deepest one that holds all that is named.

    Raises BadInput where a path is not there, or is a packet of this program."""
    if not named:
        raise BadInput("no file or folder was given", remedy="name the configuration's files or folders")
    for path in named:
        if not path.exists():
            raise BadInput("there is no such file or folder", Place(str(path)), "check the path")
        if path.is_dir() and is_packet(path):
            remedy = "name the configuration itself, or the packet's before/ or after/"
            raise BadInput("this folder is a packet of this program", Place(str(path)), remedy)
    folders = [path.resolve() if path.is_dir() else path.parent.resolve() for path in named]
    return Path(os.path.commonpath(folders))


def _relative(path: Path, root: Path) -> str:
    """The path below the root, with forward slashes. The last part may be a link: it keeps its name."""
    return Path(os.path.relpath(path.parent.resolve() / path.name, root)).as_posix()


def _each_once(named: Sequence[Path], root: Path) -> dict[str, _Found]:
    """All files by relative path. Of several names for one file the first real one is kept."""
    every: dict[str, _Found] = {}
    for path in named:
        for found in _walk(path, root) if path.is_dir() else [_Found(path, named=True)]:
            relative = _relative(found.path, root)
            if relative not in every or found.named:
                every[relative] = found
    first: dict[Path, str] = {}
    for relative in sorted(every, key=lambda name: (every[name].path.is_symlink(), name)):
        found = every[relative]
        if not found.reason:
            kept = first.setdefault(found.path.resolve(), relative)
            if kept != relative:
                every[relative] = _Found(found.path, found.named, f"it is the same file as {kept}")
    return every


def _walk(folder: Path, root: Path) -> Iterator[_Found]:
    """Every file below a folder, in order, with the reason where one is not to be read."""
    for place, folders, files in os.walk(folder):
        inside = Path(place)
        for name in sorted(folders):
            reason = _folder_reason(inside / name)
            if reason:
                folders.remove(name)
                yield _Found(inside / name, named=False, reason=reason)
        folders.sort()
        for name in sorted(files):
            yield _Found(inside / name, named=False, reason=_file_reason(inside / name, root))


def _folder_reason(folder: Path) -> str:
    if folder.name.startswith("."):
        return "it is hidden"
    if folder.is_symlink():
        return "it is a link to a folder"
    return "it is a packet of this program" if is_packet(folder) else ""


def _file_reason(file: Path, root: Path) -> str:
    if file.name.startswith("."):
        return "it is hidden"
    if file.name.lower().endswith(_KEPT_COPIES):
        return _IS_COPY
    if file.is_symlink() and not file.resolve().is_relative_to(root):
        return "it is a link to outside the folder"
    return ""


def _bytes(path: Path, relative: str) -> bytes:
    """The file's bytes; BadInput where they can't be had or are too many."""
    try:
        relative.encode("utf-8")
    except UnicodeEncodeError:
        shown = os.fsencode(relative).decode("utf-8", "backslashreplace")
        raise BadInput("the file's name is not UTF-8", Place(shown), "rename the file") from None
    return read_given(path, "it", LARGEST, relative)


def _reasons(skipped: Mapping[str, str]) -> str:
    """What to do about an empty result, with the first reasons why files were skipped."""
    lines = [f"{path}: {reason}" for path, reason in list(skipped.items())[:5]]
    more = f" and {len(skipped) - 5} more" if len(skipped) > 5 else ""
    told = f" ({'; '.join(lines)}{more})" if lines else ""
    return f"name the files and say what they are with --dialect{told}"
