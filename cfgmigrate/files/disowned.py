"""Files that say before their first setting that they are not of this machine, and that count all the same: `NOT mine`, `not harbour`
beside `harbour.ini`.

Where such a file has a machine's axes or a machine lies beside it, `machines_apart.py` leaves it out. What is left here may be a part
that says what it does not hold, or another machine's file that somebody laid beside this one's, in any dialect; nobody can see which.
So it is asked, and nothing is taken from it or written to it before. What another file takes in is the machine's, whatever it says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.called_after_others import WHOSE_FILE
from cfgmigrate.files.heads import says_another, says_it_is_not
from cfgmigrate.files.machines_apart import OF_ANY_MACHINE
from cfgmigrate.files.marks import folder_of
from cfgmigrate.files.roles import FileRole, Option, Question

#: so many files are compared by their names
_MOST = 200


def disowned(
    root: Path, documents: Mapping[str, Document], roles: Mapping[str, FileRole]
) -> Iterator[Question]:
    """A question for each file that counts, by nobody's word, and says that it is not this machine's, beside others that don't."""
    taken = [path for path, role in roles.items() if role.role.taken and path in documents][:_MOST]
    says = {path: _says(root, documents[path], taken) for path in taken}
    for path in taken if not all(says.values()) else ():
        role = roles[path]
        if not says[path] or role.said or " takes it in" in role.why:
            continue
        text = f"{path} says {says[path]!r} before its first setting. Is it of this machine?"
        mine = Option(f"{path} is this machine's own: {role.role}", (path,))
        yield Question(WHOSE_FILE, text, (mine,), f"{path} is of another machine", (path,), role.role)


def _says(root: Path, document: Document, taken: list[str]) -> str:
    """The words by which a file says that it is no file of this machine."""
    beside = [each for each in taken if folder_of(each) == folder_of(document.path)]
    called = {PurePosixPath(each).stem.casefold() for each in beside if each != document.path}
    called |= {(root / folder_of(document.path).lstrip("/")).resolve().name.casefold()}
    own = {PurePosixPath(document.path).stem.casefold()}
    return says_another(document) or says_it_is_not(document, called - own - OF_ANY_MACHINE)
