"""Files of which other machines may read the same lines: a common one that each machine's own takes in.

What this machine's own file sets again there holds for the others alone, so it is theirs. That a file is shared is seen by
what stands in the machine's own files: the line that takes it in leads out of its own folder; or its head says that it is for
several; or files of another machine lie beside, and then whatever is taken in may be theirs, too.

This module looks at documents and roles only, never at a disk. What follows for a line is said in `machine/precedence.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from posixpath import dirname

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.heads import head_of
from cfgmigrate.files.order import includers_of
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.ground.pattern import pattern

#: what the site file may say of a file that several machines read: all of them are swapped before any runs again; one is not,
#: so that nothing is written; or no other machine reads it
SWAPPED_TOGETHER, LEFT_FOR_OTHERS, OURS_ALONE = "swapped together", "left", "ours alone"
SHARED_ANSWERS = (SWAPPED_TOGETHER, LEFT_FOR_OTHERS, OURS_ALONE)

_FOR_SEVERAL = pattern(
    r"(?i)(?<!not )\b(?:shared (?:by|between|among|with|file|settings|values)|common (?:to|for|file|settings|values)"
    r"|same for|for (?:all|both|every|each|the (?:two|three|four|others))\b|(?:every|each|all) (?:of the )?(?:\w+ )?(?:machine|printer)s?)\b"
)


def shared_files(documents: Sequence[Document], roles: FileSet) -> frozenset[str]:
    """The files of which lines may be another machine's as well."""
    includers = includers_of({document.path: document for document in documents})
    beside = bool(roles.of(Role.OTHER))
    return frozenset(
        {
            path
            for path, several in includers.items()
            if beside or any(_leads_out(by, path) for by, _ in several)
        }
        | {document.path for document in documents if _FOR_SEVERAL.search(head_of(document))}
    )


def _leads_out(by: str, path: str) -> bool:
    """Whether a file that another one takes in lies neither beside that nor below its folder."""
    folder = dirname(by)
    return bool(folder) and not path.startswith(f"{folder}/")
