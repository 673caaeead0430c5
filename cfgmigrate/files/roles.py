"""Which role each file has: what of a folder is the machine, and what only lies beside it.

A file is *in force* (the machine reads it), a *profile* (one of several alternatives: a filament, a print), or
it holds *saved values* (what the board keeps and prefers to its files). Only these three are recognised and may
be edited. A *kept copy*, a file of an *other machine* and what is *no configuration* are told of and left alone.

Each role comes with the evidence that it rests on, in words. How it is found is in `judge.py`; this module only
holds what is found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from msgspec import Struct

from cfgmigrate.ground.findings import Doubt

#: why a file that was named by itself is in force
NAMED_ALONE = "you named it"


class Role(StrEnum):
    """What a file is to the machine."""

    IN_FORCE = "in force"
    PROFILE = "profile"
    SAVED = "saved values"
    COPY = "kept copy"
    OTHER = "other machine"
    NONE = "no configuration"

    @property
    def taken(self) -> bool:
        """Whether files of this role are recognised, and may be edited."""
        return self in (Role.IN_FORCE, Role.PROFILE, Role.SAVED)


#: what a line may be of in a text that says that it wins, and that nobody can read
ANY_SETTING = "any setting"


class ListedValue(Struct, frozen=True):
    """A line of a text that gives the setting `of` another number than the machine's own files do; "" where it is a row
    with a number for each axis, ANY_SETTING where nobody knows."""

    line: int
    text: str
    of: str


class OwnUse(Struct, frozen=True):
    """A number in a script in codes of its owner's own, with its word in small letters. `head` says that both only begin
    a line, as a code does."""

    line: int
    text: str
    word: str
    number: float
    head: bool = False


class LegendEntry(Struct, frozen=True):
    """What a remark of such a script says of a word."""

    line: int
    word: str
    says: str


class OwnScript(Struct, frozen=True):
    """The numbers of a text that seems to be such a script, and what its remarks explain of their words."""

    uses: tuple[OwnUse, ...]
    legend: tuple[LegendEntry, ...] = ()


class FileRole(Struct, frozen=True):
    """A file's role. `why` is the evidence in words; `said` is true where the user gave the role; `holds` are the
    values of a text that may be a listing of what the board keeps, which is asked; `own` is what stands in one that seems
    to be a script whose words nobody explained, which is asked too."""

    path: str
    role: Role
    why: str
    said: bool = False
    holds: tuple[ListedValue, ...] = ()
    own: OwnScript | None = None

    @property
    def stated(self) -> bool:
        """Whether the user gave the role in words, and did not only name the file."""
        return self.said and not self.why.startswith(NAMED_ALONE)


class Option(Struct, frozen=True):
    """One answer to a question: what it is called, and the files that are in force if it is chosen."""

    label: str
    files: tuple[str, ...]


class Question(Struct, frozen=True):
    """What the files don't tell. `kind` is "machine" (one option is chosen), "look-alikes" (any of them, or
    `none`), "torn" (`none` alone: the file is whole as it is), "saved" (the option is a file of saved values, or
    `none`: it is a kept copy) or "whose" (the option has `role`, or `none`: it is of another machine)."""

    kind: str
    text: str
    options: tuple[Option, ...]
    none: str = ""
    #: the files that are in force where none of the options is
    instead: tuple[str, ...] = ()
    #: what the files of the chosen option are
    role: Role = Role.IN_FORCE


class NamedProfile(Struct, frozen=True):
    """What the user said of a profile's file: `kind` (filament or print) and `name` of what it holds, its material,
    each "" where that was left out, and the feeder that it is for, None for all; of several the `order` in which they were said."""

    kind: str
    name: str
    material: str = ""
    feeder: int | None = None
    order: tuple[int, ...] = ()


@dataclass(frozen=True)
class FileSet(Mapping[str, FileRole]):
    """The role of every file that was found, by path relative to the root, in the order of paths, and what has to
    be asked before anything is written."""

    files: Mapping[str, FileRole] = field(default_factory=dict)
    questions: tuple[Question, ...] = ()
    #: where what the user said and what the files say contradict each other, a sentence each
    faults: tuple[str, ...] = ()
    #: what is not there: a doubt each, to be told first
    gaps: tuple[Doubt, ...] = ()
    #: what the user said of profiles, by path
    named: Mapping[str, NamedProfile] = field(default_factory=dict)
    #: lines of the site file that name no file, a doubt each
    idle: tuple[Doubt, ...] = ()
    #: files that can't be read to their end, a sentence each: nothing is prepared before they can
    unreadable: tuple[str, ...] = ()
    #: what is known of how numbers are written in a file, by path: `comma` or `point`
    decimals: Mapping[str, str] = field(default_factory=dict)

    def __getitem__(self, path: str) -> FileRole:
        return self.files[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self.files)

    def __len__(self) -> int:
        return len(self.files)

    def role(self, path: str) -> Role:
        """The role by which a file is read; *in force* for one that was never judged."""
        found = self.files.get(path)
        return found.role if found else Role.IN_FORCE

    def of(self, *roles: Role) -> tuple[str, ...]:
        """The files that have one of these roles."""
        return tuple(path for path, found in self.files.items() if found.role in roles)

    def counted(self) -> Counter[Role]:
        """How many files have each role."""
        return Counter(found.role for found in self.files.values())
