"""What is known of files while their roles are told: what each holds, who takes it in, and the roles given so far.

A role once given stays, but for what turns out to lie with another machine. The rules that give them are modules of their own, and
`judge.py` has their order; here nothing is judged.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from functools import cached_property

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.content import (
    content_of,
    named_as_filament,
)
from cfgmigrate.files.order import includers_of
from cfgmigrate.files.roles import FileRole, Question, Role

#: the part of settings with the same values from which two files are alike
ALIKE = 0.6
#: so many files that one takes in are counted
MOST_COUNTED = 100
#: a profile speaks of hardware in no more than this part of its settings
LITTLE_HARDWARE = 0.15


@dataclass(eq=False, repr=False)
class Judging:
    """The documents, each read alone, with what the rules gave and asked so far. `said` are roles that the user gave, `meant` files
    that they said are in force; `profiles` are what seems to be one, with the evidence."""

    documents: Mapping[str, Document]
    root_name: str
    said: Mapping[str, FileRole]
    roles: dict[str, FileRole] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.content = {path: content_of(document) for path, document in self.documents.items()}
        self.roles.update({path: role for path, role in self.said.items() if path in self.documents})
        self.file_names = frozenset(path.rpartition("/")[2].casefold() for path in self.documents)
        self.meant = {path for path, role in self.roles.items() if role.role is Role.IN_FORCE}
        self.includers = includers_of(self.documents)
        self.profiles: dict[str, str] = {}

    @cached_property
    def headed(self) -> dict[str, dict[str, set[str]]]:
        """By each word that heads a section by itself, as a person names a feeder, the files with such a section and its keys."""
        found: dict[str, dict[str, set[str]]] = {}
        for path, document in self.documents.items():
            for setting in document.settings:
                of_word = found.setdefault(setting.section.casefold(), {})
                of_word.setdefault(path, set()).add(setting.key.casefold())
        return found

    def give(self, path: str, role: Role, why: str) -> None:
        """The role of a file that has none yet."""
        self.roles.setdefault(path, FileRole(path, role, why))

    def left(self) -> list[str]:
        """Files without a role so far."""
        return [path for path in self.documents if path not in self.roles]

    def closure(self, paths: Iterable[str], most: int | None = None) -> set[str]:
        """Files with all that they take in, over any number of steps; no more than `most` of them, if given."""
        found, waiting = set[str](), list(paths)
        while waiting and (most is None or len(found) < most):
            path = waiting.pop()
            if path not in found:
                found.add(path)
                includes = self.documents[path].includes
                waiting += [file for include in includes for file in include.files if file in self.documents]
        return found

    def taken_in(self, path: str, by: Iterable[str]) -> str:
        """Who takes a file in, of these, in words; "" for nobody."""
        among = by if isinstance(by, Set) else set(by)
        return next(
            (f"{who}:{line} takes it in" for who, line in self.includers.get(path, ()) if who in among), ""
        )

    def is_machine(self, path: str) -> bool:
        """Whether a file sets two axes or more; a filament may have an acceleration of its own for x and y."""
        return len(self.content[path].axis_letters) > (2 if named_as_filament(path) else 1)
