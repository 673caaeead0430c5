"""A whole configuration: the files and folders a person names, each read in its dialect, each with its role.

A file that is named must be readable; one that is only found in a named folder, and reads as no dialect, is no
configuration, so that a folder with notes and pictures beside the configuration can be given as it is. Every file
is first read alone; what it takes in is read too. Then each gets its role (`judge.py`), and only what is in force,
a profile or saved values is handed on, in the order in which what comes later wins (`includes.py`).

This module deliberately does not look into the files: which dialect one is in is said by its content
(`dialects.detect`) or by the user.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.dialects.document import Document
from cfgmigrate.files.called_after_others import called_after_others
from cfgmigrate.files.disowned import disowned
from cfgmigrate.files.found import CLOSED, SITE, Found, common_root, each_once, relative_to
from cfgmigrate.files.gaps import NOT_THERE, TORN, Gap, ending_of, gaps, is_meant, named_in, told
from cfgmigrate.files.idle_lines import idle_lines
from cfgmigrate.files.includes import bundle, follow
from cfgmigrate.files.judge import judge
from cfgmigrate.files.kept_listing import MOST_LISTED_BYTES, listed_values
from cfgmigrate.files.marks import marks_of
from cfgmigrate.files.own_scripts import is_run, own_script
from cfgmigrate.files.pattern import as_there
from cfgmigrate.files.resolver import Resolver
from cfgmigrate.files.roles import NAMED_ALONE, FileRole, FileSet, Question, Role
from cfgmigrate.files.said_saved import lines_said_to_win
from cfgmigrate.files.script_includes import named_in_scripts
from cfgmigrate.files.site import Site, is_pattern, names, no_site
from cfgmigrate.files.site_reading import site_at
from cfgmigrate.files.stand_ins import links_that_may_be_the_machine, stand_ins
from cfgmigrate.files.telling import may_be_configuration
from cfgmigrate.files.unread import (
    NO_DIALECT,
    as_listed,
    begun_and_left,
    comes_nearest,
    dialect_by_site,
    faults_of_unread,
    may_be_settings,
    reads_but_for_its_bytes,
    role_said,
    said_to_be_none,
    why_unread,
)
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.ground.user_file import read_given

#: A configuration file has no business to be larger (bytes).
LARGEST = 64 * 1024 * 1024
PathLike = Path | str


class Configuration(Struct, frozen=True):
    """What was read below `root`. `documents` are those in force, profiles and saved values; `roles` says of
    every file which it is, and why; `left` are documents that were read and have no part in the machine.
    `skipped` are paths (relative to the root) with the reason. `named` are the files that may be edited, where the
    user named files or a folder within a root that lies above; None for all."""

    root: Path
    documents: tuple[Document, ...]
    skipped: tuple[tuple[str, str], ...] = ()
    roles: FileSet = field(default_factory=FileSet)
    left: tuple[Document, ...] = ()
    named: frozenset[str] | None = None
    site: Site = field(default_factory=no_site)

    def editable(self, path: str) -> bool:
        """Whether the file at this path may be edited in this run."""
        return self.named is None or path in self.named


def open_configuration(
    paths: Sequence[PathLike],
    dialects: Mapping[str, str] | None = None,
    machine: Sequence[PathLike] = (),
) -> Configuration:
    """Reads files and folders. `dialects` says the dialect of a path (as given, or relative to the root),
    or of every other file by the key "*"; `machine` are files that are in force, whatever else they look like.

    The root is the nearest folder upwards that has a site file or a history, else the folder, where one folder is
    given, else the deepest folder that holds all that is named.
    Raises BadInput for a path that is not there, for a named file that can't be read, for a dialect that
    does not exist or is said of no file, and where nothing at all was read; Refused where included files of the
    machine lie outside the root or include each other. What can't be told is in `roles.questions`.
    """
    named = [Path(path) for path in paths]
    root = common_root(named)
    site = site_at(root)
    found = dict(sorted(each_once([root, *named] if _is_part(root, named, site) else named, root).items()))
    spoken = _Spoken(dialects or {}, site, root)
    reading = _Reading(root, spoken, site)
    reading.read_each(found)
    said = _said(root, named, machine, site, reading.documents)
    judged = judge(reading.documents, root.name, said)
    taken = {path: each for path, each in reading.documents.items() if judged.roles[path].role.taken}
    if not taken:
        raise BadInput("nothing here reads as a configuration", Place(str(root)), _reasons(reading.skipped))
    bundled = bundle(reading.resolver, taken, reading.unread.values())
    spoken.check()
    none = said_to_be_none(site, reading.skipped)
    roles = {
        **judged.roles,
        **{path: FileRole(path, Role.NONE, why, path in none) for path, why in reading.skipped.items()},
    }
    never = list(site.never_there(root))
    missed = [gap.doubt for gap in gaps(bundled, roles) if gap.doubt.why == NOT_THERE] if never else ()
    for path in never:
        if any(is_meant({path.casefold()}, doubt.place.file, doubt.text) for doubt in missed):
            roles.setdefault(
                path, FileRole(path, Role.NONE, f"{SITE} says so, and it is not there", said=True)
            )
    roles = dict(_with_listings(roles, reading, site, bundled))
    skipped = {path: role.why for path, role in sorted(roles.items()) if not role.role.taken}
    left = tuple(each for path, each in reading.documents.items() if path not in taken)
    missing = gaps(bundled, roles)
    files = FileSet(
        dict(sorted(roles.items())),
        (
            *_whether_whole(missing, roles),
            *judged.questions,
            *stand_ins(roles, reading.in_no_dialect(), judged.questions),
            *called_after_others(root, reading.documents, roles),
            *disowned(root, reading.documents, roles),
        ),
        (*_faults(site, root, reading.documents, judged.roles), *faults_of_unread(site, reading.skipped)),
        tuple(gap.doubt for gap in missing),
        site.named(taken),
        tuple(idle_lines(site, root, roles, bundled)),
        tuple(_unreadable(missing, roles, reading.broken, site)),
        site.decimals_of(taken),
    )
    return Configuration(root, bundled, tuple(skipped.items()), files, left, _named(root, named, found), site)


def _with_listings(
    roles: Mapping[str, FileRole], reading: _Reading, site: Site, machine: Sequence[Document]
) -> Iterator[tuple[str, FileRole]]:
    """The roles with what each text that is no configuration holds of the machine's values, or of a script in codes of its
    owner's own, unless it was said what it is; of one that was said to be saved values and can't be read they win all the same."""
    told = site.roles_of(roles)
    for path, role in roles.items():
        saved = path in told and told[path].role is Role.SAVED
        if role.role is not Role.NONE or (path in told and not saved):
            yield path, role
            continue
        text = reading.text_of(path)
        holds = listed_values(text, machine, path, wins=saved) or lines_said_to_win(text, path)
        asked = not holds and path not in reading.documents and is_run(path, machine)
        yield path, replace(role, holds=holds, own=own_script(text) if asked else None)


def _whether_whole(missing: Sequence[Gap], roles: Mapping[str, FileRole]) -> Iterator[Question]:
    """A question for each file in force that seems to break off, unless somebody said that it is in force so."""
    for gap in missing:
        role = roles[gap.file]
        if gap.torn and not gap.unreadable and role.role is Role.IN_FORCE and not role.stated:
            text = f"{told(gap.doubt)} Get the whole file and run this again; or is this all of it?"
            whole = f"{gap.file} is whole: take it as it is"
            yield Question(TORN, text, (), whole, (gap.file,))


def _unreadable(
    missing: Sequence[Gap], roles: Mapping[str, FileRole], broken: Mapping[str, str], site: Site
) -> Iterator[str]:
    """A sentence for each file that would have to be read to its end and can't be, whatever was said of it."""
    yield from (told(gap.doubt) for gap in missing if gap.unreadable)
    said = {
        path for path, each in site.roles_of(broken).items() if each.role not in (Role.IN_FORCE, Role.PROFILE)
    }
    for path, why in broken.items():
        if roles[path].role is Role.NONE and path not in said and role_said(site, path) is None:
            yield f"{path}: {why}"
    yield from (f"{path}: {why}" for path, why in links_that_may_be_the_machine(roles))


def _why_it_stops(path: str, data: bytes, others: Iterable[str]) -> str:
    """Why nothing is prepared before somebody says what a file is that reads as none of the dialects; "" where it may be left."""
    return (
        begun_and_left(path, data)
        or reads_but_for_its_bytes(path, data, others)
        or may_be_settings(path, data, others)
    )


def _is_closed(why: str) -> bool:
    """Whether a file or folder is there and nobody here may look into it."""
    return why.startswith(CLOSED) and os.strerror(errno.ENOENT) not in why


def _is_part(root: Path, named: Sequence[Path], site: Site) -> bool:
    """Whether what is named is a part of a machine, whose other files are read with it: one file beside or below a site
    file, or one path deep below a history. Folders, and several paths, are all that is meant: a site file above says
    what they are, and takes nothing in."""
    if len(named) > 1:
        return False
    (path,) = named
    above = path.resolve() != root and path.parent.resolve() != root
    return (not path.is_dir() and site.there) or (above and not site.there)


def _named(root: Path, named: Sequence[Path], found: Mapping[str, Found]) -> frozenset[str] | None:
    """The files that may be edited; None for all below the root."""
    if any(path.is_dir() and path.resolve() == root for path in named):
        return None
    own = set(each_once(named, root))
    return None if own >= set(found) else frozenset(own)


class _Reading:
    """The files while they are read, each alone, with all that they take in."""

    def __init__(self, root: Path, spoken: _Spoken, site: Site) -> None:
        self.root = root
        self.site = site
        self.spoken = spoken
        self.resolver = Resolver(root)
        self.documents: dict[str, Document] = {}
        self.skipped: dict[str, str] = {}
        self.unread: dict[str, Doubt] = {}
        self.texts: dict[str, bytes] = {}
        self.broken: dict[str, str] = {}

    def text_of(self, path: str) -> bytes:
        """What was read of a file that may have no dialect."""
        return self.documents[path].data if path in self.documents else self.texts.get(path, b"")

    def in_no_dialect(self) -> list[str]:
        """The files that were looked into and read as nothing."""
        return [path for path in self.texts if path in self.skipped]

    def read_each(self, found: Mapping[str, Found]) -> None:
        """Reads what was found, and what that takes in. Raises BadInput for a named file that can't be read."""
        for relative, file in found.items():
            if file.reason:
                self.skipped[relative] = file.reason
                if _is_closed(file.reason):
                    self.broken[relative] = file.reason
                continue
            data = b""
            try:
                data = _bytes(file.path, relative)
                said = self.spoken.of(relative) or dialect_by_site(relative, data, self.site)
                self.documents[relative] = as_listed(read(relative, data, said, self.resolver), self.site)
            except BadInput as problem:
                if file.named or self.spoken.of(relative) not in (None, self.spoken.for_all):
                    raise
                self.skipped[relative] = why_unread(relative, data, problem.what, self.site)
                if why := _why_it_stops(relative, data, found) if problem.what == NO_DIALECT else "":
                    self.skipped[relative] = self.broken[relative] = why
                elif _is_closed(problem.what) and may_be_configuration(relative):
                    self.broken[relative] = problem.what
                self.texts[relative] = data[:MOST_LISTED_BYTES]
        self.unread = follow(self.documents, self.open_included)
        for path in self.documents:
            self.skipped.pop(path, None)
            self.broken.pop(path, None)
        self._leave_what_was_not_given()
        if not self.documents:
            raise BadInput(
                "nothing here reads as a configuration",
                Place(str(self.root)),
                _reasons({path: self._in_full(path, why) for path, why in self.skipped.items()}),
            )

    def _in_full(self, path: str, why: str) -> str:
        """Why a file was not read, where that is all that is said, with what it comes nearest to."""
        return (
            f"{why}{comes_nearest(path, self.texts[path])}"
            if why == NO_DIALECT and path in self.texts
            else why
        )

    def _leave_what_was_not_given(self) -> None:
        """What a setting names is left where it is there and only other files were given: it is not missing."""
        endings = {ending_of(path) for path in self.documents}
        for document in self.documents.values():
            named = [(each.place.line, each.path) for each in named_in_scripts(document)]
            if document.dialect != "command":
                named += ((setting.line, target) for setting, target in named_in(document, endings))
            for line, target in named:
                for path in self.resolver(document.path, target):
                    if path not in self.documents:
                        why = (
                            f"{document.path}:{line} names it, and it was not given; give the folder for all"
                        )
                        self.skipped.setdefault(path, why)

    def open_included(self, relative: str, dialect: str) -> Document:
        """Reads a file that another one takes in, in that one's dialect where its content does not say."""
        data = _bytes(self.root / relative, relative)
        said = self.spoken.of(relative) or (None if detect(data) else dialect)
        return as_listed(read(relative, data, said, self.resolver), self.site)


def _said(
    root: Path,
    named: Sequence[Path],
    machine: Sequence[PathLike],
    site: Site,
    documents: Mapping[str, Document],
) -> dict[str, FileRole]:
    """The roles that the user gave: on the command line, else in the site file.

    Raises BadInput for a file of `machine` that is not among the configuration's."""
    found = site.roles_of(documents)
    for path in machine:
        inside = root / path
        relative = relative_to(inside if inside.exists() else Path(path), root)
        if relative not in documents:
            remedy = "name a file that the survey lists"
            raise BadInput("this file is not among those of the configuration", Place(str(path)), remedy)
        found[relative] = FileRole(relative, Role.IN_FORCE, "--machine says so", said=True)
    files = [path for path in named if not path.is_dir()]
    if len(files) == 1 and (relative := relative_to(files[0], root)) in documents and not machine:
        marks = marks_of(files[0].name).directed
        though = f", though its name says {marks[0]!r}" if marks else ""
        found[relative] = FileRole(relative, Role.IN_FORCE, f"{NAMED_ALONE}{though}", said=True)
    return found


def _faults(
    site: Site, root: Path, documents: Mapping[str, Document], roles: Mapping[str, FileRole]
) -> tuple[str, ...]:
    """Where the site file and the files contradict each other; a sentence each."""
    faults = [
        f"{place}: {path} is in force by the site file, and it is not there"
        for path, place in site.gone(root)
    ]
    for path, document in documents.items():
        if roles[path].role.taken:
            for include in document.includes:
                for target in include.files:
                    found = roles.get(target)
                    if found and found.said and not found.role.taken:
                        who = f"{path}:{include.line} takes it in"
                        faults.append(f"{target} is {found.role} by the site file, but {who}")
    return tuple(faults)


class _Spoken:
    """The dialects that the user said, by path relative to the root. The site file may say them by patterns, and of files
    that this run doesn't read: one site file may be that of many machines."""

    def __init__(self, given: Mapping[str, str], site: Site, root: Path) -> None:
        said = {**site.dialects, **given}
        self.patterns = {path: dialect for path, dialect in said.items() if path != "*" and is_pattern(path)}
        for path, dialect in said.items():
            if dialect not in DIALECTS:
                raise BadInput(
                    f"there is no dialect {dialect!r}", Place(path), f"choose: {', '.join(DIALECTS)}"
                )
        self.for_all = said.get("*")
        self.by_path: dict[str, str] = {}
        self._unused: dict[str, str] = {}
        for path, dialect in said.items():
            if path != "*" and path not in self.patterns:
                inside = root / as_there(root, path)
                relative = relative_to(inside if inside.exists() else Path(path), root)
                self.by_path[relative] = dialect
                if path in given or not inside.exists():
                    self._unused[relative] = path

    def of(self, relative: str) -> str | None:
        self._unused.pop(relative, None)
        fitting = [dialect for each, dialect in self.patterns.items() if names(each, relative)]
        return self.by_path.get(relative) or (fitting[-1] if fitting else self.for_all)

    def check(self) -> None:
        """Raises BadInput where a dialect was said of a file that was not read."""
        for path in self._unused.values():
            raise BadInput(
                "a dialect was said of this file, but it was not read", Place(path), "check the path"
            )


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
